using RootCellar.Ledger;
using RootCellar.Lots;
using RootCellar.Places;
using RootCellar.Science.Crops;
using RootCellar.Science.Keeping;
using RootCellar.Storage;
using static RootCellar.Tests.Lots.Cellar;

namespace RootCellar.Tests.Lots;

/// <summary>Figures of lots that can be worked out by hand, in steady air.</summary>
public sealed class LotFiguresTests
{
    private static readonly Crop Potato = CropTable.Default.Find("potato")!;

    private static DateTimeOffset Day(double day) => Start.AddDays(day);

    /// <summary>What is left of the days after the rest, times what sprouts grow a day.</summary>
    [Theory]
    [InlineData(2)]
    [InlineData(5)]
    [InlineData(7.5)]
    [InlineData(33)]
    [InlineData(120)]
    [InlineData(380)]
    public void Sprouts_of_any_rest_are_told_from_the_one_fold(double rest)
    {
        var traits = new LotTraits(Potato, packing: Packing.SingleLayer, restDaysAt10C: 60);
        var course = Trajectory.Dug(new LotPath("l", traits, 0, [new PathStay(0, "cellar", Purpose.Storage)]));
        for (int step = 0; step < 48 * 300; step++) course.Ahead(new LotAir(12 - PackingTraits.Of(Packing.SingleLayer).WarmerC, 90), 0.5);
        double after = 300 - (rest / Dormancy.TemperatureFactor(12));
        course.SproutMm(rest).Should().BeApproximately(Math.Max(0, after) * Dormancy.SproutMmPerDay(12), 0.5 / 48 * 2,
            "a mark is set at the end of its half hour");
        course.Clone().SproutMm(rest).Should().Be(course.SproutMm(rest));
    }

    [Theory]
    [InlineData(0, 0)]
    [InlineData(30, 2 * 0.6321205588)]
    [InlineData(90, 2 * 0.9502129316)]
    public void A_trend_goes_on_and_fades(double days, double by)
    {
        var air = new AirAhead(0, new LotAir(5, 90, 6), Assumed: false, DriftC: 2).In(days);
        air.TemperatureC.Should().BeApproximately(5 + by, 1e-6);
        air.PulpC.Should().BeApproximately(6 + by, 1e-6);
        new AirAhead(0, new LotAir(5, 90), Assumed: false).In(days).TemperatureC.Should().Be(5, "no trend is known");
    }

    [Fact]
    public async Task It_heals_on_as_fast_as_it_has_healed_so_far_in_steady_air()
    {
        await using var cellar = await WithRoomsAsync();
        await cellar.AirAsync(CuringRoom, Start, Day(8), 13, 94);
        cellar.Book = Books.Of(Books.Lot("l", Start, [Books.Bin("c-1", Start, 20, (CuringRoom, Start))]));
        double early = (await cellar.AtAsync(Day(2))).Bins["c-1"].HealedDays;
        var bin = (await cellar.AtAsync(Day(4))).Bins["c-1"];
        double aDay = (bin.HealedDays - early) / 2, wanted = Curing.DaysTo(CuringRule.Potato, HealingStage.Adequate);
        (bin.FitToMove!.Likely!.Value - bin.At).TotalDays.Should().BeApproximately((wanted - bin.HealedDays) / aDay, 0.03);
        double healed = Curing.DaysTo(CuringRule.Potato, HealingStage.Healed);
        bin.Outlook.HealedPercentIn(0).Should().BeApproximately(100 * bin.HealedDays / healed, 1e-6);
        bin.Outlook.HealedPercentIn(1.5).Should().BeApproximately(100 * (bin.HealedDays + (1.5 * aDay)) / healed, 0.2);
        bin.Outlook.HealedPercentIn(200).Should().Be(100);
    }

    [Fact]
    public async Task It_is_shriveled_on_the_day_its_weight_says()
    {
        await using var cellar = await WhatToDoTests.StoredAsync(8, 90, 30);
        cellar.Book = Books.Of(Books.Lot("l", Start, [Books.Bin("c-1", Start, 20, (StoreRoom, Start)).Weighed(Start, 20)], "carrot"));
        var bin = (await cellar.AtAsync(Day(2))).Bins["c-1"];
        bin.Lasts.By.Should().Be(EndsBy.Shriveling);
        double days = (bin.Lasts.When.Likely!.Value - bin.At).TotalDays;
        days.Should().BePositive();
        double limit = 20 * (1 - KeepingEnds.ShriveledShare(CropTable.Default.Find("carrot")!));
        bin.Outlook.KgIn(days).Value.Should().BeApproximately(limit, 0.02);
        (bin.Lasts.When.Early < bin.Lasts.When.Likely).Should().BeTrue();
    }

    /// <summary>A row with one figure only: that one counts, the other is that of the last day known.</summary>
    [Theory]
    [InlineData("3", "NULL", 3, 90)]
    [InlineData("NULL", "60", 8, 60)]
    public async Task Of_a_row_with_one_figure_the_other_is_assumed(string c, string percent, double temperature, double humidity)
    {
        await using var cellar = await WithRoomsAsync();
        await cellar.AirAsync(StoreRoom, Start, Day(1), 8, 90);
        long at = Day(2).ToUnixTimeMilliseconds();
        await cellar.Record.WriteAsync(w => w.Execute(
            $"INSERT INTO air (place, at_ms, temperature_c, humidity_pct, quality) VALUES ('{StoreRoom}', {at}, {c}, {percent}, 0)"));
        cellar.Record.Read(r =>
        {
            var air = new PlaceAirRecord { Connection = r }.At(StoreRoom, TimeStep.Of(Day(2)), new LotAir(20, 20));
            (air.Dark, air.Air.TemperatureC).Should().Be((true, temperature));
            air.Air.RelativeHumidityPercent.Should().BeApproximately(humidity, 1e-9);
            return true;
        });
    }

    [Fact]
    public void Shrink_until_a_moment_knows_nothing_of_what_came_later()
    {
        var bin = Books.Bin("c-1", Start, 20, (StoreRoom, Start)).Out(Day(10), 5, "sold").Out(Day(20), 4, "sold");
        Shrink.Of(bin, 14.5, Day(10)).Should().Be(new Shrink(20_000, 5_000, 0, 500));
        Shrink.Of(bin, 10.5).Should().Be(new Shrink(20_000, 9_000, 0, 500));
        Shrink.Of([bin], _ => 14.5, Day(19)).Should().Be(new Shrink(20_000, 5_000, 0, 500));
        Shrink.Of(bin, null).Should().Match<Shrink>(s => s.ByEstimateGrams == 0 && s.LeftGrams == 11_000 && s.Percent == 0);
    }

    [Fact]
    public void Of_bins_that_are_alike_the_first_by_name_meets_a_promise()
    {
        var promise = new Promise(1, "inn", "potato", "table", 8_000, null, Start, 0);
        var book = Books.Of([promise], Books.Lot("l", Start,
            [Books.Bin("b", Start, 20, (StoreRoom, Start)), Books.Bin("a", Start, 15, (StoreRoom, Start))]));
        AcrossBins.Promises(book, LotViews.Nothing).Single().Picks.Should().Equal(new Pick("a", 8, All: false));
    }

    [Theory]
    [InlineData("few", null, true)]
    [InlineData("none", null, false)]
    [InlineData("few", "culled-sprouted", false)]
    [InlineData("few", "culled-rot", true)]
    [InlineData("few", "sorted", false)]
    [InlineData("few", "sold", true)]
    [InlineData("few", "culled-before", true)]
    [InlineData("later", null, false)]
    public void Sprouts_seen_are_minded_until_they_are_sorted_or_culled_out(string share, string? then, bool minded)
    {
        var bin = Books.Bin("c-1", Start, 20, (StoreRoom, Start));
        if (then == "culled-before") bin = bin.Out(Day(5), 1, "culled-sprouted");
        bin = bin.SawSprouts(Day(share == "later" ? 30 : 10), share == "later" ? "few" : share);
        if (then is not (null or "culled-before")) bin = bin.Out(Day(11), 1, then).Out(Day(12), 1, "sold");
        (Advising.SproutSign(bin, Day(20)) is not null).Should().Be(minded);
    }
}
