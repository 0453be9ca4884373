using RootCellar.Advice;
using RootCellar.Lots;
using RootCellar.Places;
using RootCellar.Report;
using RootCellar.Storage;
using RootCellar.Tests.Lots;
using RootCellar.Watch;
using static RootCellar.Tests.Lots.Cellar;

namespace RootCellar.Tests.Report;

/// <summary>The figures of a week against small cases worked out by hand.</summary>
public class WeekFiguresTests
{
    // 2025-09-22 is a Monday and begins 2025-W39; the book's lot is dug on the Saturday before it.
    private const string TwoBins =
        """
        {"event":"dug","at":"2025-09-20T09:00:00Z","lot":"K","crop":"potato","variety":"Kennebec","weightKg":60},
        {"event":"filled","at":"2025-09-20T10:00:00Z","bin":"b1","lot":"K","weightKg":30.005,"place":"root-cellar"},
        {"event":"filled","at":"2025-09-20T10:00:00Z","bin":"b2","lot":"K","weightKg":20,"place":"root-cellar"}
        """;

    private static DateTimeOffset Utc(string at) =>
        DateTimeOffset.Parse(at, System.Globalization.CultureInfo.InvariantCulture, System.Globalization.DateTimeStyles.AssumeUniversal);

    private static async Task<Cellar> WithAirAsync(double c, double percent, double days = 40)
    {
        var cellar = await WithRoomsAsync();
        await cellar.AirAsync(StoreRoom, Start, Start.AddDays(days), c, percent);
        return cellar;
    }

    [Theory]
    [InlineData("2026-W48", "2026-11-23T06:00:00Z", 168)]
    [InlineData("2026-W01", "2025-12-29T06:00:00Z", 168)]
    [InlineData("2026-W53", "2026-12-28T06:00:00Z", 168)]
    [InlineData("2026-W10", "2026-03-02T06:00:00Z", 167)]
    [InlineData("2026-W44", "2026-10-26T05:00:00Z", 169)]
    public void A_week_goes_from_Monday_to_Monday_on_the_households_clock(string name, string from, int hours)
    {
        // ISO 8601 numbers the weeks; the United States put clocks forward on 8 March 2026 and back on 1 November 2026 (15 U.S.C. 260a).
        string[] shifted = ["2026-W10", "2026-W44"];
        var week = Week.Named(name, Weeks.Chicago)!;
        if (name == "2026-W10") week.Monday.Should().Be(new DateOnly(2026, 3, 2));
        week.From.Should().Be(Utc(from));
        (week.To - week.From).TotalHours.Should().Be(hours);
        Week.Of(week.From, Weeks.Chicago).Should().Be(week);
        Week.Of(week.To.AddTicks(-1), Weeks.Chicago).Should().Be(week);
        Week.Of(week.To, Weeks.Chicago).Should().Be(week.After(Weeks.Chicago));
        week.After(Weeks.Chicago).Before(Weeks.Chicago).Should().Be(week);
        shifted.Contains(name).Should().Be(hours != 168);
    }

    [Theory]
    [InlineData("2026-W54")]
    [InlineData("2025-W53")]
    [InlineData("2026-W00")]
    [InlineData("2026-48")]
    [InlineData("last")]
    [InlineData("")]
    public void What_is_no_week_is_none(string name) => Week.Named(name, TimeZoneInfo.Utc).Should().BeNull();

    [Fact]
    public async Task The_ledger_closes_to_the_gram_and_says_by_which_way_it_went()
    {
        await using var cellar = await WithAirAsync(4, 95);
        cellar.Book = Weeks.Book($$"""
            [{{TwoBins}},
             {"event":"sold","at":"2025-09-23T09:00:00Z","bin":"b1","weightKg":4.5},
             {"event":"culled","at":"2025-09-24T09:00:00Z","bin":"b1","weightKg":1.25,"reason":"rot"},
             {"event":"weighed","at":"2025-09-25T09:00:00Z","bin":"b1","weightKg":24.0},
             {"event":"filled","at":"2025-09-26T09:00:00Z","bin":"b3","lot":"K","weightKg":7,"place":"root-cellar"},
             {"event":"sorted","at":"2025-09-27T09:00:00Z","bin":"b2","into":[{"bin":"b4","weightKg":12},{"bin":"b2","weightKg":7.75}]},
             {"event":"eaten","at":"2025-09-30T09:00:00Z","bin":"b1","weightKg":2}]
            """);
        var lot = Weeks.Of(cellar, "2025-W39").Lots.Should().ContainSingle().Subject;

        // By hand: 50 005 at start; in 7000; out 4500 + 1250; b1 30005-5750=24255 found 24000 (255), b2 20000 sorted to 19750 (250); what
        // is eaten on the 30th is next week's.
        lot.Book.StartGrams.Should().Be(50_005);
        lot.Book.InGrams.Should().Be(7_000);
        lot.Book.Outs.Should().BeEquivalentTo(new Dictionary<string, long> { ["sold"] = 4_500, ["culled-rot"] = 1_250 });
        lot.Book.CulledGrams.Should().Be(1_250);
        lot.Book.ShrinkGrams.Should().Be(505);
        lot.Book.EndGrams.Should().Be(50_750);
        (lot.Book.StartGrams + lot.Book.InGrams - lot.Book.OutGrams - lot.Book.ShrinkGrams).Should().Be(lot.Book.EndGrams);
        lot.LooseGrams.Should().Be(60_000 - 57_005);

        var e = lot.Estimate;
        (e.InGrams, e.OutGrams).Should().Be((7_000, 5_750));
        (e.StartGrams + e.InGrams - e.OutGrams - e.ShrinkGrams + e.SetRightGrams).Should().Be(e.EndGrams);
        Weeks.Of(cellar, "2025-W40").Lots[0].Estimate.StartGrams.Should().Be(e.EndGrams, "a week begins with what the last one ended with");
        Weeks.Of(cellar, "2025-W40").Lots[0].Book.StartGrams.Should().Be(50_750);
    }

    [Fact]
    public async Task Shrink_is_what_the_lots_estimate_falls_by()
    {
        await using var cellar = await WithAirAsync(6, 80);
        cellar.Book = Weeks.Book($"[{TwoBins}]");
        var before = (await cellar.AtAsync(Utc("2025-09-22"))).Lots["K"].Kg.Value;
        var after = (await cellar.AtAsync(Utc("2025-09-29"))).Lots["K"].Kg;
        var lot = Weeks.Of(cellar, "2025-W39").Lots[0];
        (lot.Estimate.StartGrams / 1000.0).Should().BeApproximately(before, 0.0006);
        lot.Estimate.EndKg!.Value.Should().Be(after);
        (lot.Estimate.ShrinkGrams / 1000.0).Should().BeApproximately(before - after.Value, 0.002);
        Math.Abs(lot.Estimate.SetRightGrams).Should().BeLessThanOrEqualTo(2, "nobody weighed: only rounding is left");
        var shrink = lot.Estimate.ShrinkKg!.Value;
        shrink.Low.Should().BeInRange(0.3 * shrink.Value, 0.8 * shrink.Value);
        shrink.High.Should().BeInRange(1.3 * shrink.Value, 2.5 * shrink.Value);
        // 7 days of the mean weight.
        lot.Air!.RatePercent!.Value.Should().BeApproximately(100 * shrink.Value / before, 0.02);
        lot.Air.LastWeekPercent.Should().NotBeNull("it was dug the Saturday before");
    }

    [Fact]
    public async Task Ideal_air_costs_nothing_and_dry_air_costs_water()
    {
        var (c, percent) = Weeks.Ideal;
        await using var ideal = await WithAirAsync(c, percent);
        ideal.Book = Weeks.Book($"[{TwoBins}]");
        var good = Weeks.Of(ideal, "2025-W39").Lots[0].Air!;
        // Steps of an hour against steps of five minutes.
        good.CostKg.Should().BeApproximately(0, 0.002);
        good.RatePercent!.Value.Should().BeApproximately(good.IdealPercent!.Value, 0.01);

        await using var dry = await WithRoomsAsync();
        await dry.AirAsync(StoreRoom, Start, Utc("2025-09-22"), c, percent);
        await dry.AirAsync(StoreRoom, Utc("2025-09-22"), Utc("2025-09-29"), c, 45);
        dry.Book = ideal.Book;
        var lostIdeally = (await ideal.AtAsync(Utc("2025-09-22"))).Lots["K"].Kg.Value - (
            await ideal.AtAsync(Utc("2025-09-29"))).Lots["K"].Kg.Value;
        var lostDry = (await dry.AtAsync(Utc("2025-09-22"))).Lots["K"].Kg.Value - (await dry.AtAsync(Utc("2025-09-29"))).Lots["K"].Kg.Value;
        var bad = Weeks.Of(dry, "2025-W39");
        var lot = bad.Lots[0];
        // Up to the Monday both stood in the same air.
        lot.Air!.CostKg.Should().BeApproximately(lostDry - lostIdeally, 0.002);
        lot.Air.WaterCostKg.Should().BeGreaterThan(0.15);
        lot.Air.BreathCostKg.Should().BeApproximately(0, 0.05, "it was no warmer");
        lot.Air.IdealPercent!.Value.Should().BeApproximately(good.IdealPercent!.Value, 0.01);
        bad.Places.Single(p => p.Place.Id == StoreRoom).WaterCostKg.Should().BeApproximately(lot.Air.WaterCostKg, 1e-9);
        bad.AirCostKg.Should().BeApproximately(lot.Air.CostKg, 1e-9);
        bad.Jobs[0].Kind.Should().Be(JobKind.WetTheAir);
    }

    [Fact]
    public async Task What_came_later_has_no_part_in_a_week()
    {
        await using var cellar = await WithAirAsync(6, 85);
        cellar.Book = Weeks.Book($"[{TwoBins}]");
        var before = Weeks.Of(cellar, "2025-W39");
        cellar.Book = Weeks.Book($$"""
            [{{TwoBins}}, {"event":"weighed","at":"2025-09-29T00:00:00Z","bin":"b1","weightKg":26.0},
             {"event":"promised","at":"2025-10-02T09:00:00Z","order":"o","crop":"potato","weightKg":500,"due":"2025-10-09"},
             {"event":"eaten","at":"2025-10-01T09:00:00Z","bin":"b2","weightKg":19}]
            """);
        var after = Weeks.Of(cellar, "2025-W39");
        after.Lots[0].Should().BeEquivalentTo(before.Lots[0]);
        after.AtRisk.Should().BeEmpty();
        Weeks.Of(cellar, "2025-W40").AtRisk.Should().ContainSingle().Which.ShortKg.Should().BeGreaterThan(400);
        // But a correction is the truth of the week it is about.
        cellar.Book = Weeks.Book($$"""[{{TwoBins}}, {"event":"correction","at":"2025-10-05T09:00:00Z","of":2,"weightKg":20}]""");
        Weeks.Of(cellar, "2025-W39").Lots[0].Book.StartGrams.Should().Be(40_000);
    }

    [Fact]
    public async Task Hours_out_of_the_band_and_unmeasured_are_counted()
    {
        await using var cellar = await WithRoomsAsync();
        var monday = Utc("2025-09-22");
        var band = Science.Crops.CropTable.Default.Find("potato")!.Storage;
        double middle = (band.TemperatureLowC + band.TemperatureHighC) / 2,
            humid = (band.HumidityLowPercent + band.HumidityHighPercent) / 2;
        // 10 hours too warm on Tuesday with the worst at 15 C, 3 hours too cold on Wednesday, 5 hours too dry on Thursday; nothing from
        // Friday noon to Saturday noon.
        await cellar.AirAsync(StoreRoom, monday, monday.AddDays(7), t =>
        {
            double h = (t - monday).TotalHours;
            return (h is >= 30 and < 40 ? h is >= 35 and < 35.01 ? 15 : 12 : h is >= 50 and < 53 ? band.TemperatureLowC - 1 : middle,
                h is >= 80 and < 85 ? 60 : humid);
        });
        await cellar.Record.WriteAsync(c =>
        {
            c.Execute(
            "DELETE FROM air WHERE at_ms >= $a AND at_ms < $b", ("$a", monday.AddHours(108).ToUnixTimeMilliseconds()),
            ("$b", monday.AddHours(132).ToUnixTimeMilliseconds()));
        });
        cellar.Book = RootCellar.Ledger.Book.Empty;
        var place = Weeks.Of(cellar, "2025-W39").Places.Single(p => p.Place.Id == StoreRoom);

        place.Temperature!.Above!.Hours.Should().BeApproximately(10, 1e-9);
        place.Temperature.Above.Should().BeEquivalentTo(new { Worst = 15.0, Limit = band.TemperatureHighC, At = monday.AddHours(35) });
        place.Temperature.Below!.Hours.Should().BeApproximately(3, 1e-9);
        place.Humidity!.Below!.Hours.Should().BeApproximately(5, 1e-9);
        place.Humidity.Above.Should().BeNull();
        place.Worst.Should().Be(new WorstMoment(Measure.Humidity, false, 60, band.HumidityLowPercent, monday.AddHours(80)));
        // The last row before the gap speaks for 25 minutes beyond its own five.
        place.UnmeasuredHours.Should().BeApproximately(24 - (25 / 60.0), 1e-9);
        place.Hours.Should().Be(168);
        Weeks.Of(cellar, "2025-W39").Places.Single(p => p.Place.Id == CuringRoom).UnmeasuredHours.Should().Be(168);
    }

    [Fact]
    public async Task The_weigh_in_that_teaches_most_is_of_the_lot_nobody_has_weighed()
    {
        await using var cellar = await WithAirAsync(6, 85);
        cellar.Book = Weeks.Book($$"""
            [{{TwoBins}},
             {"event":"dug","at":"2025-09-20T09:00:00Z","lot":"R","crop":"potato","weightKg":60},
             {"event":"filled","at":"2025-09-20T10:00:00Z","bin":"r1","lot":"R","weightKg":30,"place":"root-cellar"},
             {"event":"weighed","at":"2025-10-02T10:00:00Z","bin":"r1","weightKg":29.5}]
            """);
        var worth = Weeks.Of(cellar, "2025-W40").WeighIn!;
        (worth.Lot, worth.Bin).Should().Be(("K", "b1"));
        worth.AfterKg.Should().BeLessThan(worth.WidthKg);
        worth.WidthKg.Should()
            .BeApproximately(Weeks.Of(cellar, "2025-W40").Lots.Single(l => l.Lot == "K").Estimate.EndKg is { } k ? k.High - k.Low : 0,
                1e-9);
        // Done as it says, it narrows as it says.
        cellar.Book = Weeks.Book($$"""
            [{{TwoBins}}, {"event":"weighed","at":"2025-10-05T23:55:00Z","bin":"b1","weightKg":{{Math.Round(worth.ExpectedKg, 2).ToString(System.Globalization.CultureInfo.InvariantCulture)}}}]
            """);
        var after = Weeks.Of(cellar, "2025-W40").Lots.Single(l => l.Lot == "K").Estimate.EndKg!.Value;
        (after.High - after.Low).Should().BeApproximately(worth.AfterKg, 0.1 * worth.AfterKg);
    }

    [Fact]
    public void Alarms_are_seen_to_as_fast_as_they_were()
    {
        var monday = Utc("2025-09-22");
        Alarm Raised(int n, double hours, double? seen, double? over, Rule? muted = null) => new(
            $"a{n}", n, Rule.TooWarm, StoreRoom, null, AlarmPriority.High, AlarmState.Normal, over is null, Measure.Air, 12, 10, 13,
            monday.AddHours(hours), monday.AddHours(hours),
            AcknowledgedAt: seen is { } s ? monday.AddHours(hours + s) : null,
            ReturnedAt: over is { } o ? monday.AddHours(hours + o) : null, MutedBy: muted);
        var week = AlarmWeek.Of(
            [Raised(1, 1, 0.5, 2), Raised(2, 20, 1.5, 3), Raised(3, 40, 9, 10), Raised(4, 50, 2.5, 4), Raised(5, 160, null, null),
                Raised(6, 60, null, 5, Rule.AllSilent)], monday.AddDays(7));
        week.Raised.Should().Be(6, "one that another mutes by now is not lost to its week");
        week.Acknowledged.Should().Be(new HowFast(4, TimeSpan.FromHours(2), TimeSpan.FromHours(9)));
        week.Returned.Should().Be(new HowFast(5, TimeSpan.FromHours(4), TimeSpan.FromHours(10)));
        week.Unseen.Should().Be(2);
        week.Open.Should().ContainSingle().Which.Id.Should().Be("a5");
    }
}
