using System.Globalization;
using System.Text;
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

    /// <summary>The last day of that date that has gone by, and the one a year before; neither is so long ago that the book asks.</summary>
    public (DateTime Before, DateTime Last) Harvests(Grown grown)
    {
        var latest = TimeZoneInfo.ConvertTime(DateTimeOffset.UtcNow, Clock).Date.AddDays(-2);
        var last = new DateTime(latest.Year, grown.Month, grown.Day);
        if (last > latest) last = last.AddYears(-1);
        return (last.AddYears(-1), last);
    }

    /// <summary>Its week there, as reports are called.</summary>
    public static string Week(DateTime day) => string.Create(CultureInfo.InvariantCulture, $"{ISOWeek.GetYear(day)}-W{ISOWeek.GetWeekOfYear(day):00}");

    public DateTime Today => TimeZoneInfo.ConvertTime(DateTimeOffset.UtcNow, Clock).Date;
}

/// <summary>Two seasons of twelve crops, told end to end in the browser, by texts and mails and by the reports of their weeks, and looked at.</summary>
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
        foreach (var grown in household.Crops) await FirstSeasonAsync(grower, grown);
        foreach (var grown in household.Crops) await SecondSeasonAsync(grower, grown);
        await WeighAsync(grower);
        await ChillAsync(grower);
        await FreezeAsync(service, gateway, postbox);
        await SuffocateAsync(service, gateway);
        await LookAsync(phone);
        await PrintAsync(phone);
        await ReadReportsAsync(phone);
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

    /// <summary>Last year's, from the harvest to the last of it.</summary>
    private async Task FirstSeasonAsync(Grower grower, Grown grown)
    {
        var (day, _) = household.Harvests(grown);
        await HarvestAsync(grower, grown, $"{grown.Lot} {day.Year}", day);
        await MoveOnAsync(grower, grown, day);
        await HappensAsync(grower, grown, "sold", day.AddDays(60), 12);
        await HappensAsync(grower, grown, "culled", day.AddDays(90), 1.5, async page =>
        {
            var reasons = page.Locator("input[name=choice]");
            (await reasons.AllAsync()).Should().NotBeEmpty();
            await page.Locator("label.choice:has(input[name=choice])").First.ClickAsync();
        });
        await HappensAsync(grower, grown, "eaten", day.AddDays(120), 28, page => page.Locator("input[name=empties]").CheckAsync());
        await grower.Page.GotoAsync($"/lots/{Uri.EscapeDataString($"{grown.Lot} {day.Year}")}");
        (await grower.Page.TextContentAsync("main")).Should().Contain(household.Number(28), "the last of it was eaten");
    }

    /// <summary>This year's: what is in stays.</summary>
    private async Task SecondSeasonAsync(Grower grower, Grown grown)
    {
        var (_, day) = household.Harvests(grown);
        await HarvestAsync(grower, grown, grown.Lot, day);
        await MoveOnAsync(grower, grown, day);
    }

    /// <summary>It comes in and is put into its bin, by the forms.</summary>
    private async Task HarvestAsync(Grower grower, Grown grown, string lot, DateTime day)
    {
        var page = grower.Page;
        await page.GotoAsync($"/log/dug?crop={grown.Crop}");
        (await page.InnerTextAsync("main")).Should().Contain($"{grown.Done} on", grown.Crop);
        await page.Locator("#lot").FillAsync(lot);
        await page.Locator("#dug-on").FillAsync(day.ToString("yyyy-MM-dd", CultureInfo.InvariantCulture));
        await page.Locator("#amount").FillAsync(household.Number(48.5));
        if (grown == household.Crops[0]) await grower.LookAsync($"{household.Name}-harvest");
        await grower.WriteAsync();
        await grower.IsToldAsync($"Lot {lot} is written down");
        await page.Locator("#bin").FillAsync(Bin(grown));
        await page.Locator("#amount").FillAsync(household.Number(45));
        await page.Locator("#place").SelectOptionAsync(grown.First);
        await grower.WhenAsync(day.AddHours(16));
        await grower.WriteAsync();
        await grower.IsToldAsync($"Filled: {household.Number(45)}\u00A0kg");
    }

    private static string Bin(Grown grown) => grown.Lot[..2] + "1";

    /// <summary>Whatever cures goes on to its store after a month, once that has gone by.</summary>
    private async Task MoveOnAsync(Grower grower, Grown grown, DateTime day)
    {
        if (grown.Then == grown.First || day.AddDays(31) > household.Today) return;
        await grower.Page.GotoAsync($"/log/moved?bin={Bin(grown)}");
        await grower.WhenAsync(day.AddDays(30).AddHours(9));
        await grower.Button(household.Places.First(p => p.Id == grown.Then).Name).ClickAsync();
        await grower.IsToldAsync("Moved");
    }

    /// <summary>Something goes out of a bin, on a day gone by.</summary>
    private async Task HappensAsync(Grower grower, Grown grown, string what, DateTime day, double kg, Func<IPage, Task>? more = null)
    {
        await grower.Page.GotoAsync($"/log/{what}?bin={Bin(grown)}");
        await grower.Page.Locator("#amount").FillAsync(household.Number(kg));
        if (more is not null) await more(grower.Page);
        await grower.WhenAsync(day.AddHours(9));
        await grower.WriteAsync();
        await grower.IsToldAsync(household.Number(kg));
    }

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

        List<string> Texts() => TextsOf(gateway);
    }

    /// <summary>Carbon dioxide: at the limit of a working day and where it kills, with this country's number to call; and that it is over.</summary>
    private async Task SuffocateAsync(ServiceUnderPages service, Gateway gateway)
    {
        var cellar = household.Places.First(p => p.Purpose == Purpose.Storage).Id;
        foreach (var (ppm, said) in new[] { (5600, "URGENT"), (42_000, "DANGER"), (700, "700 ppm") })
        {
            for (var i = 0; i < 3; i++)
                await service.PublishAsync((Topic(cellar), $$"""{"temperature_c":-1.9,"humidity_pct":92,"co2_ppm":{{ppm + i}}}"""));
            await Eventually.HoldsAsync(() => TextsOf(gateway).Any(t => t.Contains("CO2", StringComparison.Ordinal) && t.Contains(said, StringComparison.Ordinal)),
                $"a text of {ppm} ppm", details: () => string.Join('\n', TextsOf(gateway)));
        }

        TextsOf(gateway).Single(t => t.StartsWith("DANGER", StringComparison.Ordinal)).Should().Contain($"Call {household.Emergency}");
        foreach (var text in TextsOf(gateway)) Said(text, "a text");
    }

    private static List<string> TextsOf(Gateway gateway) =>
        [.. gateway.Accepted.Select(c => JsonDocument.Parse(c.Body).RootElement.GetProperty("text").GetString()!)];

    /// <summary>Labels of all bins from the twentieth sticker on: two sheets of A4, each label on its sticker, no name cut off.</summary>
    private async Task PrintAsync(Phone phone)
    {
        var page = phone.Page;
        await page.GotoAsync("/labels?sheet=a4&first=20&" + string.Join('&', household.Crops.Select(g => "bin=" + Uri.EscapeDataString(Bin(g)))));
        await page.EmulateMediaAsync(new() { Media = Media.Print });
        var off = await page.EvaluateAsync<string[]>("""
            () => [...document.querySelectorAll('.sheet.a4')].flatMap((sheet, n) => {
              const at = sheet.getBoundingClientRect(), mm = at.width / 210;
              return [...sheet.querySelectorAll('.label')].flatMap((label, i) => {
                const r = label.getBoundingClientRect(), wrong = [];
                const place = [(r.left - at.left) / mm - 70 * (i % 3), (r.top - at.top) / mm - 0.5 - 37 * Math.floor(i / 3), r.width / mm - 70, r.height / mm - 37];
                if (place.some(p => Math.abs(p) > 0.3)) wrong.push(`sheet ${n}, label ${i} is off by ${place} mm`);
                for (const p of label.querySelectorAll('p, svg')) {
                  const q = p.getBoundingClientRect();
                  if (q.bottom > r.bottom + 0.5 || q.top < r.top - 0.5 || q.right > r.right + 0.5) wrong.push(`sheet ${n}, label ${i}: ${p.textContent} hangs out`);
                  if (p.matches('.name') && p.scrollWidth > p.clientWidth) wrong.push(`${p.textContent} is cut off`);
                }
                return wrong;
              });
            })
            """);
        off.Should().BeEmpty();
        await page.Locator(".sheet.a4").First.ScreenshotAsync(new() { Path = Phone.Picture($"{household.Name}-a4-labels") });
        var pdf = Encoding.Latin1.GetString(await page.PdfAsync(new() { PreferCSSPageSize = true }));
        var sizes = Regex.Matches(pdf, @"/MediaBox\s*\[0 0 (?<wide>\d+)[\d.]* (?<high>\d+)[\d.]*\]", RegexOptions.ExplicitCapture, TimeSpan.FromSeconds(5))
            .Select(m => (int.Parse(m.Groups["wide"].Value, CultureInfo.InvariantCulture), int.Parse(m.Groups["high"].Value, CultureInfo.InvariantCulture))).ToList();
        sizes.Should().HaveCount(2, "two sheets are two pages").And.OnlyContain(s => s.Item1 >= 594 && s.Item1 <= 596 && s.Item2 >= 841 && s.Item2 <= 842, "of A4");
        await page.EmulateMediaAsync(new() { Media = Media.Screen });
    }

    /// <summary>The report of every week in which something came in or the last of it went, and what it says of each crop.</summary>
    private async Task ReadReportsAsync(Phone phone)
    {
        var weeks = household.Crops.SelectMany(g => new (DateTime Day, Grown Of)[]
        {
            (household.Harvests(g).Before, g), (household.Harvests(g).Before.AddDays(120), g), (household.Harvests(g).Last, g),
        }).Where(w => w.Day < household.Today).GroupBy(w => Household.Week(w.Day), StringComparer.Ordinal).OrderBy(w => w.Key, StringComparer.Ordinal).ToList();
        foreach (var week in weeks)
        {
            var answer = await phone.Page.APIRequest.GetAsync("/report?week=" + week.Key);
            answer.Status.Should().Be(200, week.Key);
            var text = await phone.Page.EvaluateAsync<string>("""
                html => { const main = new DOMParser().parseFromString(html, 'text/html').querySelector('main');
                  main.querySelectorAll('.source, script, style').forEach(e => e.remove()); return main.textContent; }
                """, await answer.TextAsync());
            Said(text, $"the report of {week.Key}");
            foreach (var (_, grown) in week) text.Should().Contain(grown.Lot, $"it is in the report of {week.Key}");
        }

        foreach (var week in new[] { weeks[0].Key, weeks[weeks.Count / 2].Key })
        {
            await phone.Page.GotoAsync("/report?week=" + week);
            await phone.LookAsync($"{household.Name}-report-of-{week}");
        }
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
        cellar.GetProperty("wrong")[0].GetProperty("value").GetDouble().Should().BeApproximately(-1.9, 0.15);
        Said(string.Join('\n', advice.RootElement.EnumerateArray().Select(a => a.GetProperty("orders").GetString())), "/api/advice");
    }

    private string Week() => Household.Week(household.Today);

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
