using System.Net;
using Microsoft.Extensions.DependencyInjection;
using RootCellar.Monitoring;
using RootCellar.Places;
using RootCellar.Storage;

namespace RootCellar.Tests.Pages;

public class StockPagesTests
{
    [Fact]
    public async Task Before_anything_is_in_bins_the_page_says_how_to_begin()
    {
        await using var site = await Site.OpenAsync();
        (await site.WordsAsync("/stock")).Should().Contain("There is nothing in bins. Fill a first bin").And.Contain(
            "Nothing is promised. Write down an order");
        (await site.WordsAsync("/")).Should().Contain("To do").And.Contain("It begins in the field.");
        (await site.WordsAsync("/log/moved")).Should().Contain("No bins with anything in them yet");
    }

    [Fact]
    public async Task What_there_is_less_what_is_promised_stands_by_grade_and_seed_stands_apart()
    {
        await using var site = await Site.OpenAsync();
        await site.FillAsync("B1", "100");
        await site.FillAsync("B2", "60");
        await site.LogAsync("sorted", "B1", ("intoBin", "B1"), ("intoAmount", "70"), ("intoGrade", "table"), ("intoBin", "S1"),
            ("intoAmount", "30"), ("intoGrade", "seed"));
        (await PromiseAsync(site, "Harvest supper", "40", "table")).Should().Be("/stock?kept=5");
        await PromiseAsync(site, "School", "30", "");
        var words = await site.WordsAsync("/stock?kept=5");
        words.Should().Contain("Written down: Promised: 40.0 lb, Potato, grade table, order Harvest supper");
        words.Should().Contain("table bins: 1 70 lb 40 lb 30 lb").And.Contain("no grade given bins: 1 60 lb – 60 lb").And.Contain(
            "all grades bins: 2 130 lb 70 lb 60 lb").And.Contain("seed, kept apart bins: 1 30 lb – 30 lb");

        // What only seed could meet is not met.
        await PromiseAsync(site, "Inn", "80", "");
        words = await site.WordsAsync("/stock");
        words.Should().Contain("all grades bins: 2 130 lb 150 lb ✗ short by 20 lb").And.Contain("Not enough: about 20 lb");
        words.Should().NotContain("S1 ·");
    }

    [Fact]
    public async Task What_is_promised_for_later_is_not_free_today_and_short_is_short_from_the_day_it_is_known()
    {
        await using var site = await Site.OpenAsync();
        await site.FillAsync("B1", "100");
        await PromiseAsync(site, "Christmas market", "80", "", due: "2026-03-20");
        (await site.WordsAsync("/stock")).Should().Contain("all of it bins: 1 100 lb 80 lb 20 lb");
        await PromiseAsync(site, "Inn", "50", "", due: "2026-04-01");
        (await site.WordsAsync("/stock")).Should().MatchRegex("all of it bins: 1 100 lb 130 lb ✗ short by (about )?3[0-9] lb").And.Contain(
            "Not enough: about");

        site.Time.Advance(TimeSpan.FromHours(3));
        await site.Lots.AdvanceAsync(TestContext.Current.CancellationToken);
        using var json = System.Text.Json.JsonDocument.Parse(await site.ReadAsync("/api/stock"));
        var crop = json.RootElement.GetProperty("crops")[0];
        crop.GetProperty("promisedKg").GetDouble().Should().BeApproximately(130 * Science.Pound.Kilograms, 0.01);
        crop.GetProperty("lessPromisedKg").GetDouble().Should().BeApproximately(-30 * Science.Pound.Kilograms, 0.5);
        var unmet = json.RootElement.GetProperty("promises").EnumerateArray().Sum(p => p.GetProperty("shortKg").GetDouble());
        unmet.Should().BePositive();
        crop.GetProperty("shortKg").GetDouble().Should()
            .BeApproximately(Math.Max(unmet, -crop.GetProperty("lessPromisedKg").GetDouble()), 0.01);

        using var report = System.Text.Json.JsonDocument.Parse(await site.ReadAsync("/api/report?week=2025-W40"));
        report.RootElement.GetProperty("promisesAtRisk").EnumerateArray().Sum(p => p.GetProperty("shortKg").GetDouble()).Should()
            .BeApproximately(unmet, 0.5);
        report.RootElement.GetProperty("jobs").GetRawText().Should().Contain("Inn", "half a year ahead it can still be mended");
    }

    [Fact]
    public async Task An_order_is_promised_sold_from_its_bin_and_folded_away_when_it_is_met()
    {
        await using var site = await Site.OpenAsync();
        await site.FillAsync("B1", "50");
        await PromiseAsync(site, "Inn & <b>bar</b>", "20", "", due: "2025-10-05");
        await PromiseAsync(site, "Fair", "10", "", due: "2025-12-24");
        site.Time.Advance(TimeSpan.FromDays(3));
        var html = await site.ReadAsync("/stock");
        html.Should().NotContain("<b>bar").And.Contain(
            "href=\"/log/sold?bin=B1&amp;order=Inn%20%26%20%3Cb%3Ebar%3C%2Fb%3E&amp;back=stock\"");
        var words = Site.Words(html);
        words.Should().Contain("! was due Oct 5, 2 days ago").And.Contain("It can be met");
        words.IndexOf("was due", StringComparison.Ordinal).Should()
            .BeLessThan(words.IndexOf("Fair", StringComparison.Ordinal), "the late one stands first");

        var form = await site.ReadAsync("/log/sold?bin=B1&order=Inn%20%26%20%3Cb%3Ebar%3C%2Fb%3E&back=stock");
        Site.Field(form, "order").Should().Be("Inn & <b>bar</b>");
        Site.Field(form, "back").Should().Be("stock");
        (await site.SendAsync("/log/sold", form, ("bin", "B1"), ("amount", "8"), ("unit", "lb"), ("order", "Inn & <b>bar</b>"),
            ("back", "stock"))).Location.Should().Be("/stock?kept=5");
        (await site.WordsAsync("/stock")).Should().Contain("8 lb of 20 lb have gone out").And.Contain("12 lb Potato");
        form = await site.ReadAsync("/log/sold?bin=B1&back=stock");
        await site.SendAsync("/log/sold", form, ("bin", "B1"), ("amount", "12"), ("unit", "lb"), ("order", "Inn & <b>bar</b>"),
            ("back", "stock"));
        (await site.WordsAsync("/stock")).Should().Contain("Filled or canceled: 1").And.NotContain("was due");
    }

    [Fact]
    public async Task A_promise_is_changed_and_called_off_and_the_first_stays_in_the_book()
    {
        await using var site = await Site.OpenAsync();
        await site.FillAsync("B1", "50");
        await PromiseAsync(site, "Inn", "20", "table", due: "2025-12-01");
        (await site.ReadAsync("/stock")).Should().Contain("href=\"/log/correct/3?back=/stock\"");
        var form = await site.ReadAsync("/log/correct/3?back=/stock");
        (Site.Field(form, "order"), Site.Field(form, "amount"), Site.Field(form, "grade"), Site.Field(form, "due")).Should()
            .Be(("Inn", "20", "table", "2025-12-01"));
        (string, string)[] typed =
            [("order", "Inn"), ("crop", "potato"), ("grade", ""), ("amount", "25"), ("unit", "lb"), ("due", "2025-12-08"),
                ("when", Site.Field(form, "when")), ("seen", Site.Field(form, "seen")), ("back", "/stock")];
        var changed = await site.SendAsync("/log/correct/3", form, typed);
        changed.Location.Should().Be("/stock?kept=4", changed.Words);
        var promise = site.Book.Orders.Single();
        (promise.Grams, promise.Grade, promise.Due).Should().Be((11_340, null, new DateOnly(2025, 12, 8)));
        site.Entries.Should().Equal("dug", "filled", "promised", "correction of 3");

        await site.LogAsync("sold", "B1", ("amount", "10"), ("unit", "lb"), ("order", "Inn"));
        var page = await site.ReadAsync("/stock");
        (await site.SendAsync("/stock?handler=CallOff", page, ("id", "3"))).Location.Should().Be("/stock?kept=6");
        site.Book.Orders.Single().OpenGrams.Should().Be(0, "what has gone out stays sold to that order");
        site.Book.Outs.Single().Order.Should().Be("Inn");
        (await site.SendAsync("/log/undo/6", await site.ReadAsync("/stock?kept=6"), ("back", "/stock"))).Location.Should()
            .Be("/stock?kept=7");
        site.Book.Orders.Single().OpenGrams.Should().Be(11_340 - 4_536, "undo brings it back");

        await PromiseAsync(site, "Fair", "5", "");
        await site.SendAsync("/stock?handler=CallOff", await site.ReadAsync("/stock"), ("id", "8"));
        site.Book.Orders.Should().ContainSingle("of the other nothing had gone out, so it is taken back whole");
        (await site.SendAsync("/stock?handler=CallOff", page, ("id", "2"))).Status.Should()
            .Be(HttpStatusCode.NotFound, "a filling is no promise");
        (await site.SendAsync("/stock?handler=CallOff", "", ("id", "3"))).Status.Should()
            .Be(HttpStatusCode.BadRequest, "without the form's token nothing is written");
    }

    [Theory]
    [InlineData("soon", "'soon' is not a date")]
    [InlineData("2025-10-01", "A day from Oct 4 to")]
    [InlineData("2031-01-01", "A day from Oct 4 to")]
    public async Task A_day_that_cannot_be_reckoned_is_said(string on, string said)
    {
        await using var site = await Site.OpenAsync();
        await site.FillAsync();
        (await site.WordsAsync("/stock?on=" + on)).Should().Contain(said).And.Contain("There is today");
    }

    [Fact]
    public async Task What_there_will_be_is_less_than_there_is_and_says_how_sure_that_is()
    {
        await using var site = await Site.OpenAsync();
        await site.FillAsync("B1", "400");
        site.Time.Advance(TimeSpan.FromDays(5));
        await site.Lots.AdvanceAsync(TestContext.Current.CancellationToken);
        var words = await site.WordsAsync("/stock?on=2025-12-31");
        words.Should().Contain("On the shelf Dec 31").And.MatchRegex(
            "all of it bins: 1 about 3[0-9]5|all of it bins: 1 about 3[0-9]0").And.MatchRegex("at least 3[0-9]{2} lb");
        var on = await site.WordsAsync("/bins");
        on.Should().MatchRegex("B1 about 39[0-9](\\.5)? lb 3[89][0-9]").And.Contain("use first: no. 1");
    }

    [Fact]
    public async Task Several_bins_are_moved_in_one_go_and_taken_back_in_one_go()
    {
        await using var site = await Site.OpenAsync();
        foreach (var bin in (string[])["B1", "B2", "B10"]) await site.FillAsync(bin);
        var form = await site.ReadAsync("/log/moved?lot=2025-1");
        form.Split("checked=\"checked\"").Should().HaveCount(4, "the bins of the lot are ticked");
        (string, string)[] typed = [("bin", "B1"), ("bin", "B10"), ("several", "true"), ("place", "cellar")];
        (await site.SendAsync("/log/moved", form, typed)).Location.Should().Be("/log/moved?kept=5&count=2");
        (await site.SendAsync("/log/moved", form, typed)).Location.Should().Be("/log/moved?kept=5&count=2", "sent twice it counts once");
        (site.Book.Bins["B1"].Place, site.Book.Bins["B2"].Place, site.Book.Bins["B10"].Place).Should().Be(("cellar", "curing", "cellar"));
        var done = await site.ReadAsync("/log/moved?kept=5&count=2");
        Site.Words(done).Should().Contain("Written down: Moved: 2 to Cellar: B1, B10");

        var asked = await site.SendAsync("/log/moved", await site.ReadAsync("/log/moved?bin=B1&bin=B2"), ("bin", "B1"), ("bin", "B2"),
            ("several", "true"), ("place", "cellar"));
        asked.Words.Should().Contain("Bin B1 is in Cellar already by the book");
        site.Book.Bins["B2"].Place.Should().Be("curing", "all of it or nothing");

        (await site.SendAsync("/log/moved?handler=Undo", done, ("first", "5"), ("count", "2"))).Location.Should()
            .Be("/log/moved?kept=7&count=2");
        site.Book.Bins["B10"].Place.Should().Be("curing");
        (await site.WordsAsync("/log/moved?kept=7&count=2")).Should().Contain("Taken back: 2 moves to Cellar: B1, B10");
        (await site.SendAsync("/log/moved", form, ("several", "true"), ("place", "cellar"), ("key", "other"))).Words.Should()
            .Contain("Which bins? Tick at least one.");
    }

    [Fact]
    public async Task A_bin_that_was_scanned_is_moved_with_one_tap_to_where_its_lot_went()
    {
        await using var site = await Site.OpenAsync();
        await site.FillAsync("B1");
        await site.FillAsync("B2");
        var page = await site.ReadAsync("/bins/B1");
        Site.Words(page).Should().Contain("Move it to Cellar");
        (await site.SendAsync("/log/moved", page, ("bin", "B1"), ("place", "cellar"))).Location.Should().Be("/bins/B1?kept=4");
        site.Book.Bins["B1"].Place.Should().Be("cellar");
        (await site.WordsAsync("/bins/B1")).Should().NotContain("Move it to", "it is where it is kept");
        (await site.ReadAsync("/log/moved?bin=B2")).Should().MatchRegex("class=\"big primary\" name=\"place\" value=\"cellar\"");
    }

    [Fact]
    public async Task Of_two_stores_the_one_tap_leads_where_the_dates_have_it_go()
    {
        await using var site = await Site.OpenAsync();
        await site.Services.GetRequiredService<Pipeline>().AskAsync((house, _, _) =>
        {
            house.SavePlace(new Place("attic", "Attic store", Purpose.Storage, null, ["potato"]));
            return true;
        }, TestContext.Current.CancellationToken);
        await site.FillAsync("B1");
        await site.FillAsync("B2", lot: "2025-2");
        foreach (var (place, name) in new[] { ("cellar", "Cellar"), ("attic", "Attic store") })
        {
            // Where the other potatoes stand.
            await site.LogAsync("moved", "B2", ("place", place));
            site.Time.Advance(TimeSpan.FromHours(1));
            await site.Lots.AdvanceAsync(TestContext.Current.CancellationToken);
            site.Lots.Views.Bins["B1"].Way.Place.Should().Be(place);
            var words = await site.WordsAsync("/bins/B1");
            words.Should().Contain($"if moved to {name}").And.Contain($"Move it to {name}");
            (await site.ReadAsync("/log/moved?bin=B1")).Should().MatchRegex($"class=\"big primary\" name=\"place\" value=\"{place}\"");
            (await site.WordsAsync("/bins/B2")).Should().Contain("if left where it is").And.NotContain("Move it to");
        }
    }

    [Fact]
    public async Task The_now_page_says_what_is_to_be_done()
    {
        await using var site = await Site.OpenAsync();
        await site.FillAsync("B1");
        (await site.WordsAsync("/")).Should().Contain("No bin needs anything today.");
        await PromiseAsync(site, "Inn", "80", "", due: "2025-10-09");
        await site.LogAsync("condition-seen", "B1", ("choice", "soft"));
        site.Time.Advance(TimeSpan.FromHours(2));
        await site.Lots.AdvanceAsync(TestContext.Current.CancellationToken);
        (await site.WordsAsync("/")).Should().MatchRegex(
            "! Promised to Inn: 80 lb Potato, due Oct 9, in 5 days. Not enough: about 3[01] lb.")
            .And.Contain("! Check B1 (Curing room) It was soft on Oct 4").And.Contain("To do: 2").And.NotContain("No bin needs anything");
    }

    [Fact]
    public async Task Bins_are_narrowed_down_and_put_in_the_order_to_use_them()
    {
        await using var site = await Site.OpenAsync();
        await site.FillAsync("B1");
        await site.FillAsync("B2", lot: "2025-2", variety: "Elba");
        await site.LogAsync("moved", "B2", ("place", "cellar"));
        (await site.WordsAsync("/bins?place=cellar")).Should().Contain("B2 50.0 lb").And.NotContain("B1 50.0 lb");
        (await site.WordsAsync("/bins?lot=2025-1&crop=potato")).Should().Contain("B1 50.0 lb").And.NotContain("B2 50.0 lb");
        (await site.WordsAsync("/bins?crop=carrot")).Should().Contain("No bin fits what was chosen.");
        (await site.WordsAsync("/bins?sort=first")).Should()
            .Contain("old or new").And.Contain("B1 50.0 lb").And.Contain("B2 50.0 lb");
    }

    private static Task<string> PromiseAsync(Site site, string order, string pounds, string grade, string due = "") =>
        site.LogAsync("promised", null, ("order", order), ("crop", "potato"), ("grade", grade), ("amount", pounds), ("unit", "lb"),
            ("due", due));
}
