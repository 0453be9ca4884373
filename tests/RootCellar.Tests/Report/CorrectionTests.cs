using System.Net;
using System.Text.Json;
using Microsoft.Extensions.DependencyInjection;
using RootCellar.Places;
using RootCellar.Report;
using RootCellar.Storage;
using RootCellar.Tests.Pages;

namespace RootCellar.Tests.Report;

/// <summary>What the report of a week said stays what it said; what is known better later stands beside it as a correction.</summary>
public sealed class CorrectionTests
{
    private static readonly DateTimeOffset Sunday = new(2025, 10, 5, 16, 0, 0, TimeSpan.Zero);

    [Fact]
    public async Task A_correction_of_a_week_gone_by_says_what_was_said_what_is_right_and_when_it_was_written()
    {
        await using var site = await Site.OpenAsync(at: Sunday, fill: s => s.WriteAsync(c =>
        {
            PlaceRows.Save(c, new Place("curing", "Curing room", Purpose.Curing, 30, ["potato"]));
            for (var i = 0; i < 9 * 288; i++) PlaceRows.SaveAir(c, Air(i, 13));
        }));
        await site.WriteAsync(
            """
            [{"event":"dug","at":"2025-09-30T12:00:00Z","lot":"L","crop":"potato"},
             {"event":"filled","at":"2025-09-30T13:00:00Z","bin":"B1","lot":"L","weightKg":20,"place":"curing"},
             {"event":"eaten","at":"2025-10-02T13:00:00Z","bin":"B1","weightKg":1}]
            """);
        // It is due on Sunday at 18:00, which is 22:00 UTC.
        await GoAsync(site, Sunday.AddHours(6).AddMinutes(2));
        var sent = site.Store.Read(c => ReportRows.Said(c, "2025-W40"))!;
        sent.At.Should().BeCloseTo(Sunday.AddHours(6), TimeSpan.FromMinutes(3));

        // Eaten after it went out, and in the week after: no corrections.
        await site.WriteAsync("""[{"event":"eaten","at":"2025-10-05T22:01:00Z","bin":"B1","weightKg":0.5}]""");
        site.Time.Advance(TimeSpan.FromDays(3));
        await site.WriteAsync("""[{"event":"eaten","at":"2025-10-06T13:00:00Z","bin":"B1","weightKg":2}]""");
        (await site.WordsAsync("/report?week=2025-W40")).Should()
            .NotContain("Corrected since").And.Contain("What this report said on Sun, Oct 5");

        await site.WriteAsync("""[{"event":"correction","of":3,"weightKg":1.5}]""");
        // An entry of a later day has no part in when it was put right.
        site.Time.Advance(TimeSpan.FromDays(1));
        await site.WriteAsync("""[{"event":"eaten","at":"2025-10-09T13:00:00Z","bin":"B1","weightKg":1}]""");
        var page = await site.WordsAsync("/report?week=2025-W40");
        page.Should().Contain("Corrected since 3 This report went out on Sun, Oct 5").And.Contain(
            "L, taken out : said 2.2 lb then; corrected to 3.3 lb on Oct 8")
            .And.Contain("L, at end by the book : said 41.9 lb then; corrected to 40.8 lb on Oct 8").And.NotContain(
                "L, filled").And.NotContain("too warm :");
        page.Should().Contain(Site.Words(WebUtility.HtmlEncode(sent.Text)).Trim(), "what it said stays what it said");
        var desk = site.Services.GetRequiredService<ReportDesk>();
        site.Speak();
        var text = desk.Of(Week.Named("2025-W40", desk.Zone)!)!.Text;
        text.Should().Contain("* L, taken out: said 2.2 lb then; corrected to 3.3 lb on Oct 8");

        using var json = JsonDocument.Parse(await site.ReadAsync("/api/report?week=2025-W40"));
        json.RootElement.GetProperty("sent").GetProperty("text").GetString().Should().Be(sent.Text);
        var corrected = json.RootElement.GetProperty("corrected").EnumerateArray()
            .Single(c => c.GetProperty("figure").GetString() == "taken-out");
        (corrected.GetProperty("lot").GetString(), corrected.GetProperty("said").GetDouble(), corrected.GetProperty("now").GetDouble())
            .Should().Be(("L", 1, 1.5));
        corrected.GetProperty("on").GetDateTimeOffset().Should().BeCloseTo(site.Time.GetUtcNow().AddDays(-1), TimeSpan.FromMinutes(1));

        // Put back, there is nothing to correct any more.
        await site.WriteAsync("""[{"event":"correction","of":3,"weightKg":1}]""");
        (await site.WordsAsync("/report?week=2025-W40")).Should().NotContain("Corrected since");
    }

    [Fact]
    public async Task Air_that_came_late_corrects_the_time_out_of_the_band_without_a_day_of_writing()
    {
        await using var site = await Site.OpenAsync(at: Sunday, fill: s => s.WriteAsync(c =>
        {
            PlaceRows.Save(c, new Place("curing", "Curing room", Purpose.Curing, 30, ["potato"]));
            for (var i = 0; i < 9 * 288; i++) PlaceRows.SaveAir(c, Air(i, 13));
        }));
        await GoAsync(site, Sunday.AddHours(6).AddMinutes(2));
        await site.Store.WriteAsync(c =>
        {
            for (var i = 288; i < 288 + 48; i++) PlaceRows.SaveAir(c, Air(i, 25));
        });
        (await site.WordsAsync("/report?week=2025-W40")).Should()
            .Contain("Curing room, too warm : said never then; corrected to 4 hours").And.NotContain("4 hours on");
    }

    private static PlaceAir Air(int i, double celsius) =>
        new("curing", new DateTimeOffset(2025, 9, 30, 12, 0, 0, TimeSpan.Zero).AddMinutes(5 * i), celsius, 90, 10, 100, null, null, null,
            null, AirQuality.Good);

    /// <summary>Until the week's report was looked for: the service works on its own threads while its time stands still.</summary>
    private static async Task GoAsync(Site site, DateTimeOffset until)
    {
        using var patience = new CancellationTokenSource(TimeSpan.FromMinutes(1));
        // What was due before it first looked is nobody's.
        while (site.Store.Read(c => Meta.Get(c, "report_since_ms")) is null) await Task.Delay(20, patience.Token);
        site.Time.Advance(until - site.Time.GetUtcNow());
        while (!site.Store.Read(c => ReportRows.IsSent(c, "2025-W40")))
        {
            site.Time.Advance(TimeSpan.FromSeconds(1));
            await Task.Delay(20, patience.Token);
        }
    }
}
