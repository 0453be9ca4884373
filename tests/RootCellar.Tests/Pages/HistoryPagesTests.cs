using System.Text.Json;
using RootCellar.Places;
using RootCellar.Storage;

namespace RootCellar.Tests.Pages;

public class HistoryPagesTests
{
    private static async Task<Site> WithAirAsync(double days = 9, int gapFrom = -1, int gapTo = -1, double ahead = 0)
    {
        var site = await Site.OpenAsync();
        var now = site.Time.GetUtcNow();
        var begin = now.AddDays(-days);
        await site.Store.WriteAsync(c =>
        {
            int i = 0;
            for (var at = begin; at < now.AddDays(ahead); at = at.AddMinutes(5), i++)
            {
                if (i >= gapFrom && i < gapTo) continue;
                double t = i == 100 ? 25 : 14;
                PlaceRows.SaveAir(c, new PlaceAir("curing", at, t, 90, 12.4, 160, 13.5, 13.4, null, null, AirQuality.Good));
            }
        });
        return site;
    }

    [Fact]
    public async Task A_place_tells_its_air_in_charts_words_and_figures()
    {
        await using var site = await WithAirAsync();
        var page = await site.ReadAsync("/places/curing?range=week");
        var words = Site.Words(page);
        words.Should().ContainAll("Curing room", "Vapour pressure deficit", "In the produce", "57.2 °F to ", "The same in figures",
            "57.2 °F", "90.0 %");
        foreach (var key in (string[])["air", "deficit", "pulp"])
            page.Should().Contain($"/charts/places/curing/{key}.svg?from=");
        page.Should().NotContain("/charts/places/curing/light.svg", "nobody measures it there");
        var address = System.Net.WebUtility.HtmlDecode(
            page[page.IndexOf("/charts/places/curing/air.svg", StringComparison.Ordinal)..].Split('"')[0]);
        var svg = await site.ReadAsync(address);
        svg.Should().StartWith("<svg").And.Contain("fill=\"#00A050\"").And.Contain(">°F</text>").And.Contain(">%</text>")
            .And.Contain("highest").And.Contain("lowest");
    }

    [Fact]
    public async Task A_day_has_every_reading_and_a_gap_stays_empty()
    {
        await using var site = await WithAirAsync(1, gapFrom: 120, gapTo: 180);
        var page = await site.ReadAsync("/places/curing?range=day");
        Site.Words(page).Should().Contain("to 77.0 °F").And.Contain("Without readings for about 5 h");
        // A table of 288 pieces less the 60 nobody measured.
        System.Text.RegularExpressions.Regex.Count(page, "<th scope=\"row\">", System.Text.RegularExpressions.RegexOptions.None,
            TimeSpan.FromSeconds(5)).Should().Be(228);
        Site.Words(page).Should().Contain("Out of the band for about 5 min");
    }

    [Fact]
    public async Task Time_out_of_the_band_is_the_same_whatever_is_drawn_and_in_the_report()
    {
        await using var site = await Site.OpenAsync();
        var now = site.Time.GetUtcNow();
        // Every third piece of five minutes of one night, so that means over an hour or a day hide it.
        await site.Store.WriteAsync(c =>
        {
            for (int i = 0; i < 40 * 288; i++)
            {
                double t = i is >= 12 and < 120 && i % 3 == 0 ? 25 : 14;
                PlaceRows.SaveAir(c, new PlaceAir("curing", now.AddMinutes(-5 * (i + 1)), t, 90, 12.4, 160, 13.5, 13.4, null, null,
                    AirQuality.Good));
            }
        });
        site.Time.Advance(TimeSpan.FromMinutes(1));
        foreach (var range in (string[])["day", "week", "month", "season"])
            (await site.WordsAsync("/places/curing?range=" + range)).Should().Contain("Out of the band for about 3 h", range);
        using var report = JsonDocument.Parse(await site.ReadAsync("/api/report?week=2025-W40"));
        report.RootElement.GetProperty("places").EnumerateArray().Single(p => p.GetProperty("place").GetString() == "curing")
            .GetProperty("temperatureC").GetProperty("above").GetProperty("hours").GetDouble().Should().Be(3);
    }

    [Fact]
    public async Task Days_may_be_chosen_and_nonsense_is_said_to_be()
    {
        await using var site = await WithAirAsync();
        var own = await site.ReadAsync("/places/curing?from=2025-09-28&to=2025-09-29");
        own.Should().Contain("from=2025-09-28T04:00:00Z&amp;to=2025-09-30T04:00:00Z");
        Site.Field(own, "from").Should().Be("2025-09-28");
        Site.Field(own, "to").Should().Be("2025-09-29");
        (await site.WordsAsync("/places/curing?from=2025-09-29&to=2025-09-28")).Should().Contain("These two days make no time to show");
        (await site.WordsAsync("/places/curing?from=yesterday")).Should().Contain("These two days make no time to show");
        (await site.WordsAsync("/places/yard")).Should().Contain("No sensor is in this place");
    }

    [Fact]
    public async Task A_lot_tells_where_all_of_it_is_and_a_weigh_in_is_a_point()
    {
        await using var site = await WithAirAsync(1, ahead: 6);
        await site.FillAsync(variety: "<b>Kenne</b>", lot: "L/1");
        site.Time.Advance(TimeSpan.FromDays(3));
        await site.LogAsync("weighed", "B1", ("amount", "48.5"));
        await site.LogAsync("sold", "B1", ("amount", "10"), ("unit", "lb"), ("note", "<i>market</i>"));
        site.Time.Advance(TimeSpan.FromDays(2));
        await site.Lots.AdvanceAsync(TestContext.Current.CancellationToken);
        (await site.ReadAsync("/lots/L%2F1")).Should().Contain("href=\"/lots/L%2F1?range=season#over-time\"").And.NotContain("<figure");
        var page = await site.ReadAsync("/lots/L%2F1?range=season");
        page.Should().NotContain("<b>Kenne").And.NotContain("<i>market");
        var words = Site.Words(page);
        words.Should().ContainAll(
            "Lot L/1", "<b>Kenne</b>", "Dug 50.0 lb", "On hand by the book 38.5 lb", "Sold 10.0 lb", "Shrink, by the scale 1.5 lb",
            "Weight, as estimated", "Healing, as days at 68 °F", "Shrink since filling",
            "Rest used", "weighed 48.5 lb", "Weighed: 48.5 lb", "The air it had");
        var svg = await site.ReadAsync(
            System.Net.WebUtility.HtmlDecode(page[page.IndexOf("/charts/lots/L%2F1/weight.svg", StringComparison.Ordinal)..]
                .Split('"')[0]));
        svg.Should().Contain("#A000A0", "the weigh-in is a point").And.Contain("class=\"entry\"");
        svg.Should().Contain("class=\"lamp\"", "the past ends at the lantern, and what is ahead goes on from there");
        words.Should().MatchRegex(@"Weight, as estimated: lowest about 3\d lb \(\d\d to \d\d lb\)").And.NotContain("The last may be anything from 3")
            .And.MatchRegex(@"Dashed: as it goes on, if nothing is taken out: about 3[\d.]+ lb \(3[\d.]+ to [\d.]+ lb\) on Nov 6\.");
        foreach (var (from, to, goesOn) in new[] { ("2025-09-27", "2025-10-01", false), ("2025-10-08", "2025-10-10", false) })
            (await site.WordsAsync($"/lots/L%2F1?from={from}&to={to}")).Contains("Dashed:", StringComparison.Ordinal).Should().Be(goesOn, from);
        (await site.WordsAsync("/lots/L%2F1?range=season&bin=B1")).Should().NotContain("Dashed:", "what is ahead is told of the whole lot");
        (await site.ReadAsync("/bins/B1")).Should().Contain("href=\"/lots/L%2F1\"");
        (await site.ReadAsync("/")).Should().Contain("href=\"/places/curing\"");
    }

    [Fact]
    public async Task A_lot_in_no_bin_says_what_to_do()
    {
        await using var site = await Site.OpenAsync();
        await site.LogAsync("dug", null, ("lot", "new"), ("crop", "potato"));
        (await site.WordsAsync("/lots/new")).Should()
            .Contain("It is in no bin yet").And.Contain("Charts begin when a first bin is filled");
    }

    [Theory]
    [InlineData("/lots/nothing", "The book has no lot 'nothing'")]
    [InlineData("/places/nowhere", "There is no place 'nowhere'")]
    [InlineData("/not/a/page", "The address leads nowhere")]
    public async Task What_is_not_there_is_said_on_a_page(string path, string says)
    {
        await using var site = await Site.OpenAsync();
        var answer = await site.LookAsync(path);
        answer.Status.Should().Be(System.Net.HttpStatusCode.NotFound);
        answer.Words.Should().Contain(says).And.Contain("Now");
    }

    [Fact]
    public async Task A_form_that_went_stale_is_answered_with_a_page_of_words()
    {
        await using var site = await Site.OpenAsync();
        var answer = await site.SendAsync("/log/dug", "<input name=\"__RequestVerificationToken\" value=\"stale\">", ("lot", "L"),
            ("crop", "potato"));
        answer.Status.Should().Be(System.Net.HttpStatusCode.BadRequest);
        answer.Words.Should().Contain("That could not be read").And.Contain("Nothing was changed");
        site.Book.Entries.Should().BeEmpty();
    }

    [Fact]
    public async Task The_history_of_a_lot_by_program()
    {
        await using var site = await WithAirAsync(1, ahead: 6);
        await site.FillAsync();
        site.Time.Advance(TimeSpan.FromDays(5));
        await site.Lots.AdvanceAsync(TestContext.Current.CancellationToken);
        using var answer = JsonDocument.Parse(await site.ReadAsync("/api/lots/2025-1/history?step=12h"));
        var moments = answer.RootElement.GetProperty("moments").EnumerateArray().ToList();
        moments.Count.Should().BeInRange(10, 13);
        var last = moments[^1];
        last.GetProperty("bookKg").GetDouble().Should().Be(22.68);
        last.GetProperty("estimateKg").GetProperty("low").GetDouble().Should()
            .BeLessThan(last.GetProperty("estimateKg").GetProperty("mid").GetDouble());
        last.GetProperty("healingDays").GetDouble().Should().BeGreaterThan(moments[1].GetProperty("healingDays").GetDouble());
        answer.RootElement.GetProperty("healingDaysTo").GetProperty("adequate").GetDouble().Should().BeGreaterThan(0);
        (await site.LookAsync("/api/lots/2025-1/history?step=5m")).Status.Should().Be(System.Net.HttpStatusCode.BadRequest);
        (await site.LookAsync("/api/lots/none/history")).Status.Should().Be(System.Net.HttpStatusCode.NotFound);
    }
}
