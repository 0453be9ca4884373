using RootCellar.Science.Crops;
using RootCellar.Science.Keeping;

namespace RootCellar.Science.Tests.Keeping;

public sealed class DiggingTests
{
    private static readonly DateOnly Planted = new(2025, 5, 1);

    [Theory]
    [InlineData("potato", "Norland", null, null, 90, 110, "days of the variety as published")]
    [InlineData("potato", "norland", MaturityClass.Late, null, 90, 110, "which count before a word")]
    [InlineData("potato", "Norland", null, 70, 70, 91, "and the packet's days before both")]
    [InlineData("potato", "Chieftain of nowhere", MaturityClass.Late, null, 100, 135, "a word where no variety is known")]
    [InlineData("potato", "Superior", null, null, 65, 90, "the variety's class where it has no days")]
    [InlineData("carrot", null, null, 75, 75, 96, "the packet's days of any crop")]
    public void The_nearest_word_on_maturity_is_taken(
        string crop, string? variety, MaturityClass? word, int? packet, int low, int high, string because)
    {
        if (variety == "Superior" && VarietyTable.Default.Find(variety)?.Maturity is not { Class: MaturityClass.Early, DaysLow: null })
            variety = VarietyTable.Default.Varieties.First(v => v.Maturity is { Class: MaturityClass.Early, DaysLow: null }).Name;
        var days = DaysToMaturity.Of(crop == "potato", variety, word, packet)!;
        (days.Low, days.High).Should().Be((low, high), because);
        days.Source.Should().NotBeNullOrWhiteSpace();
    }

    [Theory]
    [InlineData("potato", null)]
    [InlineData("carrot", MaturityClass.Early)]
    public void Where_no_table_has_days_there_are_none(string crop, MaturityClass? word) =>
        DaysToMaturity.Of(crop == "potato", null, word, null).Should().BeNull();

    [Fact]
    public void Every_class_has_days_and_later_ones_are_never_earlier()
    {
        var all = Enum.GetValues<MaturityClass>().Select(DaysToMaturity.OfPotato).ToList();
        all.Should().AllSatisfy(d => d.Low.Should().BeLessThan(d.High));
        all.Select(d => d.Low).Should().BeInAscendingOrder();
        all.Select(d => d.High).Should().BeInAscendingOrder();
    }

    [Theory]
    [InlineData(0, RowStage.Growing)]
    [InlineData(89, RowStage.Growing)]
    [InlineData(90, RowStage.Ripening)]
    [InlineData(110, RowStage.Ripening)]
    [InlineData(111, RowStage.Grown)]
    public void A_row_with_living_vines_goes_by_the_calendar(int day, RowStage stage)
    {
        var window = DiggingWindow.Of(potato: true, Planted, new DaysToMaturity(90, 110, "test"), null);
        window.On(Planted.AddDays(day)).Should().Be(stage);
        window.Opens.Should().Be(new DayRange(Planted.AddDays(104), Planted.AddDays(131)), "skins take two to three weeks more");
    }

    [Theory]
    [InlineData(0, RowStage.SkinsSetting)]
    [InlineData(9, RowStage.SkinsSetting)]
    [InlineData(10, RowStage.ThumbTest)]
    [InlineData(13, RowStage.ThumbTest)]
    [InlineData(14, RowStage.Dig)]
    [InlineData(28, RowStage.Dig)]
    [InlineData(29, RowStage.DigSoon)]
    public void Dead_vines_count_before_any_calendar(int days, RowStage stage)
    {
        var dead = Planted.AddDays(60);
        DiggingWindow.Of(potato: true, Planted, new DaysToMaturity(90, 110, "test"), dead).On(dead.AddDays(days)).Should().Be(stage);
        DiggingWindow.Of(potato: true, Planted, null, dead).On(dead.AddDays(days)).Should().Be(stage, "nor does it need one");
    }

    [Fact]
    public void Only_potatoes_set_skins_and_what_has_no_days_has_no_window()
    {
        DiggingWindow.Of(potato: false, Planted, null, Planted.AddDays(80)).Should().Be(new DiggingWindow(null, null, null, null));
        DiggingWindow.Of(potato: false, Planted, null, null).On(Planted.AddDays(80)).Should().Be(RowStage.NoWindow);
        var carrots = DiggingWindow.Of(potato: false, Planted, new DaysToMaturity(75, 96, "packet"), null);
        carrots.Opens.Should().Be(carrots.Ripe);
    }

    [Theory]
    [InlineData(12, 17, 80, double.NaN, new DiggingCaution[0])]
    [InlineData(12, 24, 80, double.NaN, new[] { DiggingCaution.Warm })]
    [InlineData(15, 30, 80, double.NaN, new[] { DiggingCaution.Hot })]
    [InlineData(3, 17, 80, double.NaN, new[] { DiggingCaution.ColdMorning })]
    [InlineData(3, 17, 80, 12, new DiggingCaution[0])]
    [InlineData(3, 17, 80, 5, new[] { DiggingCaution.Pulp })]
    [InlineData(15, 30, 80, 20, new[] { DiggingCaution.Pulp, DiggingCaution.Hot })]
    [InlineData(1, 9, 80, double.NaN, new[] { DiggingCaution.ColdSoil })]
    [InlineData(-0.5, 12, 80, double.NaN, new[] { DiggingCaution.LightFrost, DiggingCaution.ColdSoil })]
    [InlineData(-4, 18, 80, double.NaN, new[] { DiggingCaution.HardFrost, DiggingCaution.ColdSoil })]
    [InlineData(12, 17, 99, double.NaN, new[] { DiggingCaution.Wet })]
    public void The_air_outside_says_what_to_mind(double low, double high, double humidity, double pulp, DiggingCaution[] expected)
    {
        var today = DiggingAir.Of(Days(low, high, humidity), pulp);
        today.Cautions.Select(c => c.What).Should().Equal(expected);
        today.KnownHours.Should().Be(24);
        today.SaturatedHours.Should().Be(humidity >= 97 ? 24 : 0);
        today.LowC.Should().BeApproximately(low, 0.3);
        today.HighC.Should().BeApproximately(high, 0.3);
    }

    [Theory]
    [InlineData(12, 28, 6, 12)]
    [InlineData(3, 18, 10, 20)]
    public void A_hot_day_is_for_the_morning_and_a_cold_one_for_the_afternoon(double low, double high, int from, int to)
    {
        var today = DiggingAir.Of(Days(low, high, 80), double.NaN);
        (today.BestFrom, today.BestTo).Should().Be((from, to));
    }

    [Fact]
    public void A_day_without_a_swing_and_a_day_that_is_not_known_have_no_best_hours()
    {
        DiggingAir.Of(Days(12, 15, 80), double.NaN).BestFrom.Should().BeNull();
        var little = DiggingAir.Of(Days(3, 30, 80).Where(h => h.HoursAgo is < 11 or > 24), double.NaN);
        little.Cautions.Should().ContainSingle().Which.What.Should().Be(DiggingCaution.Unknown);
        little.Should().Match<DiggingToday>(t => t.KnownHours == 11 && t.BestFrom == null && double.IsNaN(t.LowC));
        DiggingAir.Of([], 20).Cautions.Select(c => c.What).Should().Equal(DiggingCaution.Pulp, DiggingCaution.Unknown);
    }

    [Fact]
    public void No_afternoon_is_best_where_the_warmth_says_to_dig_in_the_morning()
    {
        // It is eleven and warm already; yesterday's afternoon was cool, and the night wet.
        var hours = Enumerable.Range(0, 48).Select(ago => (Ago: ago, Hour: (11 - ago + 48) % 24)).Select(h => h switch
        {
            { Ago: <= 3 } => new OutdoorHour(h.Ago, h.Hour, 24, 80),
            { Hour: >= 12 and < 20 } => new OutdoorHour(h.Ago, h.Hour, 18, 70),
            _ => new OutdoorHour(h.Ago, h.Hour, 13, 99),
        }).ToList();
        var today = DiggingAir.Of(hours, double.NaN);
        today.Cautions.Select(c => c.What).Should().Contain(DiggingCaution.Warm);
        today.BestFrom.Should().BeNull();
        DiggingAir.Of(hours.Select(h => h.HoursAgo <= 3 ? h with { TemperatureC = 19 } : h), double.NaN).BestTo.Should()
            .Be(20, "of a cooler day it is");
    }

    [Fact]
    public void No_sentence_clears_anything_for_the_table()
    {
        double[] lows = [-5, -0.5, 3, 12], highs = [14, 24, 32];
        foreach (double low in lows)
        {
            foreach (double high in highs)
            {
                foreach (var caution in DiggingAir.Of(Days(low, high, 99), double.NaN).Cautions)
                    caution.Words.Should().EndWith(".").And.NotContainAny("safe", "edible", "fit to eat");
            }
        }
    }

    [Theory]
    [InlineData(15, 21.1, new DiggingCaution[0])]
    [InlineData(15, 21.2, new[] { DiggingCaution.Warm })]
    [InlineData(15, 26.7, new[] { DiggingCaution.Warm })]
    [InlineData(15, 26.8, new[] { DiggingCaution.Hot })]
    [InlineData(15, 7.2, new DiggingCaution[0])]
    [InlineData(15, 7.1, new[] { DiggingCaution.ColdMorning })]
    [InlineData(15, 0, new[] { DiggingCaution.ColdMorning })]
    [InlineData(15, -0.1, new[] { DiggingCaution.LightFrost, DiggingCaution.ColdMorning })]
    [InlineData(15, -1.1, new[] { DiggingCaution.LightFrost, DiggingCaution.ColdMorning })]
    [InlineData(15, -1.2, new[] { DiggingCaution.HardFrost, DiggingCaution.ColdMorning })]
    [InlineData(7.21, 7.21, new DiggingCaution[0])]
    [InlineData(7.19, 7.2, new[] { DiggingCaution.ColdSoil })]
    public void Each_caution_has_its_edge(double c, double lastHour, DiggingCaution[] expected) =>
        DiggingAir.Of(Hours(ago => (ago == 0 ? lastHour : c, 80)), double.NaN).Cautions.Select(w => w.What).Should().Equal(expected);

    [Fact]
    public void Only_the_hours_of_the_last_two_days_count_and_half_of_the_last_one_is_enough()
    {
        OutdoorHour[] beyond = [new(48, 9, -20, 80), new(-1, 9, 40, 80), new(3, 9, double.NaN, 99)];
        DiggingAir.Of([.. Hours(_ => (15, 80)), .. beyond], double.NaN).Cautions.Should().BeEmpty();
        DiggingAir.Of([.. Hours(_ => (15, 80)), new(47, 9, -20, 80)], double.NaN).Cautions.Should().NotBeEmpty();
        DiggingAir.Of(Hours(_ => (15, 80)).Where(h => h.HoursAgo < 12), double.NaN).Cautions.Should().BeEmpty();
        var little = DiggingAir.Of(Hours(_ => (15, 80)).Where(h => h.HoursAgo < 11), double.NaN);
        little.Cautions.Single().Words.Should().StartWith("Only 11 of the last 24 hours outside are known: put a thermometer into a potato");
    }

    [Theory]
    [InlineData(12, 97, true)]
    [InlineData(11, 97, false)]
    [InlineData(24, 96.9, false)]
    public void Half_a_day_of_saturated_air_makes_wet_soil_likely(int hours, double humidity, bool wet)
    {
        var today = DiggingAir.Of(Hours(ago => (15, ago < hours ? humidity : 80)), double.NaN);
        today.Cautions.Any(c => c.What == DiggingCaution.Wet).Should().Be(wet);
        today.SaturatedHours.Should().Be(humidity < 97 ? 0 : hours);
    }

    /// <summary>The longest run of good hours, of two hours and more, between six and eight in the evening.</summary>
    [Theory]
    [InlineData(new[] { 9 }, null, null)]
    [InlineData(new[] { 9, 10 }, 9, 11)]
    [InlineData(new[] { 7, 8, 12, 13, 14 }, 12, 15)]
    [InlineData(new[] { 7, 8, 9, 12, 13, 14 }, 7, 10)]
    [InlineData(new[] { 3, 4, 5, 6, 7 }, 6, 8)]
    [InlineData(new[] { 17, 18, 19, 20, 21 }, 17, 20)]
    [InlineData(new[] { 6, 7, 8, 9, 10, 11, 12, 13, 14, 15, 16, 17, 18, 19 }, null, null)]
    public void The_best_hours_are_the_longest_run_of_good_ones(int[] good, int? from, int? to)
    {
        foreach (var (fine, poor) in new[] { ((15.0, 80.0), (5.0, 80.0)),
            ((7.2, 80), (2, 80)), ((21.1, 80), (5, 80)), ((15, 80), (10, 97)) })
        {
            var today = DiggingAir.Of(Hours(ago => good.Contains((20 - ago + 48) % 24) ? fine : poor), double.NaN);
            (today.BestFrom, today.BestTo).Should().Be((from, to), $"{fine} against {poor}");
        }

        DiggingAir.Of(Hours(ago => good.Contains((20 - ago + 48) % 24) ? (15, 80) : (10.1, 97)), double.NaN).BestFrom.Should()
            .BeNull("a swing below 5 C makes no hour better");
    }

    // Now is eight in the evening.
    private static IEnumerable<OutdoorHour> Hours(Func<int, (double C, double Humidity)> air) => Enumerable.Range(0, 48)
        .Select(ago => new OutdoorHour(ago, (20 - ago + 48) % 24, air(ago).C, air(ago).Humidity));

    // Two days, lowest at five in the morning and highest at five in the afternoon; now is eight in the evening.
    private static IEnumerable<OutdoorHour> Days(double low, double high, double humidity) => Enumerable.Range(0, 48).Select(ago =>
    {
        int hour = (20 - ago + 48) % 24;
        double wave = (1 - Math.Cos(2 * Math.PI * (hour - 5) / 24)) / 2;
        return new OutdoorHour(ago, hour, low + ((high - low) * wave), humidity);
    });
}
