using System.Text.Json;
using Microsoft.Playwright;
using RootCellar.Places;

namespace RootCellar.SystemTests.Pages;

/// <summary>The page for the cellar, in a real browser whose network, tab and service go away and come back.</summary>
public class CellarTests
{
    private const double KgPerPound = 0.45359237;

    /// <summary>What is written without a network, five minutes apart: the bin, the event, and what the form is told.</summary>
    private static readonly (string Bin, string Event, Func<IPage, Task>? Fill, string Tap)[] Evening =
    [
        ("K1", "weighed", p => Amount(p, "46.8 lb"), "Write it down"),
        ("K1", "eaten", p => Amount(p, "3"), "Write it down"),
        ("K1", "sprouts-seen", null, "a few"),
        ("K2", "moved", null, "Cellar"),
        ("K2", "sold", p => Amount(p, "5"), "Write it down"),
        ("K2", "culled", async p =>
        {
            await Amount(p, "1.5");
            await p.GetByLabel("rot", new() { Exact = true }).CheckAsync();
        }, "Write it down"),
        ("N1", "sorted", async p =>
        {
            await p.Locator("#into-amount-0").FillAsync("30");
            await p.Locator("#into-bin-1").FillAsync("N2");
            await p.Locator("#into-amount-1").FillAsync("10");
        }, "Write it down"),
        ("N1", "condition-seen", null, "soft"),
        ("N2", "given", p => Amount(p, "2"), "Write it down"),
        ("K2", "planted", p => Amount(p, "2"), "Write it down"),
        ("K1", "given", p => Amount(p, "1"), "Write it down"),
    ];

    [Fact]
    public async Task Eleven_entries_of_an_hour_without_a_network_are_in_the_book_once_each_with_the_hour_they_were_typed()
    {
        await using var service = await StartAsync();
        await using var phone = await Phone.OpenAsync(service.Address, 360, 740);
        await phone.Page.Clock.InstallAsync();
        await phone.SignInAsync(service.Passphrase, "Ann");
        await FillAsync(phone);
        await phone.Page.GotoAsync("/cellar");
        phone.Away = true;
        await Assertions.Expect(phone.Page.GetByText("Connected. Figures as of")).ToBeVisibleAsync();
        await phone.Page.Context.SetOfflineAsync(true);
        await Assertions.Expect(phone.Page.GetByText("No network since")).ToBeVisibleAsync();
        await Assertions.Expect(phone.Page.GetByText("Connected. Figures as of")).ToBeHiddenAsync();
        for (var i = 0; i < 4; i++) await WriteAsync(phone.Page, Evening[i]);

        // Half filled in, and the network that comes back brings no answers: what is written and what is begun outlive a reload.
        await OpenAsync(phone.Page, "K2", "sold");
        await Amount(phone.Page, "5");
        await NoAnswersAsync(phone.Page);
        await phone.Page.Context.SetOfflineAsync(false);
        await phone.Page.ReloadAsync();
        await Assertions.Expect(phone.Page.Locator("#waiting li")).ToHaveCountAsync(4);
        await Assertions.Expect(phone.Page.Locator("#begun")).ToContainTextAsync("Sold K2");
        // What may be in the book already can no longer be changed here; what was never sent can.
        await Assertions.Expect(phone.Page.Locator("#waiting li").Nth(1).GetByRole(AriaRole.Button)).ToHaveCountAsync(2);
        await Assertions.Expect(phone.Page.Locator("#waiting li").First.GetByRole(AriaRole.Button)).ToHaveCountAsync(0);

        // The tab is gone, the service too, and both are there again.
        var closed = phone.Page;
        await service.PullThePlugAsync();
        await closed.Context.SetOfflineAsync(true);
        await phone.OpenTabAsync();
        await closed.CloseAsync();
        await service.BeginAsync();
        await NoAnswersAsync(phone.Page);
        await phone.Page.Context.SetOfflineAsync(false);
        await phone.Page.GotoAsync("/cellar#bin=K2");
        await Assertions.Expect(phone.Page.Locator("#waiting li")).ToHaveCountAsync(4);
        await phone.Page.Context.SetOfflineAsync(true);
        await phone.Page.Locator("#begun").GetByRole(AriaRole.Button, new() { Name = "Go on" }).ClickAsync();
        await Assertions.Expect(phone.Page.GetByLabel("How much was sold?")).ToHaveValueAsync("5");
        await phone.Page.GetByRole(AriaRole.Button, new() { Name = "Write it down" }).ClickAsync();
        await Assertions.Expect(phone.Page.Locator("#waiting li")).ToHaveCountAsync(5);
        await Assertions.Expect(phone.Page.Locator("#begun")).ToBeHiddenAsync();
        await phone.Page.Clock.FastForwardAsync("05:00");
        for (var i = 5; i < Evening.Length; i++) await WriteAsync(phone.Page, Evening[i]);
        await Assertions.Expect(phone.Page.Locator("#waiting li")).ToHaveCountAsync(Evening.Length);
        await Assertions.Expect(phone.Page.Locator("#waiting")).ToContainTextAsync("Weighed K1: 46.8 lb");
        await phone.LookAsync("cellar-waits");

        // In the middle of sending the sixth reaches the book, and the plug is pulled before its answer is out.
        await phone.Page.UnrouteAllAsync();
        var posts = 0;
        await phone.Page.RouteAsync("**/log/*", async route =>
        {
            if (route.Request.Method != "POST" || Interlocked.Increment(ref posts) != 6) { await route.ContinueAsync(); return; }
            await route.FetchAsync(new() { MaxRedirects = 0 });
            await service.PullThePlugAsync();
            await route.AbortAsync();
        });
        await phone.Page.Context.SetOfflineAsync(false);
        await Assertions.Expect(phone.Page.Locator("#waiting li")).ToHaveCountAsync(6, new() { Timeout = 60_000 });
        await Assertions.Expect(phone.Page.Locator("#sent")).ToContainTextAsync("Sent: Weighed K1: 46.8 lb. The book has K1: 46.8\u00A0lb.");
        await service.BeginAsync();
        await BackAsync(phone.Page);
        await Assertions.Expect(phone.Page.Locator("#waiting")).ToBeHiddenAsync(new() { Timeout = 60_000 });
        await Assertions.Expect(phone.Page.Locator("#sent")).ToContainTextAsync("Sent: Given away K1: 1 lb. The book has K1: 42.8\u00A0lb.");
        await phone.LookAsync("cellar-sent");

        // Pencil and paper.
        var book = await BookAsync(phone);
        book.Select(e => (e.GetProperty("bin").GetString(), e.GetProperty("event").GetString())).Should()
            .Equal(Evening.Select(e => ((string?)e.Bin, (string?)e.Event)), "each is there once, in the order they were typed");
        book.Should().AllSatisfy(e => e.GetProperty("by").GetString().Should().Be("Ann"));
        var hours = book.Select(e => e.GetProperty("at").GetDateTimeOffset()).ToList();
        for (var i = 1; i < hours.Count; i++)
            (hours[i] - hours[i - 1]).TotalMinutes.Should().BeInRange(4.9, 7, $"entry {i + 1} was typed five minutes after the one before");
        (await KgAsync(phone, "K1")).Should().BeApproximately((46.8 - 3 - 1) * KgPerPound, 0.001);
        (await KgAsync(phone, "K2")).Should().BeApproximately((50 - 5 - 1.5 - 2) * KgPerPound, 0.001);
        (await KgAsync(phone, "N1")).Should().BeApproximately(30 * KgPerPound, 0.001);
        (await KgAsync(phone, "N2")).Should().BeApproximately(8 * KgPerPound, 0.001);
        phone.Complaints.Should().BeEmpty();
    }

    [Fact]
    public async Task Two_tabs_send_what_waits_once()
    {
        await using var service = await StartAsync();
        await using var phone = await Phone.OpenAsync(service.Address, 360, 740);
        await phone.SignInAsync(service.Passphrase, "Ann");
        await FillAsync(phone);
        var first = phone.Page;
        await first.GotoAsync("/cellar");
        var second = await phone.OpenTabAsync();
        await second.GotoAsync("/cellar");
        phone.Away = true;
        await first.Context.SetOfflineAsync(true);
        await WriteAsync(first, ("K1", "eaten", p => Amount(p, "3"), "Write it down"), apart: false);
        await WriteAsync(second, ("K1", "sold", p => Amount(p, "4"), "Write it down"), apart: false);
        // All of it, weighed by nobody: when it is sent once more, the bin is empty by the book.
        await WriteAsync(first, ("K2", "given", p => p.Locator("[name=empties]").CheckAsync(), "Write it down"), apart: false);
        await Assertions.Expect(second.Locator("#waiting li")).ToHaveCountAsync(3);

        // Both have read what waits before either has an answer.
        var both = new TaskCompletionSource();
        var waiting = 0;
        foreach (var tab in (IPage[])[first, second])
        {
            await tab.RouteAsync("**/log/*", async route =>
            {
                if (route.Request.Method == "POST")
                {
                    if (Interlocked.Increment(ref waiting) == 2) both.TrySetResult();
                    await both.Task.WaitAsync(TimeSpan.FromSeconds(20), TestContext.Current.CancellationToken);
                }

                await route.ContinueAsync();
            });
        }

        await first.Context.SetOfflineAsync(false);
        await BackAsync(first);
        await BackAsync(second);
        await Assertions.Expect(first.Locator("#waiting")).ToBeHiddenAsync();
        await Assertions.Expect(second.Locator("#waiting")).ToBeHiddenAsync();
        waiting.Should().BeGreaterThan(3, "both tabs sent");
        (await BookAsync(phone)).Select(e => e.GetProperty("event").GetString()).Should().Equal("eaten", "sold", "given");
        (await KgAsync(phone, "K1")).Should().BeApproximately((47 - 3 - 4) * KgPerPound, 0.001);
        (await KgAsync(phone, "K2")).Should().Be(0);
        await Assertions.Expect(second.Locator("#sent p")).ToHaveCountAsync(3);
        phone.Complaints.Should().BeEmpty();
    }

    [Fact]
    public async Task What_the_book_asks_or_refuses_and_who_is_signed_out_is_settled_on_the_page()
    {
        await using var service = await StartAsync();
        await using var phone = await Phone.OpenAsync(service.Address, 360, 740);
        await phone.SignInAsync(service.Passphrase, "Ann");
        await FillAsync(phone);
        var page = phone.Page;
        var waits = page.Locator("#waiting");
        await page.GotoAsync("/cellar");
        phone.Away = true;

        // A label's address is as good as a name, and so is part of what a bin is.
        var find = page.GetByLabel("Which bin?");
        await find.FillAsync("nor");
        await Assertions.Expect(page.Locator("#shelf li:visible")).ToHaveCountAsync(1);
        await find.FillAsync("http://cellar.local:8080/bins/K2");
        await Assertions.Expect(page.Locator("#shelf li:visible")).ToHaveCountAsync(1);
        await find.PressAsync("Enter");
        await Assertions.Expect(page.Locator("#at-name")).ToHaveTextAsync("K2");
        page.Url.Should().EndWith("#bin=K2");
        await Assertions.Expect(page.Locator("#verbs [data-what=weighed]")).ToBeVisibleAsync();
        await Assertions.Expect(page.Locator("#verbs [data-what=filled]")).ToBeHiddenAsync();

        // What the server would not read is said at once.
        await OpenAsync(page, "K1", "eaten");
        await page.GetByRole(AriaRole.Button, new() { Name = "Write it down" }).ClickAsync();
        await Assertions.Expect(page.GetByRole(AriaRole.Alert)).ToContainTextAsync("How much?");
        await Amount(page, "4l");
        await page.GetByRole(AriaRole.Button, new() { Name = "Write it down" }).ClickAsync();
        await Assertions.Expect(page.GetByRole(AriaRole.Alert)).ToContainTextAsync("4l");
        await Assertions.Expect(waits).ToBeHiddenAsync();

        // More than there is: asked when the network is back, answered here, and no dangerous answer is the big button.
        await page.Context.SetOfflineAsync(true);
        await Amount(page, "90");
        await page.GetByRole(AriaRole.Button, new() { Name = "Write it down" }).ClickAsync();
        await WriteAsync(page, ("K2", "sold", p => Amount(p, "1,250"), "Write it down"), apart: false);
        await WriteAsync(page, ("N1", "eaten", p => Amount(p, "1"), "Write it down"), apart: false);
        await page.Context.SetOfflineAsync(false);
        await BackAsync(page);
        await Assertions.Expect(waits).ToContainTextAsync("The book asks: Bin K1 holds 47.0\u00A0lb by the book");
        await Assertions.Expect(waits).ToContainTextAsync("Could not be written down: '1,250'");
        await Assertions.Expect(page.Locator("#sent")).ToContainTextAsync("Sent: Eaten N1: 1 lb.");
        (await waits.Locator(".primary").CountAsync()).Should().Be(0);
        await phone.LookAsync("cellar-asked");

        // Thrown away, taken back, put right in its own form.
        await waits.GetByRole(AriaRole.Button, new() { Name = "Throw it away Sold K2" }).ClickAsync();
        await Assertions.Expect(waits).ToContainTextAsync("Thrown away: Sold K2: 1,250 lb.");
        await waits.GetByRole(AriaRole.Button, new() { Name = "Undo" }).ClickAsync();
        await waits.GetByRole(AriaRole.Button, new() { Name = "Change it Sold K2" }).ClickAsync();
        await Assertions.Expect(page.GetByLabel("How much was sold?")).ToHaveValueAsync("1,250");
        await Amount(page, "2 kg");
        await page.GetByRole(AriaRole.Button, new() { Name = "Write it down" }).ClickAsync();
        await Assertions.Expect(page.Locator("#sent")).ToContainTextAsync("Sent: Sold K2: 2 kg. The book has K2: 45.59\u00A0lb.");
        await waits.GetByRole(AriaRole.Button, new() { Name = "Yes, it is right" }).ClickAsync();
        await Assertions.Expect(waits).ToBeHiddenAsync();
        (await KgAsync(phone, "K1")).Should().Be(0);

        // What was asked only because the entry before it was refused is sent by itself once that is put right.
        await WriteAsync(page, ("Z1", "filled", p => Amount(p, "1,250"), "Write it down"), apart: false);
        await Assertions.Expect(waits).ToContainTextAsync("Could not be written down: '1,250'");
        await WriteAsync(page, ("Z1", "weighed", p => Amount(p, "12 lb"), "Write it down"), apart: false);
        await Assertions.Expect(waits).ToContainTextAsync("The book asks:");
        await waits.GetByRole(AriaRole.Button, new() { Name = "Change it Filled Z1" }).ClickAsync();
        await Amount(page, "12.5");
        await page.GetByRole(AriaRole.Button, new() { Name = "Write it down" }).ClickAsync();
        await Assertions.Expect(page.Locator("#sent")).ToContainTextAsync("Sent: Weighed Z1: 12 lb. The book has Z1: 12.0\u00A0lb.");
        await Assertions.Expect(waits).ToBeHiddenAsync();

        // Nobody is signed in any more: nothing is lost, the page leads to the sign-in, and it goes on after.
        await page.Context.ClearCookiesAsync();
        await WriteAsync(page, ("K2", "given", p => Amount(p, "1"), "Write it down"), apart: false);
        await Assertions.Expect(waits).ToContainTextAsync("Kept on this phone: 1. Sign in, and they are sent.");
        await OpenAsync(page, "K2", "eaten");
        await Amount(page, "2");
        await page.RunAndWaitForResponseAsync(() => BackAsync(page), r => r.Url.Contains("/sign-in", StringComparison.Ordinal));
        await Assertions.Expect(page.Locator("#cellar")).ToBeVisibleAsync();
        await Assertions.Expect(page.GetByLabel("How much was eaten?")).ToHaveValueAsync("2");
        await waits.GetByRole(AriaRole.Link, new() { Name = "Sign in" }).ClickAsync();
        await page.GetByLabel("Household passphrase").FillAsync(service.Passphrase);
        await page.GetByLabel("Your name").FillAsync("Ann");
        await page.GetByRole(AriaRole.Button, new() { Name = "Sign in" }).ClickAsync();
        await Assertions.Expect(page.Locator("#sent")).ToContainTextAsync("Sent: Given away K2: 1 lb. The book has K2: 44.59\u00A0lb.");
        await page.Locator("#begun").GetByRole(AriaRole.Button, new() { Name = "Go on" }).ClickAsync();
        await Assertions.Expect(page.GetByLabel("How much was eaten?")).ToHaveValueAsync("2");
        await page.GetByRole(AriaRole.Button, new() { Name = "Write it down" }).ClickAsync();
        await Assertions.Expect(page.Locator("#sent")).ToContainTextAsync("Sent: Eaten K2: 2 lb. The book has K2: 42.59\u00A0lb.");
        (await BookAsync(phone)).Should().HaveCount(7).And.AllSatisfy(e => e.GetProperty("by").GetString().Should().Be("Ann"));
        phone.Complaints.Should().BeEmpty();
    }

    [Fact]
    public async Task Every_form_opens_without_a_network_in_Spanish_and_by_keyboard()
    {
        await using var service = await StartAsync();
        await using var phone = await Phone.OpenAsync(service.Address, 360, 740, dark: true);
        var page = phone.Page;
        await phone.SignInAsync(service.Passphrase, "Ana");
        await page.GotoAsync("/language");
        await page.GetByRole(AriaRole.Button, new() { Name = "Español" }).ClickAsync();
        await Assertions.Expect(page.GetByRole(AriaRole.Link, new() { Name = "Apuntar" })).ToBeVisibleAsync();
        await FillAsync(phone);
        await page.GotoAsync("/cellar#bin=K1");
        phone.Away = true;
        await page.Context.SetOfflineAsync(true);
        await Assertions.Expect(page.GetByText("Sin red desde")).ToBeVisibleAsync();
        var kinds = await page.Locator("#verbs button:visible").EvaluateAllAsync<string[]>("all => all.map(b => b.dataset.what)");
        kinds.Should().HaveCount(11);
        foreach (var kind in kinds)
        {
            await page.Locator($"#verbs [data-what={kind}]").FocusAsync();
            await page.Keyboard.PressAsync("Enter");
            await Assertions.Expect(page.Locator("#sheet form")).ToHaveAttributeAsync("action", "/log/" + kind);
            (await page.Locator("#sheet").InnerTextAsync()).Should().NotContain("{bin}");
            (await page.EvaluateAsync<bool>("() => document.activeElement.form?.matches('#sheet form') === true")).Should()
                .BeTrue($"the first field of {kind} has the focus");
            await phone.LookAsync("cellar-" + kind);
        }

        await page.Locator("#leave").ClickAsync();
        await page.Locator("#shelf-of [data-what=filled]").ClickAsync();
        await Assertions.Expect(page.Locator("#sheet form")).ToHaveAttributeAsync("action", "/log/filled");
        await phone.LookAsync("cellar-filled");
        await page.Locator("#leave").ClickAsync();
        await phone.LookAsync("cellar-bins");

        // Another page would be a dead end: it asks first.
        await page.EvaluateAsync("() => { window.confirm = (text) => { window.asked = text; return false; }; }");
        await page.Locator("#nav a").First.ClickAsync();
        (await page.EvaluateAsync<string>("() => window.asked")).Should().StartWith("No hay red");
        await Assertions.Expect(page.Locator("#look")).ToBeVisibleAsync();
        phone.Complaints.Should().BeEmpty();
    }

    // The phone is in another zone than the household; what counts is the household's clock.
    [Fact]
    public async Task A_time_that_came_twice_is_the_one_of_the_clock_it_was_typed_by_and_is_asked_where_no_clock_says_it()
    {
        var zone = TimeZoneInfo.FindSystemTimeZoneById(ServiceUnderPages.TimeZone);
        // The last Sunday on which 01:30 came twice.
        var day = DateTimeOffset.UtcNow.Date;
        while (!zone.IsAmbiguousTime(day.AddHours(1.5))) day = day.AddDays(-1);
        var offsets = zone.GetAmbiguousTimeOffsets(day.AddHours(1.5)).OrderDescending().ToList();
        var (first, second) = (new DateTimeOffset(day.AddHours(1.5), offsets[0]), new DateTimeOffset(day.AddHours(1.5), offsets[1]));
        var typed = day.AddHours(1.5).ToString("yyyy-MM-dd'T'HH:mm", System.Globalization.CultureInfo.InvariantCulture);
        await using var service = await StartAsync();
        await using var phone = await Phone.OpenAsync(service.Address, 360, 740, timezone: "Europe/Madrid");
        await phone.SignInAsync(service.Passphrase, "Ann");
        await FillAsync(phone, first.AddHours(-8));
        var page = phone.Page;
        var again = page.Locator("#sheet input[name=again]");
        await page.Clock.InstallAsync();
        var n = 0;
        // Before the clocks were put back, in the hour after, and on another day.
        foreach (var (now, says, chosen, at) in new (DateTimeOffset, string?, string, DateTimeOffset)[]
        {
            (first.AddMinutes(15), "first", "first", first), (second.AddMinutes(15), "second", "second", second), (first.AddMinutes(15), "first", "second", second),
            (second.AddHours(30), null, "first", first),
        })
        {
            await page.GotoAsync("/cellar");
            await page.Clock.SetSystemTimeAsync(now.UtcDateTime);
            await page.Context.SetOfflineAsync(true);
            await OpenAsync(page, "K1", "eaten");
            await Amount(page, $"{++n}");
            await page.Locator("#sheet summary").ClickAsync();
            await Assertions.Expect(again).ToHaveCountAsync(0);
            await page.Locator("#sheet [name=when]").FillAsync(typed);
            await Assertions.Expect(again).ToHaveCountAsync(2);
            (await page.Locator("#sheet form").EvaluateAsync<string>("f => f.elements.again.value")).Should().Be(says ?? "");
            var write = page.Locator("#sheet").GetByRole(AriaRole.Button, new() { Name = "Write it down", Exact = true });
            if (says is null)
            {
                await write.ClickAsync();
                await Assertions.Expect(page.Locator("#wrong")).ToContainTextAsync("01:30 came twice on");
                await phone.LookAsync("cellar-twice");
            }

            if (says != chosen) await page.Locator($"#sheet label:has([value={chosen}])").ClickAsync();
            await write.ClickAsync();
            await Assertions.Expect(page.Locator("#sheet form")).ToHaveCountAsync(0);
            await page.Context.SetOfflineAsync(false);
            await BackAsync(page);
            await Assertions.Expect(page.Locator("#waiting")).ToBeHiddenAsync();
            (await BookAsync(phone)).Should().ContainSingle(e => Math.Abs(PoundsOf(e) - n) < 0.01).Which.GetProperty("at").GetDateTimeOffset().Should().Be(at, $"entry {n}");
        }

        phone.Complaints.Where(c => !c.Contains("net::ERR_", StringComparison.Ordinal)).Should().BeEmpty();
    }

    private static double PoundsOf(JsonElement entry) => entry.GetProperty("measure").GetProperty("amount").GetDouble();

    private static Task<ServiceUnderPages> StartAsync() => ServiceUnderPages.StartAsync(s => s.WriteAsync(c =>
    {
        PlaceRows.Save(c, new Place("curing", "Curing room", Purpose.Curing, 25, ["potato"]));
        PlaceRows.Save(c, new Place("cellar", "Cellar", Purpose.Storage, 40, ["potato"]));
    }).GetAwaiter().GetResult());

    private static async Task FillAsync(Phone phone, DateTimeOffset? when = null)
    {
        var dug = when ?? DateTimeOffset.UtcNow.AddDays(-4);
        object Filled(string bin, string lot, double pounds) => new
        {
            @event = "filled",
            at = dug.AddHours(1),
            bin,
            lot,
            measure = new { amount = pounds, unit = "lb" },
            place = "curing",
        };
        object[] events =
        [
            new { @event = "dug", at = dug, lot = "2026-1", crop = "potato", variety = "Kennebec" },
            new { @event = "dug", at = dug, lot = "2026-2", crop = "potato", variety = "Norland" },
            Filled("K1", "2026-1", 47), Filled("K2", "2026-1", 50), Filled("N1", "2026-2", 40),
        ];
        var answer = await phone.Page.APIRequest.PostAsync("/api/ledger", new() { DataObject = events });
        answer.Status.Should().Be(201, await answer.TextAsync());
    }

    private static Task Amount(IPage page, string amount) => page.Locator("#amount").FillAsync(amount);

    private static async Task OpenAsync(IPage page, string bin, string kind)
    {
        await page.Locator("#find").FillAsync(bin);
        await page.Locator("#find").PressAsync("Enter");
        await page.Locator($"#verbs [data-what={kind}]").ClickAsync();
    }

    private static async Task WriteAsync(
        IPage page, (string Bin, string Event, Func<IPage, Task>? Fill, string Tap) entry, bool apart = true)
    {
        await OpenAsync(page, entry.Bin, entry.Event);
        if (entry.Fill is not null) await entry.Fill(page);
        await page.Locator("#sheet").GetByRole(AriaRole.Button, new() { Name = entry.Tap, Exact = true }).ClickAsync();
        await Assertions.Expect(page.Locator("#sheet form")).ToHaveCountAsync(0);
        if (apart) await page.Clock.FastForwardAsync("05:00");
    }

    // Pages come through, and what is sent does not.
    private static async Task NoAnswersAsync(IPage page) => await page.RouteAsync("**/log/*",
        route => route.Request.Method == "POST" ? route.AbortAsync() : route.ContinueAsync());

    // As a browser says it when the network is there again; with one that never was away for it, it says nothing.
    private static async Task BackAsync(IPage page) => await page.EvaluateAsync("() => window.dispatchEvent(new Event('online'))");

    /// <summary>What was written after the bins were filled, by when it happened.</summary>
    private static async Task<List<JsonElement>> BookAsync(Phone phone)
    {
        var answer = await phone.Page.APIRequest.GetAsync("/api/ledger");
        return [.. (await answer.JsonAsync())!.Value.EnumerateArray().Skip(5)];
    }

    private static async Task<double> KgAsync(Phone phone, string bin) =>
        (await (await phone.Page.APIRequest.GetAsync("/api/bins/" + bin)).JsonAsync())!.Value.GetProperty("bookKg").GetDouble();
}
