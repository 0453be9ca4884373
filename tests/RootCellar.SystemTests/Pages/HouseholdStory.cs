using System.Globalization;
using System.Text.Json;
using System.Text.RegularExpressions;
using Microsoft.Playwright;
using RootCellar.Places;
using RootCellar.Storage;
using RootCellar.SystemTests.Running;

namespace RootCellar.SystemTests.Pages;

/// <summary>A crop of a household: when it comes in, how, and where it goes.</summary>
/// <param name="Crop">As the form has it.</param>
/// <param name="Lot">What the household calls it.</param>
/// <param name="Month">Of the harvest, with its day.</param>
/// <param name="Done">The word for its harvest.</param>
/// <param name="First">Where it stands first; it is moved on to <paramref name="Then"/> a month later where that is another place.</param>
internal sealed record Grown(string Crop, string Lot, int Month, int Day, string Done, string First, string Then);

/// <summary>A household that reckons in C and kg, over two seasons.</summary>
/// <param name="Air">Every place with its temperature and humidity over the last weeks.</param>
internal sealed record Household(
    string Name, string Locale, string Zone, string DecimalMark, string Emergency, IReadOnlyList<Place> Places,
    IReadOnlyDictionary<string, (double C, double Percent)> Air, IReadOnlyList<Grown> Crops)
{
    public TimeZoneInfo Clock => TimeZoneInfo.FindSystemTimeZoneById(Zone);

    /// <summary>A figure as the household writes it.</summary>
    public string Number(double value, string format = "0.0") =>
        value.ToString(format, CultureInfo.InvariantCulture).Replace(".", DecimalMark, StringComparison.Ordinal);

    /// <summary>The last day of that date that lies three weeks back, and the one a year before.</summary>
    public (DateTime Before, DateTime Last) Harvests(Grown grown)
    {
        var latest = TimeZoneInfo.ConvertTime(DateTimeOffset.UtcNow, Clock).Date.AddDays(-21);
        var last = new DateTime(latest.Year, grown.Month, grown.Day);
        if (last > latest) last = last.AddYears(-1);
        return (last.AddYears(-1), last);
    }

    public DateTimeOffset At(DateTime day, int hour) =>
        new DateTimeOffset(day.AddHours(hour), Clock.GetUtcOffset(day.AddHours(hour))).ToUniversalTime();
}

/// <summary>Two seasons of twelve crops, told end to end: the first by a program, the second in the browser, and both looked at.</summary>
internal sealed class HouseholdStory(Household household, ITestOutputHelper output)
{
    // The household's units stand everywhere: none of these does. What canning quantities are published in stays with them.
    private static readonly Regex Foreign = new(
        @"°F|\d\s*F\b|\blbs?\b|\bpounds?\b|\bounces?\b|\bbushels?\b|\bpecks?\b|\bquarts?\b|\bdry quarts?\b|\binch(es)?\b|\bfeet\b|\bfoot\b|\bft\b",
        RegexOptions.IgnoreCase | RegexOptions.ExplicitCapture, TimeSpan.FromSeconds(5));

    // A sensor's password is drawn: "338f-xesg-g34c-8bbn" is no temperature.
    private static readonly Regex Passwords = new(@"\b[a-z0-9]{4}(-[a-z0-9]{4}){3}\b", RegexOptions.ExplicitCapture, TimeSpan.FromSeconds(5));

    private static readonly Regex Points = new(@"\d\.\d+\s*(°C|kg|%)", RegexOptions.ExplicitCapture, TimeSpan.FromSeconds(5));

    private static readonly Regex Seasons = new(@"\b(autumn|spring|summer|winter)\b(?! squash| radish)",
        RegexOptions.IgnoreCase | RegexOptions.ExplicitCapture, TimeSpan.FromSeconds(5));

    public async Task TellAsync()
    {
        await using var gateway = await Gateway.StartAsync();
        await using var postbox = Postbox.Start();
        await using var service = await ServiceUnderPages.StartAsync(Furnish, tells: gateway.Url, settings: new Dictionary<string, string>
        {
            ["Household:TimeZone"] = household.Zone,
            ["Household:Temperature"] = "C",
            ["Household:Weight"] = "kg",
            ["Household:DecimalMark"] = household.DecimalMark,
            ["Household:CrateKg"] = "12",
            ["Household:EmergencyNumber"] = household.Emergency,
            ["Watch:FreezingOnDelaySeconds"] = "0",
            ["Tell:Mail:Host"] = "127.0.0.1",
            ["Tell:Mail:Port"] = postbox.Port.ToString(CultureInfo.InvariantCulture),
            ["Tell:Mail:Tls"] = "off",
            ["Tell:Mail:From"] = "cellar@example.org",
        });
        await using var phone = await Phone.OpenAsync(service.Address, 360, 740, locale: household.Locale);
        var grower = new Grower(phone);
        await phone.SignInAsync(service.Passphrase, "Ida");
        await PostAsync(phone, "/api/contacts", new { name = "Ida", channel = "post", address = "+49 1", wants = "all" });
        await PostAsync(phone, "/api/contacts", new { name = "Jo", channel = "mail", address = "jo@example.org", wants = "all" });
        await service.PublishAsync([.. household.Air.Select(a => (Topic(a.Key), Reading(a.Value.C, a.Value.Percent)))]);
        await FirstSeasonAsync(phone);
        foreach (var grown in household.Crops) await HarvestAsync(grower, grown);
        await MoveOnAsync(phone);
        await WeighAsync(grower);
        await ChillAsync(grower);
        await FreezeAsync(service, gateway, postbox);
        await LookAsync(phone);
        phone.Complaints.Should().BeEmpty();
    }

    private void Furnish(Store store) => store.WriteAsync(c =>
    {
        foreach (var place in household.Places) PlaceRows.Save(c, place);
        var now = DateTimeOffset.UtcNow;
        foreach (var (place, (celsius, percent)) in household.Air)
        {
            // Five weeks, every half hour: what a row speaks for.
            for (var i = 2; i < 48 * 35; i++)
            {
                var wave = Math.Sin(i / 7.6);
                PlaceRows.SaveAir(c, new PlaceAir(
                    place, now - TimeSpan.FromMinutes(30 * i), celsius + (0.4 * wave), percent - wave, 2, 120, null,
                    null, null, null, AirQuality.Good));
            }
        }
    }).GetAwaiter().GetResult();

    private static string Topic(string place) => $"rootcellar/{place}/door";

    private static string Reading(double celsius, double percent) => string.Create(
        CultureInfo.InvariantCulture, $$"""{"temperature_c":{{celsius}},"humidity_pct":{{percent}}}""");

    private static async Task PostAsync(Phone phone, string path, object body)
    {
        var answer = await phone.Page.APIRequest.PostAsync(path, new() { DataObject = body });
        answer.Ok.Should().BeTrue(await answer.TextAsync());
    }

    /// <summary>Last year's, written by a program: harvested, moved, culled, and used to the last.</summary>
    private Task FirstSeasonAsync(Phone phone)
    {
        var events = new List<object>();
        foreach (var grown in household.Crops)
        {
            var (day, _) = household.Harvests(grown);
            var (lot, bin) = ($"{grown.Lot}-1", $"{grown.Lot[..2]}-1");
            events.Add(new { @event = "dug", at = household.At(day, 10), lot, crop = grown.Crop, weightKg = 32, @checked = true });
            events.Add(new { @event = "filled", at = household.At(day, 11), bin, lot, weightKg = 30, place = grown.First, @checked = true });
            if (grown.Then != grown.First)
                events.Add(new { @event = "moved", at = household.At(day.AddDays(30), 9), bin, place = grown.Then, @checked = true });
            events.Add(new { @event = "sold", at = household.At(day.AddDays(60), 9), bin, weightKg = 12, @checked = true });
            events.Add(new { @event = "culled", at = household.At(day.AddDays(90), 9), bin, weightKg = 1.5, reason = "rot", @checked = true });
            events.Add(new { @event = "given", at = household.At(day.AddDays(120), 9), bin, empties = true, @checked = true });
        }

        return PostAsync(phone, "/api/ledger", events);
    }

    /// <summary>This year's, by its form.</summary>
    private async Task HarvestAsync(Grower grower, Grown grown)
    {
        var page = grower.Page;
        var (_, day) = household.Harvests(grown);
        await page.GotoAsync($"/log/dug?crop={grown.Crop}");
        (await page.InnerTextAsync("main")).Should().Contain($"{grown.Done} on", grown.Crop);
        await page.Locator("#lot").FillAsync(grown.Lot);
        await page.Locator("#dug-on").FillAsync(day.ToString("yyyy-MM-dd", CultureInfo.InvariantCulture));
        await page.Locator("#amount").FillAsync(household.Number(48.5));
        if (grown == household.Crops[0]) await grower.LookAsync($"{household.Name}-harvest");
        await grower.WriteAsync();
        await grower.IsToldAsync($"Lot {grown.Lot} is written down");
        await page.Locator("#bin").FillAsync(Bin(grown));
        await page.Locator("#amount").FillAsync(household.Number(45));
        await page.Locator("#place").SelectOptionAsync(grown.First);
        await grower.WhenAsync(day.AddHours(16));
        await grower.WriteAsync();
        await grower.IsToldAsync($"Filled: {household.Number(45)}\u00A0kg");
    }

    private static string Bin(Grown grown) => grown.Lot[..2] + "1";

    /// <summary>Whatever cured went on to its store after a month, where that has gone by.</summary>
    private Task MoveOnAsync(Phone phone) => PostAsync(phone, "/api/ledger", household.Crops
        .Where(g => g.Then != g.First && household.Harvests(g).Last.AddDays(30) < DateTime.UtcNow.AddDays(-2))
        .Select(g => (object)new
        {
            @event = "moved",
            at = household.At(household.Harvests(g).Last.AddDays(30), 9),
            bin = Bin(g),
            place = g.Then,
        })
        .Append(new { @event = "condition-seen", bin = Bin(household.Crops[0]), what = "dry" }).ToList());

    /// <summary>A figure in the household's own writing is taken, and one that can be read two ways is asked about.</summary>
    private async Task WeighAsync(Grower grower)
    {
        var bin = Bin(household.Crops[1]);
        await grower.OpenBinAsync(bin);
        await grower.HappenedAsync("Eaten");
        await grower.Page.Locator("#amount").FillAsync(household.Number(0.75, "0.000"));
        await grower.WriteAsync();
        await grower.IsToldAsync($"Eaten: {household.Number(0.75, "0.00")}\u00A0kg");
        await Assertions.Expect(grower.ByTheBook).ToContainTextAsync($"{household.Number(44.25)[..2]}");
        if (household.DecimalMark != ",") return;
        await grower.HappenedAsync("Eaten");
        await grower.Page.Locator("#amount").FillAsync("1.250");
        await grower.WriteAsync();
        await grower.IsAskedAsync("1,25");
    }

    /// <summary>Squash is brought into the cold: the page asks and names the place that suits it.</summary>
    private async Task ChillAsync(Grower grower)
    {
        var squash = household.Crops.First(g => g.Crop is "winter-squash" or "pumpkin" or "butternut");
        var cold = household.Places.First(p => p.Purpose == Purpose.Storage);
        await grower.OpenBinAsync(Bin(squash));
        await grower.HappenedAsync("Moved");
        await grower.Button(cold.Name).ClickAsync();
        await grower.IsAskedAsync("10.0\u00A0°C".Replace(".", household.DecimalMark, StringComparison.Ordinal));
        await grower.LookAsync($"{household.Name}-chill");
    }

    /// <summary>Frost: by text and by mail, in degrees C, and once more when it gets worse.</summary>
    private async Task FreezeAsync(ServiceUnderPages service, Gateway gateway, Postbox postbox)
    {
        var cellar = household.Places.First(p => p.Purpose == Purpose.Storage);
        // A fall of five degrees at once would not be believed.
        await service.PublishAsync((Topic(cellar.Id), Reading(2.2, 92)));
        for (var i = 0; i < 3; i++) await service.PublishAsync((Topic(cellar.Id), Reading(-0.5 - (0.01 * i), 92)));
        await Eventually.HoldsAsync(() => Texts().Any(t => t.Contains("URGENT", StringComparison.Ordinal)), "a text of frost",
            details: () => string.Join('\n', Texts()));
        for (var i = 0; i < 3; i++) await service.PublishAsync((Topic(cellar.Id), Reading(-2.1 - (0.1 * i), 92)));
        await Eventually.HoldsAsync(() => Texts().Count(t => t.Contains("URGENT", StringComparison.Ordinal)) > 1, "a text that it is worse",
            details: () => string.Join('\n', Texts()));
        await Eventually.HoldsAsync(() => postbox.Mails.Count > 0, "a mail of frost");
        foreach (var said in Texts().Concat(postbox.Mails.Select(m => m.Subject + "\n" + m.TextBody)))
        {
            output.WriteLine(said);
            // A mail cites its sources in brackets behind each limit, as they were printed.
            Said(Regex.Replace(said, @"(?m)(?<=^- [^(\n]*)\(.*$", "", RegexOptions.None, TimeSpan.FromSeconds(1)), "a text");
        }

        Texts().Should().Contain(t => Regex.IsMatch(t, @"-?\d[.,]\dC", RegexOptions.None, TimeSpan.FromSeconds(1)), "tenths of a degree C");

        List<string> Texts() => [.. gateway.Accepted.Select(c => JsonDocument.Parse(c.Body).RootElement.GetProperty("text").GetString()!)];
    }

    /// <summary>Every page there is, on a phone: looked over, kept as a picture, and read for what does not belong to this household.</summary>
    private async Task LookAsync(Phone phone)
    {
        var page = phone.Page;
        var apples = household.Crops.First(g => g.Crop == "apple");
        string[] paths =
        [
            "/", "/bins", $"/bins/{Bin(apples)}", $"/lots/{apples.Lot}", $"/lots/{household.Crops[0].Lot}", $"/places/{household.Places[0].Id}",
            $"/places/{household.Places[1].Id}?range=month", "/ahead", "/stock", "/rows", "/report?week=" + Week(), "/alarms", "/sensors",
            "/set-up", "/crops", "/log", $"/log/culled?bin={Bin(apples)}", $"/log/dug?crop={household.Crops[2].Crop}", $"/log/weighed?bin={Bin(apples)}",
            "/labels?sheet=a4&bin=" + Bin(apples),
        ];
        foreach (var path in paths)
        {
            (await page.GotoAsync(path))!.Status.Should().Be(200, path);
            var what = $"{household.Name}{Regex.Replace(path.Split('&')[0], "[^a-z0-9]+", "-", RegexOptions.IgnoreCase, TimeSpan.FromSeconds(1))}";
            await phone.LookAsync(what);
            // All that stands there, also in what is folded away, but for sources, which are cited as they were printed.
            var seen = await page.EvaluateAsync<string>("""
                () => { const all = document.querySelector('main').cloneNode(true);
                  all.querySelectorAll('.source, script, style').forEach(e => e.remove()); return all.textContent; }
                """);
            // A sheet of American stickers is offered by the measures it is sold by.
            Said(path.StartsWith("/labels", StringComparison.Ordinal) ? await page.Locator(".sheet.a4").InnerTextAsync() : seen, path);
            if (path.StartsWith("/labels", StringComparison.Ordinal)) (await page.Locator(".sheet.a4").CountAsync()).Should().Be(1, "A4 is its paper");
            if (path.EndsWith(apples.Lot, StringComparison.Ordinal) || path == $"/bins/{Bin(apples)}")
                seen.Should().Contain("icked").And.NotContainAny("dug", "Dug");
        }

        var report = await page.APIRequest.GetAsync("/api/report?week=" + Week());
        report.Ok.Should().BeTrue();
        using var advice = JsonDocument.Parse(await (await page.APIRequest.GetAsync("/api/advice")).TextAsync());
        var cold = household.Places.First(p => p.Purpose == Purpose.Storage).Id;
        var cellar = advice.RootElement.EnumerateArray().First(a => a.TryGetProperty("place", out var place) && place.GetString() == cold);
        cellar.GetProperty("wrong")[0].GetProperty("unit").GetString().Should().Be("C");
        cellar.GetProperty("wrong")[0].GetProperty("value").GetDouble().Should().BeApproximately(-2.3, 0.15);
        Said(string.Join('\n', advice.RootElement.EnumerateArray().Select(a => a.GetProperty("orders").GetString())), "/api/advice");
    }

    private string Week()
    {
        var day = TimeZoneInfo.ConvertTime(DateTimeOffset.UtcNow, household.Clock);
        return string.Create(CultureInfo.InvariantCulture, $"{ISOWeek.GetYear(day.DateTime)}-W{ISOWeek.GetWeekOfYear(day.DateTime):00}");
    }

    private void Said(string text, string where)
    {
        text = Passwords.Replace(text, "");
        string Around(Match m) => text[Math.Max(0, m.Index - 60)..Math.Min(text.Length, m.Index + 60)].ReplaceLineEndings(" ");
        Foreign.Matches(text).Select(Around).Should().BeEmpty($"{where} speaks in C and kg");
        Seasons.Matches(text).Select(Around).Should().BeEmpty($"{where} names no season, for it is another on the other half of the earth");
        if (household.DecimalMark == ",")
            Points.Matches(text).Select(Around).Should().BeEmpty($"{where} has decimal commas");
    }
}
