using System.Globalization;
using System.Net;
using System.Text.Json;
using System.Text.RegularExpressions;
using Microsoft.Extensions.DependencyInjection;
using RootCellar.Entry;
using RootCellar.Household;
using RootCellar.Places;
using RootCellar.Science.Air;
using RootCellar.Storage;
using RootCellar.Tests.Entry;

namespace RootCellar.Tests.Pages;

/// <summary>What is ahead, as the page and the API say it, through the door.</summary>
public sealed class AheadPagesTests
{
    private static readonly DateTimeOffset Now = new(2025, 11, 20, 18, 0, 0, TimeSpan.Zero);

    private const string Caution = "Cut away all green, sprouts and eyes";

    /// <summary>An old lot in the cellar, one that cures, one near its sprouts, carrots, one in no bin, and one of a wrong year.</summary>
    private const string Season = """
        [{"event":"dug","lot":"K","crop":"potato","variety":"Kennebec","weightKg":100,"at":"2025-09-20T12:00:00Z"},
         {"event":"filled","lot":"K","bin":"K1","weightKg":45,"place":"cellar","at":"2025-09-21T12:00:00Z"},
         {"event":"filled","lot":"K","bin":"K2","weightKg":40,"place":"cellar","grade":"table","at":"2025-09-21T12:05:00Z"},
         {"event":"weighed","bin":"K1","weightKg":43.2,"at":"2025-11-10T12:00:00Z"},
         {"event":"dug","lot":"Y","crop":"potato","variety":"Yukon Gold","weightKg":30,"at":"2025-11-16T12:00:00Z"},
         {"event":"filled","lot":"Y","bin":"Y1","weightKg":30,"place":"curing","at":"2025-11-17T12:00:00Z"},
         {"event":"dug","lot":"W","crop":"potato","variety":"Red Norland","weightKg":20,"at":"2025-09-27T12:00:00Z"},
         {"event":"filled","lot":"W","bin":"W1","weightKg":20,"place":"curing","at":"2025-09-28T12:00:00Z"},
         {"event":"dug","lot":"C","crop":"carrot","weightKg":20,"at":"2025-10-10T12:00:00Z"},
         {"event":"filled","lot":"C","bin":"C1","weightKg":20,"place":"cellar","at":"2025-10-11T12:00:00Z"},
         {"event":"dug","lot":"N","crop":"potato","weightKg":20,"at":"2025-11-18T12:00:00Z"},
         {"event":"dug","lot":"Q","crop":"potato","weightKg":5,"checked":true,"at":"2021-10-10T12:00:00Z"},
         {"event":"filled","lot":"Q","bin":"Q1","weightKg":5,"place":"cellar","checked":true,"at":"2021-10-11T12:00:00Z"},
         {"event":"row-planted","row":"upper 3","crop":"potato","at":"2025-05-01T12:00:00Z"}]
        """;

    private static async Task<Site> OpenAsync(string weight = "lb", bool measured = true, string book = Season, Action<Settings>? change = null)
    {
        var site = await Site.OpenAsync(weight, at: Now, change: change, fill: s => measured ? AirAsync(s) : Task.CompletedTask);
        if (book.Length > 0) await site.WriteAsync(book);
        await site.Lots.AdvanceAsync(TestContext.Current.CancellationToken);
        return site;
    }

    private static Task AirAsync(Store store) => store.WriteAsync(c =>
    {
        foreach (var (place, celsius, percent) in new[] { ("curing", 14.0, 91.0), ("cellar", 7.5, 91.0) })
        {
            for (var at = Now.AddDays(-75); at < Now; at = at.AddMinutes(5))
                PlaceRows.SaveAir(c, new PlaceAir(place, at, celsius, percent, 6, 90, null, null, 0, null, AirQuality.Good));
        }
    });

    private static async Task<JsonElement> AheadAsync(Site site, string query = "")
    {
        using var json = JsonDocument.Parse(await site.ReadAsync("/api/ahead" + query));
        return json.RootElement.Clone();
    }

    private static JsonElement Lot(JsonElement ahead, string lot) =>
        ahead.GetProperty("lots").EnumerateArray().Single(l => l.GetProperty("lot").GetString() == lot);

    private static Interval Kg(JsonElement range) =>
        new(range.GetProperty("low").GetDouble(), range.GetProperty("mid").GetDouble(), range.GetProperty("high").GetDouble());

    private static List<Interval> Weights(JsonElement course, string what = "kg") =>
        [.. course.EnumerateArray().Select(s => Kg(s.GetProperty(what)))];

    private static DateTimeOffset? Day(JsonElement when, string which = "likely") =>
        when.GetProperty(which) is { ValueKind: JsonValueKind.String } day ? day.GetDateTimeOffset() : null;

    private static DateTimeOffset? Sprouts(JsonElement course) => Day(course.GetProperty("sprouts"));

    private static DateTimeOffset? Lasts(JsonElement course) => Day(course.GetProperty("lastsUntil").GetProperty("when"));

    /// <summary>The rows of a table, each a list of cells.</summary>
    private static List<string[]> Rows(string page, string table)
    {
        var body = page[page.IndexOf($"<table id=\"{table}\"", StringComparison.Ordinal)..];
        body = body[body.IndexOf("<tbody>", StringComparison.Ordinal)..body.IndexOf("</tbody>", StringComparison.Ordinal)];
        return [.. body.Split("<tr>").Skip(1).Select(r => r.Split("</th>", 2)).Select(r =>
            (string[])[Site.Words(r[0]).Trim(), .. r[1].Split("</td>").SkipLast(1).Select(c => Site.Words(c).Trim())])];
    }

    private static string Said(Show show, Interval kg, double step = 0) =>
        (show.Between(kg, step) is { } between ? $"{show.About(kg, step)} ({between})" : show.About(kg, step)).Replace('\u00A0', ' ');

    [Theory]
    [InlineData("lb")]
    [InlineData("kg")]
    public async Task The_page_says_the_figures_of_the_API(string weight)
    {
        await using var site = await OpenAsync(weight, change: s => s.Household.Temperature = weight == "kg" ? "C" : "F");
        site.Speak();
        var show = site.Services.GetRequiredService<Show>();
        var ahead = await AheadAsync(site, "?holdTemperatureC=3&holdHumidityPercent=95");
        var page = await site.ReadAsync(weight == "kg" ? "/ahead?hold=3&humidity=95&unit=C" : "/ahead?hold=37.4&humidity=95&unit=F");
        var words = Site.Words(page);
        words.Should().Contain(weight == "kg" ? "if held at 3 °C and 95 %" : "if held at 37.4 °F and 95 %");

        var cellar = ahead.GetProperty("cellar");
        foreach (var (figure, table) in new[] { ("kg", "ahead-weight"), ("lastsKg", "ahead-lasting") })
        {
            var (now, held) = (Weights(cellar.GetProperty("present"), figure), Weights(cellar.GetProperty("held"), figure));
            Rows(page, table).Select(r => r[1] + " / " + r[2]).Should().Equal(now.Select((kg, i) => Said(show, kg) + " / " + Said(show, held[i])));
        }

        var lots = ahead.GetProperty("lots").EnumerateArray().ToList();
        lots.Should().HaveCount(4);
        for (int n = 0; n < lots.Count; n++)
        {
            var (name, present, held) = (lots[n].GetProperty("lot").GetString(), lots[n].GetProperty("present"), lots[n].GetProperty("held"));
            var rows = Rows(page, $"ahead-lot-{n + 1}");
            var told = Weights(present.GetProperty("steps"));
            rows.Count.Should().BeGreaterThanOrEqualTo(told.Count);
            for (int i = 0; i < told.Count; i++) rows[i][1].Should().Be(Said(show, told[i], 0.1), "lot {0}, week {1}", name, i);
            words.Should().Contain($"Lot {name}");
            if (Lasts(held) is { } ends) words.Should().Contain(show.Day(ends));
            if (Lasts(present) is { } end) words.Should().Contain(show.Day(end));
        }
    }

    [Fact]
    public async Task It_starts_from_the_present_interval_and_opens()
    {
        await using var site = await OpenAsync();
        var ahead = await AheadAsync(site);
        ahead.GetProperty("cellar").GetProperty("held").ValueKind.Should().Be(JsonValueKind.Null, "no air was asked about");
        double[] sum = [0, 0, 0];
        foreach (var lot in ahead.GetProperty("lots").EnumerateArray())
        {
            var name = lot.GetProperty("lot").GetString();
            using var json = JsonDocument.Parse(await site.ReadAsync("/api/lots/" + name));
            var now = Kg(json.RootElement.GetProperty("estimate").GetProperty("estimateKg"));
            var weights = Weights(lot.GetProperty("present").GetProperty("steps"));
            (weights[0].Low, weights[0].Value, weights[0].High).Should().BeEquivalentTo(
                (now.Low, now.Value, now.High), o => o.Using<double>(c => c.Subject.Should().BeApproximately(c.Expectation, 0.006)).WhenTypeIs<double>());
            foreach (var (before, after) in weights.Zip(weights.Skip(1)))
            {
                after.Value.Should().BeLessThan(before.Value);
                ((after.High - after.Low) / after.Value).Should()
                    .BeGreaterThanOrEqualTo(((before.High - before.Low) / before.Value) - 1e-4, "lot {0}", name);
            }

            (weights[^1].High - weights[^1].Low).Should().BeGreaterThan(1.1 * (now.High - now.Low), "lot {0} opens", name);
            (sum[0], sum[1], sum[2]) = (sum[0] + now.Low, sum[1] + now.Value, sum[2] + now.High);
        }

        // The bin nobody follows weighs what the book says; ends are added up, for what lots share does not average out.
        var all = Weights(ahead.GetProperty("cellar").GetProperty("present"));
        all[0].Low.Should().BeApproximately(sum[0] + 5, 0.05);
        all[0].Value.Should().BeApproximately(sum[1] + 5, 0.05);
        all[0].High.Should().BeApproximately(sum[2] + 5, 0.05);
    }

    [Fact]
    public async Task A_day_ahead_weighs_what_Stock_says_of_it()
    {
        await using var site = await OpenAsync();
        var ahead = await AheadAsync(site);
        var potatoes = ahead.GetProperty("crops").EnumerateArray().Single(c => c.GetProperty("crop").GetString() == "potato")
            .GetProperty("present");
        foreach (int week in (int[])[1, 5, 20])
        {
            var on = potatoes[week].GetProperty("on").GetString();
            using var stock = JsonDocument.Parse(await site.ReadAsync("/api/stock?on=" + on));
            var line = stock.RootElement.GetProperty("crops").EnumerateArray().Single(c => c.GetProperty("crop").GetString() == "potato");
            Kg(potatoes[week].GetProperty("kg")).Should().Be(Kg(line.GetProperty("expectedKg")), "on {0}", on);
        }
    }

    [Fact]
    public async Task Sprouts_and_lasts_until_are_those_of_the_lots_page_and_of_to_do()
    {
        await using var site = await OpenAsync();
        site.Speak();
        var show = site.Services.GetRequiredService<Show>();
        var ahead = await AheadAsync(site);
        foreach (var lot in ahead.GetProperty("lots").EnumerateArray())
        {
            var (name, present) = (lot.GetProperty("lot").GetString()!, lot.GetProperty("present"));
            using var json = JsonDocument.Parse(await site.ReadAsync("/api/lots/" + name));
            var estimate = json.RootElement.GetProperty("estimate");
            estimate.GetProperty("lastsUntil").GetRawText().Should().Be(present.GetProperty("lastsUntil").GetRawText());
            var (page, here) = (await site.WordsAsync("/lots/" + name), await site.WordsAsync("/ahead?lot=" + name));
            page.Should().MatchRegex($"Lasts until {Regex.Escape(End(present))}");
            here.Should().MatchRegex($"Lasts until {Regex.Escape(End(present))}");
            (await site.ReadAsync("/lots/" + name)).Should().Contain($"href=\"/ahead?lot={name}\"");
            if (name == "C") continue;
            estimate.GetProperty("peeping").GetRawText().Should().Be(present.GetProperty("sprouts").GetRawText());
            page.Should().Contain($"Sprouts show {show.Day(Sprouts(present)!.Value)}");
            here.Should().Contain($"Sprouts show {show.Day(Sprouts(present)!.Value)}");
        }

        // The one in the warm is to sprout within four weeks, and To do names the day.
        var near = Sprouts(Lot(ahead, "W").GetProperty("present"))!.Value;
        near.Should().BeAfter(Now).And.BeBefore(Now.AddDays(28));
        (await site.WordsAsync("/bins/W1")).Should().Contain(show.Day(near));
        (await site.WordsAsync("/lots/W")).Should().Contain(show.Day(near));

        string End(JsonElement present) => Lasts(present) is { } end
            ? end <= Now ? "over by now" : show.Day(end)
            : "later than " + show.Day(DateOnly.Parse(ahead.GetProperty("until").GetString()!, CultureInfo.InvariantCulture));
    }

    [Fact]
    public async Task Held_colder_it_sprouts_later_and_lasts_longer_and_held_drier_it_weighs_less()
    {
        await using var site = await OpenAsync();
        var (cold, warm) = (await AheadAsync(site, "?holdTemperatureC=3.5&holdHumidityPercent=95"),
            await AheadAsync(site, "?holdTemperatureC=12&holdHumidityPercent=95"));
        foreach (var name in (string[])["K", "Y", "W"])
        {
            var (c, w) = (Lot(cold, name).GetProperty("held"), Lot(warm, name).GetProperty("held"));
            Sprouts(c).Should().BeAfter(Sprouts(w)!.Value, "lot {0}", name);
            (Lasts(c) ?? DateTimeOffset.MaxValue).Should().BeAfter(Lasts(w)!.Value, "lot {0}", name);
            Lot(cold, name).GetProperty("present").GetRawText().Should().Be(Lot(warm, name).GetProperty("present").GetRawText());
        }

        // What cures, cures first: it is fit to move when it is, whatever comes after.
        Lot(cold, "Y").GetProperty("held").GetProperty("fitOn").GetRawText().Should()
            .Be(Lot(warm, "Y").GetProperty("held").GetProperty("fitOn").GetRawText());
        var (damp, dry) = (await AheadAsync(site, "?holdTemperatureC=5&holdHumidityPercent=95"),
            await AheadAsync(site, "?holdTemperatureC=5&holdHumidityPercent=70"));
        Weights(Lot(dry, "K").GetProperty("held").GetProperty("steps"))[4].Value.Should()
            .BeLessThan(Weights(Lot(damp, "K").GetProperty("held").GetProperty("steps"))[4].Value);
        Lasts(Lot(dry, "C").GetProperty("held")).Should().BeBefore(Lasts(Lot(damp, "C").GetProperty("held"))!.Value);

        // Air that is said is surer than the weather to come.
        static double Width(JsonElement range) => Kg(range).High - Kg(range).Low;
        var as7 = (await AheadAsync(site, "?holdTemperatureC=7.5&holdHumidityPercent=91")).GetProperty("lots").EnumerateArray()
            .Single(l => l.GetProperty("lot").GetString() == "K");
        Width(as7.GetProperty("held").GetProperty("steps")[10].GetProperty("kg")).Should()
            .BeLessThan(Width(as7.GetProperty("present").GetProperty("steps")[10].GetProperty("kg")));
    }

    [Fact]
    public async Task Air_that_harms_is_named_where_it_is_shown()
    {
        await using var site = await OpenAsync();
        var words = await site.WordsAsync("/ahead?hold=28&humidity=92&unit=F");
        words.Should().Contain("Potato may freeze at 28.0 °F").And.Contain("it would freeze");
        var frozen = Lot(await AheadAsync(site, "?holdTemperatureC=-2&holdHumidityPercent=92"), "K");
        frozen.GetProperty("held").GetProperty("lastsUntil").GetProperty("by").GetString().Should().Be("frost");
        frozen.GetProperty("heldCautions")[0].GetString().Should().Be("freezes");
        (await site.WordsAsync("/ahead?hold=36&humidity=92&unit=F")).Should().Contain("Potato: below 38.0 °F cold hurts it");

        words = await site.WordsAsync("/ahead");
        words.Should().Contain(Caution).And.Contain("Rot, mold, mice and taste are not foreseen")
            .And.Contain("does not say whether a lot is fit to eat");
        (await site.WordsAsync("/ahead?lot=C")).Should().NotContain(Caution, "it is of potatoes").And.Contain("Lasts until");
    }

    [Fact]
    public async Task What_cannot_be_held_is_said_and_what_was_typed_stays()
    {
        await using var site = await OpenAsync();
        foreach (var (query, says) in new[]
        {
            ("hold=4l&humidity=92", "'4l' is not a number"), ("hold=40&humidity=damp", "'damp' is not a number"),
            ("hold=40&humidity=", "Both, please"), ("hold=400&humidity=92", "Write a temperature of"),
            ("hold=40&humidity=120", "a humidity of 1 to 100"), ("hold=NaN&humidity=92", "Write a temperature of"),
        })
        {
            var page = await site.ReadAsync("/ahead?" + query);
            Site.Words(page).Should().Contain(says, query).And.NotContain("if held at");
            var typed = query.Split('&').Select(f => f.Split('=')[1]).ToList();
            (Site.Field(page, "hold"), Site.Field(page, "humidity")).Should().Be((typed[0], typed[1]));
        }

        (await site.WordsAsync("/ahead?hold=4.5C&humidity=92 %")).Should().Contain("if held at 40.1 °F and 92 %", "a unit may be written");
        var kept = await site.ReadAsync("/ahead");
        (Site.Field(kept, "hold"), Site.Field(kept, "humidity"), Site.Field(kept, "unit")).Should().Be(("40", "92", "F"));

        foreach (var query in (string[])["?holdTemperatureC=4", "?holdHumidityPercent=92", "?holdTemperatureC=400&holdHumidityPercent=92",
            "?holdTemperatureC=NaN&holdHumidityPercent=92", "?holdTemperatureC=4&holdHumidityPercent=0", "?holdTemperatureC=x&holdHumidityPercent=92"])
        {
            var answer = await site.LookAsync("/api/ahead" + query);
            answer.Status.Should().Be(HttpStatusCode.BadRequest, query);
            answer.Html.Should().Contain("\"detail\"").And.Contain("holdTemperatureC", query);
        }
    }

    [Fact]
    public async Task Before_there_is_anything_it_says_what_to_do_next()
    {
        await using var empty = await OpenAsync(book: "");
        (await empty.WordsAsync("/ahead")).Should().Contain("Nothing is in bins").And.Contain("Fill a bin").And.NotContain("If you held it at");
        (await AheadAsync(empty)).GetProperty("lots").GetArrayLength().Should().Be(0);
        (await empty.LookAsync("/ahead?lot=nobody")).Status.Should().Be(HttpStatusCode.NotFound);

        await using var site = await OpenAsync(measured: false);
        var words = await site.WordsAsync("/ahead");
        words.Should().ContainAll(
            "Harvested, and in no bin", "Fill a bin from lot N", "Not harvested yet: upper 3", "Not tracked", "Lot Q",
            "Nothing is known of the air here over the last three days", "Check the sensors");
        var ahead = await AheadAsync(site);
        Lot(ahead, "K").GetProperty("airAssumed").GetBoolean().Should().BeTrue();
        ahead.GetProperty("notFollowed")[0].GetProperty("why").GetString().Should().Contain("2021-10-10");
        ahead.GetProperty("notInBins")[0].GetString().Should().Be("N");
        (await site.WordsAsync("/ahead?lot=Q")).Should().Contain("Nothing is ahead of lot Q");
    }

    [Fact]
    public async Task Every_chart_of_the_page_is_drawn_and_its_words_are_its_text()
    {
        await using var site = await OpenAsync();
        var page = await site.ReadAsync("/ahead");
        var pictures = Regex.Matches(page, "<img src=\"(?<at>/charts/ahead/[^\"]*)\"", RegexOptions.ExplicitCapture, TimeSpan.FromSeconds(5))
            .Select(m => WebUtility.HtmlDecode(m.Groups["at"].Value)).ToList();
        pictures.Should().HaveCount(6, "two of the cellar and one of each lot");
        foreach (var picture in pictures)
        {
            (await site.ReadAsync(picture)).Should().StartWith("<svg").And.Contain(">lb</text>").And.Contain(">0</text>", "pounds from zero");
        }

        page.Should().Contain("href=\"/ahead\" aria-current=\"page\"");
        Site.Words(page).Should().MatchRegex("Weight ahead: about [0-9,.]+ lb now, about .* Held at 40 °F and 92 % it would be about");
        (await site.LookAsync("/charts/ahead/lots/nobody.svg")).Status.Should().Be(HttpStatusCode.NotFound);
    }

    [Fact]
    public async Task Whoever_is_signed_in_may_look_ahead_and_nobody_else()
    {
        await using var site = await OpenAsync();
        using var stranger = new Visitor(site);
        using var sam = await Visitor.HelperAsync(site);
        using var log = await Visitor.TokenAsync(site, Tokens.MayLog);
        (await stranger.GetAsync("/api/ahead")).Status.Should().Be(HttpStatusCode.Unauthorized);
        (await stranger.GetAsync("/ahead")).Status.Should().Be(HttpStatusCode.Found, "to the sign-in page");
        foreach (var path in (string[])["/ahead", "/ahead?hold=38&humidity=90", "/charts/ahead/cellar/weight.svg"])
            (await sam.GetAsync(path)).Status.Should().Be(HttpStatusCode.OK, path);
        (await log.GetAsync("/api/ahead")).Status.Should().Be(HttpStatusCode.OK);
    }
}
