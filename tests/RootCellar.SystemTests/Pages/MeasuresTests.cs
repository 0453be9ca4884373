using System.Globalization;
using Microsoft.Playwright;
using RootCellar.Places;

namespace RootCellar.SystemTests.Pages;

/// <summary>
/// Pages held to the limits of docs/design.md, in a real browser on a phone of 360 by 740 pixels: a book of twenty bins, three places with
/// a sensor each and one outdoors.
/// </summary>
public class MeasuresTests(ITestOutputHelper output)
{
    private const int Width = 360, Height = 740, Bar = 60;

    private static readonly (string Place, string Name, Purpose Purpose, string[] Crops, string Reading)[] House =
    [
        ("curing", "Curing room", Purpose.Curing, ["potato"], """{"temperature_f":55.2,"humidity_pct":90}"""),
        ("cellar", "Cellar", Purpose.Storage, ["potato"], """{"temperature_f":41.3,"humidity_pct":93}"""),
        ("pantry", "Pantry", Purpose.Storage, ["butternut"], """{"temperature_f":54.8,"humidity_pct":60}"""),
        ("yard", "Outdoors", Purpose.Outdoors, [], """{"temperature_f":48,"humidity_pct":80}"""),
    ];

    [Theory]
    [InlineData(false)]
    [InlineData(true)]
    public async Task On_a_phone_each_page_is_no_longer_than_its_limit_and_nothing_in_it_moves(bool dark)
    {
        await using var service = await StartAsync();
        await using var phone = await Phone.OpenAsync(service.Address, Width, Height, dark);
        await phone.SignInAsync(service.Passphrase, "Ida");
        await FillAsync(phone, service);
        var page = phone.Page;
        await phone.UntilAsync("/", page.GetByText("All is well"));

        // Now, calm: the verdict, what to do, and three places, on one screen.
        (await HeightAsync(page)).Should().BeLessThanOrEqualTo(Height, "Now is one screen in calm times");
        await phone.LookAsync("measured-now");

        await page.GotoAsync("/bins");
        var inSight = await page.EvaluateAsync<int>(
            $"() => [...document.querySelectorAll('.bin')].filter(b => b.getBoundingClientRect().bottom <= {Height - Bar + 1}).length");
        inSight.Should().BeGreaterThanOrEqualTo(20, "twenty bins are in sight without scrolling");
        await phone.LookAsync("measured-bins");

        foreach (var (path, limit) in new[]
        {
            ("/lots/2026-2", 3 * Height), ("/more", Height), ("/cellar", 3 * Height), ("/places/curing", 3700), ("/report", 2 * Height), ("/ahead", 3 * Height),
        })
        {
            await page.GotoAsync(path);
            var height = await HeightAsync(page);
            output.WriteLine($"{path} {height.ToString(CultureInfo.InvariantCulture)}");
            height.Should().BeLessThanOrEqualTo(limit, path);
            await phone.LookAsync("measured" + path.Replace('/', '-'));
        }

        // Trouble: too warm, with its order of work and one first button; two screens at most.
        await service.PublishAsync(
            ("rootcellar/curing/door", """{"temperature_f":62,"humidity_pct":84}"""),
            ("rootcellar/curing/door", """{"temperature_f":66,"humidity_pct":80}"""));
        await phone.UntilAsync("/", page.GetByRole(AriaRole.Button, new() { Name = "I'm on it" }));
        (await HeightAsync(page)).Should().BeLessThanOrEqualTo(2 * Height, "Now is two screens in trouble");
        (await page.Locator(".primary:visible").CountAsync()).Should().Be(1, "one button comes first");
        await phone.LookAsync("measured-trouble");
        phone.Complaints.Should().BeEmpty();
    }

    [Fact]
    public async Task A_page_weighs_under_60_KB_without_pictures_and_does_not_shift()
    {
        await using var service = await StartAsync();
        await using var phone = await Phone.OpenAsync(service.Address, Width, Height);
        await phone.SignInAsync(service.Passphrase, "Ida");
        await FillAsync(phone, service);
        var page = phone.Page;
        await phone.UntilAsync("/", page.GetByText("All is well"));
        await page.AddInitScriptAsync("""
            window.shifted = 0;
            new PerformanceObserver(l => { for (const e of l.getEntries()) window.shifted += e.value; }).observe({ type: 'layout-shift', buffered: true });
            """);
        foreach (var (path, limit) in new[]
        {
            ("/", 60_000), ("/bins", 60_000), ("/lots/2026-2", 60_000), ("/log", 60_000), ("/more", 60_000), ("/alarms", 60_000),
            ("/report", 60_000), ("/stock", 60_000), ("/cellar", 66_000), ("/ahead", 65_000),
        })
        {
            await page.GotoAsync(path, new() { WaitUntil = WaitUntilState.NetworkIdle });
            var weight = await phone.WeightAsync();
            var shift = await page.EvaluateAsync<double>("() => window.shifted");
            output.WriteLine($"{path} {weight.ToString("n0", CultureInfo.InvariantCulture)} bytes, shift {shift.ToString("0.0000", CultureInfo.InvariantCulture)}");
            weight.Should().BeLessThan(limit, path).And.BeGreaterThan(30_000, "its fonts count");
            shift.Should().Be(0, path);
        }
    }

    private static Task<int> HeightAsync(IPage page) => page.EvaluateAsync<int>("() => document.documentElement.scrollHeight");

    private static Task<ServiceUnderPages> StartAsync() => ServiceUnderPages.StartAsync(
        s =>
        {
            ServiceUnderPages.TwoDaysOf(s, "curing");
            s.WriteAsync(c =>
            {
                foreach (var (place, name, purpose, crops, _) in House) PlaceRows.Save(c, new Place(place, name, purpose, 25, crops));
            }).GetAwaiter().GetResult();
        },
        tells: "http://127.0.0.1:9/");

    private static async Task FillAsync(Phone phone, ServiceUnderPages service)
    {
        var dug = DateTimeOffset.UtcNow.AddDays(-6);
        List<object> events =
        [
            new { @event = "dug", at = dug, lot = "2026-1", crop = "potato", variety = "Kennebec" },
            new { @event = "dug", at = dug, lot = "2026-2", crop = "potato", variety = "Norland" },
            new { @event = "dug", at = dug, lot = "2026-3", crop = "butternut", variety = "Waltham" },
        ];
        for (var i = 0; i < 20; i++)
        {
            var (lot, bin, place) = i < 10 ? ("2026-1", "K", "cellar") : i < 18 ? ("2026-2", "N", "curing") : ("2026-3", "S", "pantry");
            events.Add(new { @event = "filled", at = dug.AddHours(1), bin = $"{bin}{i + 1}", lot, weightKg = 20 + i, place });
        }

        var answer = await phone.Page.APIRequest.PostAsync(
            new Uri(service.Address, "/api/ledger").ToString(), new() { DataObject = events });
        answer.Status.Should().Be(201, await answer.TextAsync());
        await service.PublishAsync([.. House.Select(h => ($"rootcellar/{h.Place}/door", h.Reading))]);
        await phone.Page.GotoAsync("/set-up");
        await phone.Page.GetByRole(AriaRole.Button, new() { Name = "Set-up is finished" }).ClickAsync();
        await Assertions.Expect(phone.Page.Locator(".done")).ToContainTextAsync("Set-up is finished");
    }
}
