using System.Net;
using Microsoft.Playwright;
using RootCellar.Places;

namespace RootCellar.SystemTests.Pages;

public class PagesTests
{
    [Theory]
    [InlineData(360, 740)]
    [InlineData(1280, 800)]
    public async Task A_grower_signs_in_sets_up_a_place_sees_a_reading_and_acknowledges_an_alarm(int width, int height)
    {
        await using var service = await ServiceUnderPages.StartAsync(s => ServiceUnderPages.TwoDaysOf(s, "curing-room"));
        await using var phone = await Phone.OpenAsync(service.Address, width, height);
        var page = phone.Page;

        await page.GotoAsync("/alarms");
        await Assertions.Expect(page.GetByRole(AriaRole.Heading, new() { Name = "Sign in" })).ToBeVisibleAsync();
        await phone.LookAsync("sign-in");
        await page.GetByRole(AriaRole.Link, new() { Name = "Help with this page" }).ClickAsync();
        await Assertions.Expect(page.GetByRole(AriaRole.Heading, new() { Name = "Sign in" })).ToBeInViewportAsync();
        await phone.LookAsync("help-first-evening");
        await page.GotoAsync("/alarms");
        await page.GetByLabel("Household passphrase").FillAsync("not-the-one");
        await page.GetByRole(AriaRole.Button, new() { Name = "Sign in" }).ClickAsync();
        await Assertions.Expect(page.GetByRole(AriaRole.Alert)).ToContainTextAsync("not the passphrase");
        await phone.LookAsync("sign-in-wrong");
        await page.GetByLabel("Household passphrase").FillAsync(service.Passphrase.Replace('-', ' '));
        await page.GetByLabel("Your name").FillAsync("Ann");
        await page.GetByRole(AriaRole.Button, new() { Name = "Sign in" }).ClickAsync();
        await Assertions.Expect(page).ToHaveURLAsync(new Uri(service.Address, "/alarms").ToString());

        await page.GotoAsync("/");
        await Assertions.Expect(page.GetByText("No places yet")).ToBeVisibleAsync();
        await phone.LookAsync("now-empty");
        await page.GetByRole(AriaRole.Link, new() { Name = "Add the first place" }).ClickAsync();
        await phone.LookAsync("set-up-empty");
        await page.Locator("#place-name").FillAsync("Curing room");
        await page.Locator("#place-volume").FillAsync("a lot");
        await page.GetByRole(AriaRole.Button, new() { Name = "Add a place" }).ClickAsync();
        await Assertions.Expect(page.GetByRole(AriaRole.Alert)).ToContainTextAsync("'a lot' is not a number");
        await Assertions.Expect(page.Locator("#place-name")).ToHaveValueAsync("Curing room");
        await page.Locator("#place-volume").FillAsync("900");
        await page.GetByRole(AriaRole.Button, new() { Name = "Add a place" }).ClickAsync();
        await Assertions.Expect(page.GetByText("The place is saved.")).ToBeVisibleAsync();

        await page.Locator("#contact-name").FillAsync("Ann");
        await page.Locator("#contact-address").FillAsync("nowhere");
        await page.GetByRole(AriaRole.Button, new() { Name = "Add a contact" }).ClickAsync();
        await Assertions.Expect(page.GetByRole(AriaRole.Alert)).ToContainTextAsync("is not a mail address");
        await page.Locator("#contact-address").FillAsync("ann@example.org");
        await page.GetByRole(AriaRole.Button, new() { Name = "Add a contact" }).ClickAsync();
        await page.GetByRole(AriaRole.Button, new() { Name = "Send a test Ann" }).ClickAsync();
        await Assertions.Expect(page.GetByText("A test is on its way.")).ToBeVisibleAsync();
        await page.GetByText("For the technically minded").ClickAsync();
        await page.Locator("#token-name").FillAsync("shed display");
        await page.GetByRole(AriaRole.Button, new() { Name = "Make a token" }).ClickAsync();
        await Assertions.Expect(page.Locator("#tokens .done code")).ToContainTextAsync("rc_");
        await page.GetByRole(AriaRole.Button, new() { Name = "Set-up is finished" }).ClickAsync();
        await Assertions.Expect(page.Locator(".done")).ToContainTextAsync("Set-up is finished");
        await phone.LookAsync("set-up");

        await service.PublishAsync(
            ("rootcellar/curing-room/door", """{"temperature_f":55,"humidity_pct":90,"battery_v":3.1}"""),
            ("rootcellar/curing-room/bin", """{"pulp_f":54.5}"""),
            ("rootcellar/cellar/shelf", """{"temperature_f":41,"humidity_pct":92}"""),
            ("rootcellar/curing-room/door", "<b>not json</b>"));
        // Set-up is finished: nobody comes in by himself.
        var letIn = page.GetByRole(AriaRole.Button, new() { Name = "Let in to Curing room" });
        await phone.UntilAsync("/sensors", letIn.Nth(1));
        for (var i = 0; i < 2; i++)
        {
            await letIn.First.ClickAsync();
            await Assertions.Expect(letIn).ToHaveCountAsync(1 - i);
        }

        await phone.UntilAsync("/", page.GetByText("55.0 °F"));
        await Assertions.Expect(page.GetByText("All is well")).ToBeVisibleAsync();
        // Ann is a contact, but mail is not configured, so she would hear nothing.
        await Assertions.Expect(page.GetByText("Alarms show here only")).ToBeVisibleAsync();
        await Assertions.Expect(page.GetByRole(AriaRole.Img, new() { Name = "Temperature 55.0 °F, wants 50 to 60 °F" })).ToHaveCountAsync(1);
        await phone.LookAsync("now-well");

        // Warm, but the bins are warm too: nothing condenses, so that one alarm is all there is.
        await service.PublishAsync(
            ("rootcellar/curing-room/bin", """{"pulp_f":60}"""),
            ("rootcellar/curing-room/bin", """{"pulp_f":65}"""),
            ("rootcellar/curing-room/door", """{"temperature_f":62,"humidity_pct":88}"""),
            ("rootcellar/curing-room/door", """{"temperature_f":67.5,"humidity_pct":86}"""));
        await phone.UntilAsync("/", page.GetByRole(AriaRole.Button, new() { Name = "I'm on it" }));
        await Assertions.Expect(page.Locator(".alarm .advice")).ToContainTextAsync("Open door + vent only while it's under ");
        await phone.LookAsync("now-alarm");
        await page.GetByRole(AriaRole.Button, new() { Name = "I'm on it" }).ClickAsync();
        await Assertions.Expect(page.Locator(".alarm")).ToContainTextAsync("answered by Ann");
        await Assertions.Expect(page.GetByText("Out of band, and known about")).ToBeVisibleAsync();
        await phone.LookAsync("now-acknowledged");
        await page.Locator(".alarm summary").ClickAsync();
        await page.GetByRole(AriaRole.Button, new() { Name = "Quiet for 8 hours" }).ClickAsync();
        await Assertions.Expect(page.Locator(".alarm")).ToContainTextAsync("kept quiet until");

        await page.GotoAsync("/alarms");
        await page.GetByRole(AriaRole.Link, new() { Name = "What was sent" }).ClickAsync();
        await Assertions.Expect(page.GetByText("CURING ROOM")).Not.ToHaveCountAsync(0);
        await phone.LookAsync("sent");
        await page.GotoAsync("/alarms");
        await phone.LookAsync("alarms");
        await page.GetByRole(AriaRole.Button, new() { Name = "Bring back now" }).ClickAsync();
        await Assertions.Expect(page.GetByRole(AriaRole.Button, new() { Name = "I'm on it" })).ToBeVisibleAsync();

        await page.GotoAsync("/sensors");
        await Assertions.Expect(page.GetByText("<b>not json</b>").Last).ToBeVisibleAsync();
        await phone.LookAsync("sensors");
        await page.GetByRole(AriaRole.Link, new() { Name = "Add a place cellar" }).ClickAsync();
        await Assertions.Expect(page.Locator("#place-name")).ToHaveValueAsync("Cellar");
        await page.GetByLabel("Storage").CheckAsync();
        await page.GetByRole(AriaRole.Button, new() { Name = "Add a place" }).ClickAsync();
        await phone.UntilAsync("/sensors", page.GetByRole(AriaRole.Button, new() { Name = "Let in to Cellar" }));
        await page.GetByRole(AriaRole.Button, new() { Name = "Let in to Cellar" }).First.ClickAsync();
        await phone.UntilAsync("/", page.GetByText("41.0 °F"));
        await phone.LookAsync("now-two-places");

        phone.Complaints.Should().BeEmpty();
    }

    [Fact]
    public async Task The_pages_are_as_readable_in_the_dark()
    {
        await using var service = await ServiceUnderPages.StartAsync(s =>
        {
            ServiceUnderPages.TwoDaysOf(s, "curing-room");
            s.WriteAsync(c => PlaceRows.Save(c, new Place("curing-room", "Curing room", Purpose.Curing, 25, ["potato"]))).GetAwaiter()
                .GetResult();
        });
        await using var phone = await Phone.OpenAsync(service.Address, 360, 740, dark: true);
        await phone.SignInAsync(service.Passphrase, "Bo");
        await service.PublishAsync(
            ("rootcellar/curing-room/door", """{"temperature_c":16,"humidity_pct":90}"""),
            ("rootcellar/curing-room/door", """{"temperature_c":20,"humidity_pct":81}"""));
        await phone.UntilAsync("/", phone.Page.GetByRole(AriaRole.Button, new() { Name = "I'm on it" }));
        await phone.LookAsync("now");
        await DigAndFillAsync(phone, service);
        foreach (var path in (string[])["/alarms", "/sent", "/sensors", "/sensors/calibrate?sensor=curing-room/door",
            "/sensors/calibrate?sensor=curing-room/door&what=Humidity&against=Salt&with=NaCl", "/set-up", "/set-up/channels", "/set-up/backup", "/first-evening", "/first-evening/household", "/first-evening/places", "/first-evening/sensors",
            "/first-evening/ways", "/first-evening/people", "/first-evening/test", "/first-evening/gate", "/bins", "/bins/B1", "/log", "/log/dug", "/log/promised",
            "/log/moved", "/stock", "/ahead", "/labels", "/places/curing-room?range=day", "/lots/2025-1", "/rows", "/rows/3", "/report",
            "/log/row-planted", "/cellar", "/more", "/help", "/help/words", "/help/sensors", "/sign-out"])
        {
            await phone.Page.GotoAsync(path);
            await phone.LookAsync(path.Split('?')[0].Trim('/').Replace('/', '-') + (path.Contains("against", StringComparison.Ordinal) ? "-jar" : ""));
        }

        phone.Complaints.Should().BeEmpty();
    }

    [Fact]
    public async Task A_chart_is_read_by_finger_and_by_arrow_keys()
    {
        await using var service = await ServiceUnderPages.StartAsync(s =>
        {
            ServiceUnderPages.TwoDaysOf(s, "curing-room");
            s.WriteAsync(c => PlaceRows.Save(c, new Place("curing-room", "Curing room", Purpose.Curing, 25, ["potato"]))).GetAwaiter()
                .GetResult();
        });
        await using var phone = await Phone.OpenAsync(service.Address, 360, 740);
        await phone.SignInAsync(service.Passphrase, "Bo");
        await DigAndFillAsync(phone, service);
        var page = phone.Page;
        await page.GotoAsync("/places/curing-room?range=day");
        var chart = page.Locator("figure").First;
        var reader = chart.GetByRole(AriaRole.Slider, new() { Name = "Read the chart: Temperature" });
        var readout = chart.Locator(".readout");
        await reader.ClickAsync(new() { Position = new Position { X = 180, Y = 60 } });
        await Assertions.Expect(readout).ToContainTextAsync("\u00A0°F");
        var first = await readout.TextContentAsync();
        await reader.PressAsync("ArrowRight");
        await Assertions.Expect(readout).Not.ToHaveTextAsync(first!);
        await reader.PressAsync("ArrowLeft");
        await Assertions.Expect(readout).ToHaveTextAsync(first!);
        await reader.PressAsync("End");
        var last = (await page.Locator("#air tbody tr").Last.Locator("td").First.TextContentAsync())!.Trim();
        await Assertions.Expect(readout).ToContainTextAsync(last);
        await Assertions.Expect(reader).ToHaveAttributeAsync("aria-valuetext", (await readout.TextContentAsync())!);
        await phone.LookAsync("place-day");
        phone.Complaints.Should().BeEmpty();
    }

    private static async Task DigAndFillAsync(Phone phone, ServiceUnderPages service)
    {
        var dug = DateTimeOffset.UtcNow.AddDays(-1.5);
        var answer = await phone.Page.APIRequest.PostAsync(new Uri(service.Address, "/api/ledger").ToString(), new()
        {
            DataObject = new object[]
            {
                new { @event = "dug", at = dug, lot = "2025-1", crop = "potato", variety = "Kennebec" },
                new { @event = "filled", at = dug.AddHours(1), bin = "B1", lot = "2025-1", weightKg = 20, place = "curing-room" },
            },
        });
        answer.Status.Should().Be(201, await answer.TextAsync());
    }

    [Fact]
    public async Task The_open_page_follows_the_air_without_being_loaded_again()
    {
        await using var service = await ServiceUnderPages.StartAsync(
            s => s.WriteAsync(c => PlaceRows.Save(c, new Place("cellar", "Cellar", Purpose.Storage, null, ["potato"]))).GetAwaiter()
                .GetResult());
        await using var phone = await Phone.OpenAsync(service.Address, 360, 740);
        await phone.SignInAsync(service.Passphrase, "Bo");
        await Assertions.Expect(phone.Page.GetByText("No sensor here yet")).ToBeVisibleAsync();
        await service.PublishAsync(("rootcellar/cellar/shelf", """{"temperature_f":41,"humidity_pct":92}"""));
        // Coming back to the tab is one of the moments at which the script asks again.
        await phone.Page.EvaluateAsync("() => document.dispatchEvent(new Event('visibilitychange'))");
        await Assertions.Expect(phone.Page.GetByText("41.0 °F").First).ToBeVisibleAsync();
        phone.Complaints.Should().BeEmpty();
    }

    [Fact]
    public async Task The_eleventh_try_at_the_passphrase_is_refused_with_a_page_that_says_when_to_come_back()
    {
        await using var service = await ServiceUnderPages.StartAsync();
        using var handler = new HttpClientHandler();
        using var client = new HttpClient(handler) { BaseAddress = service.Address };
        var form = await client.GetStringAsync("/sign-in", TestContext.Current.CancellationToken);
        var start = form.IndexOf("__RequestVerificationToken", StringComparison.Ordinal);
        start = form.IndexOf("value=\"", start, StringComparison.Ordinal) + 7;
        var token = form[start..form.IndexOf('"', start)];
        HttpResponseMessage? last = null;
        for (var i = 1; i <= 11; i++)
        {
            using var content = new FormUrlEncodedContent([new("passphrase", "wrong" + i), new("__RequestVerificationToken", token)]);
            last = await client.PostAsync("/sign-in", content, TestContext.Current.CancellationToken);
            if (i <= 10) last.StatusCode.Should().Be(HttpStatusCode.OK, $"try {i} is allowed");
        }

        last!.StatusCode.Should().Be(HttpStatusCode.TooManyRequests);
        (await last.Content.ReadAsStringAsync(TestContext.Current.CancellationToken)).Should().Contain("Too many tries");
    }
}
