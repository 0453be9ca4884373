using System.Text.Json;
using Microsoft.Extensions.DependencyInjection;
using RootCellar.Places;
using RootCellar.Report;
using RootCellar.Storage;
using RootCellar.Tests.Pages;

namespace RootCellar.Tests.Report;

/// <summary>The report as a page and by API, in the whole service.</summary>
public class ReportPageTests
{
    [Fact]
    public async Task A_week_is_read_on_a_page_with_the_weeks_beside_it()
    {
        await using var site = await Site.OpenAsync();
        await site.FillAsync();
        site.Time.Advance(TimeSpan.FromMinutes(10));
        var last = await site.ReadAsync("/report");
        last.Should().Contain("aria-label=\"The week before\"").And.Contain("/report?week=2025-W38");
        Site.Words(last).Should().Contain("Week 39, September 22 to 28, 2025").And.Contain("Nothing was measured this week");

        var running = await site.WordsAsync("/report?week=2025-W40");
        running.Should().Contain("as far as").And.Contain("2025-1: Potato, Kennebec");
        (await site.ReadAsync("/report?week=2025-W40")).Should().NotContain("rel=\"next\"").And.Contain("<details id=\"rooms\">").And.Contain(
            "/charts/report/2025-W40/lots.svg?to=");
        (await site.LookAsync("/report?week=2025-W54")).Words.Should().Contain("There is no such week").And.Contain("2025-W39");
        (await site.LookAsync("/report?week=2026-W20")).Status.Should().Be(System.Net.HttpStatusCode.NotFound);
        (await site.LookAsync("/report?week=%3Cscript%3E")).Html.Should().NotContain("<script>");

        site.Time.Advance(TimeSpan.FromHours(3));
        var picture = System.Text.RegularExpressions.Regex.Match(
            System.Net.WebUtility.HtmlDecode(await site.ReadAsync("/report?week=2025-W40")), "src=\"(?<at>/charts/report/[^\"]+/weight[^\"]+)\"",
            System.Text.RegularExpressions.RegexOptions.ExplicitCapture, TimeSpan.FromSeconds(5)).Groups["at"].Value;
        picture.Should().StartWith("/charts/report/2025-W40/weight.svg?lot=2025-1");
        (await site.ReadAsync(picture)).Should().StartWith("<svg").And.Contain(">lb<");
        foreach (var none in (string[])["/charts/report/2025-W40/weight.svg?lot=nobody", "/charts/report/2025-W40/weight.svg",
            "/charts/report/2025-W40/weight.svg?place=2025-1", "/charts/report/2025-W40/humidity.svg?lot=2025-1",
            "/charts/report/2025-W54/weight.svg?lot=2025-1", "/charts/report/2026-W20/weight.svg?lot=2025-1"])
            (await site.LookAsync(none)).Status.Should().Be(System.Net.HttpStatusCode.NotFound, none);

        using var json = JsonDocument.Parse(await site.ReadAsync("/api/report?week=2025-W40"));
        var lot = json.RootElement.GetProperty("lots")[0];
        lot.GetProperty("book").GetProperty("inKg").GetDouble().Should().BeApproximately(50 * Science.Pound.Kilograms, 0.001);
        (await site.LookAsync("/api/report?week=48")).Status.Should().Be(System.Net.HttpStatusCode.BadRequest);
        (await site.ReadAsync("/openapi/v1.json")).Should().Contain("/api/report");
    }

    [Fact]
    public async Task A_week_gone_by_is_told_as_before_until_something_of_it_changes()
    {
        var store = (Store?)null;
        await using var site = await Site.OpenAsync(at: new DateTimeOffset(2025, 10, 8, 18, 0, 0, TimeSpan.Zero), fill: s =>
        {
            store = s;
            return s.WriteAsync(c =>
            {
                PlaceRows.Save(c, new Place("curing", "Curing room", Purpose.Curing, 30, ["potato"]));
                for (var i = 0; i < 8 * 288; i++) PlaceRows.SaveAir(c, Air(i, 13));
            });
        });
        await site.WriteAsync(
            """
            [{"event":"dug","at":"2025-09-30T12:00:00Z","lot":"L","crop":"potato","row":"R"},
             {"event":"filled","at":"2025-09-30T13:00:00Z","bin":"B1","lot":"L","weightKg":20,"place":"curing"},
             {"event":"eaten","at":"2025-10-02T13:00:00Z","bin":"B1","weightKg":1},
             {"event":"eaten","at":"2025-10-06T13:00:00Z","bin":"B1","weightKg":2}]
            """);
        await site.Lots.AdvanceAsync(TestContext.Current.CancellationToken);
        var desk = site.Services.GetRequiredService<ReportDesk>();
        var week = desk.LastWhole;
        week.Name.Should().Be("2025-W40");
        var told = desk.Of(week);
        Out(told!).Should().Be(1000, "what was eaten on Monday is no part of it");

        // What is written down of later days, time going by and other weeks leave it as it is.
        await site.WriteAsync(
            """[{"event":"eaten","at":"2025-10-07T13:00:00Z","bin":"B1","weightKg":1},{"event":"correction","of":4,"weightKg":3}]""");
        site.Time.Advance(TimeSpan.FromMinutes(5));
        await site.Lots.AdvanceAsync(TestContext.Current.CancellationToken);
        desk.Of(desk.Running).Should().NotBeNull();
        desk.Of(week).Should().BeSameAs(told);

        // An entry that comes late, one that is put right, one that turns out to have been in it, and air: each is in it at once.
        (await AfterAsync("""[{"event":"eaten","at":"2025-10-03T13:00:00Z","bin":"B1","weightKg":0.5}]""")).Should().Be(1500);
        (await AfterAsync("""[{"event":"correction","of":3,"weightKg":4}]""")).Should().Be(4500);
        (await AfterAsync("""[{"event":"correction","of":4,"rightAt":"2025-10-04T13:00:00Z"}]""")).Should().Be(7500);
        (await AfterAsync("""[{"event":"correction","of":4,"rightAt":"2025-10-06T13:00:00Z"}]""")).Should().Be(4500);
        var before = desk.Of(week)!.Figures.Lots[0].Estimate.WaterGrams;
        await store!.WriteAsync(c =>
        {
            for (var i = 0; i < 3 * 288; i++) PlaceRows.SaveAir(c, Air(i, 25));
        });
        await site.Lots.AdvanceAsync(TestContext.Current.CancellationToken);
        desk.Of(week)!.Figures.Lots[0].Estimate.WaterGrams.Should().BeGreaterThan(before, "warmer air was drier");
        await store.WriteAsync(c => PlaceRows.Save(c, new Place("curing", "Back kitchen", Purpose.Curing, 30, ["potato"])));
        desk.Of(week)!.Html.Should().Contain("Back kitchen");

        // What was planted in spring is known of the whole of it, whenever it is written down.
        desk.Of(week)!.Figures.Lots[0].Variety.Should().BeNull();
        await site.WriteAsync("""[{"event":"row-planted","row":"R","crop":"potato","variety":"Kennebec","plantedOn":"2025-05-01"}]""");
        desk.Of(week)!.Figures.Lots[0].Variety.Should().Be("Kennebec");

        async Task<long> AfterAsync(string events)
        {
            await site.WriteAsync(events);
            return Out(desk.Of(week)!);
        }

        static long Out(MadeReport made) => made.Figures.Lots.Single().Book.OutGrams;

        static PlaceAir Air(int i, double celsius) =>
            new("curing", new DateTimeOffset(2025, 9, 30, 12, 0, 0, TimeSpan.Zero).AddMinutes(5 * i), celsius, 90 - celsius, 10, 100, null,
                null, null, null, AirQuality.Good);
    }

    [Fact]
    public async Task The_report_to_a_contact_is_switched_on_the_set_up_page()
    {
        await using var site = await Site.OpenAsync();
        var page = await site.ReadAsync("/set-up");
        Site.Words(page).Should().Contain("Weekly report by mail: Sunday 6 pm");
        (await site.SendAsync("/set-up?handler=Contact", page, ("name", "Ann"), ("channel", "mail"), ("address", "ann@example.org"),
            ("wants", "all"))).Status.Should().Be(System.Net.HttpStatusCode.Found);
        page = await site.ReadAsync("/set-up");
        Site.Words(page).Should().Contain("Gets the weekly report");
        var id = System.Text.RegularExpressions.Regex.Match(
            page, "name=\"id\" value=\"(?<id>[^\"]+)\"", System.Text.RegularExpressions.RegexOptions.ExplicitCapture,
            TimeSpan.FromSeconds(5)).Groups["id"].Value;
        (await site.SendAsync("/set-up?handler=ContactReport", page, ("id", id))).Status.Should().Be(System.Net.HttpStatusCode.Found);
        (await site.WordsAsync("/set-up")).Should().Contain("No weekly report").And.NotContain("Gets the weekly report");
    }
}
