using CsCheck;
using RootCellar.Science.Crops;
using RootCellar.Science.Keeping;

namespace RootCellar.Science.Tests.Keeping;

public sealed class DosesTests
{
    private static readonly Crop Potato = CropTable.Default.Find("potato")!;
    private static readonly Crop SweetPotato = CropTable.Default.Find("sweet-potato")!;
    private static readonly Crop Carrot = CropTable.Default.Find("carrot")!;

    [Theory]
    [InlineData(500, 20, 0.5)]
    [InlineData(500, 10, 0.25)]
    [InlineData(500, 25, 0.4)]
    [InlineData(500, 15, 0.375)]
    [InlineData(500, 40, 0.4)]
    [InlineData(1e9, 20, 1)]
    [InlineData(1000, 4, 0)]
    [InlineData(1000, -3, 0)]
    [InlineData(0, 20, 0)]
    [InlineData(-5, 20, 0)]
    [InlineData(double.NaN, 20, 0)]
    [InlineData(1000, double.NaN, 0)]
    [InlineData(double.PositiveInfinity, 20, 1)]
    public void Light_counts_by_how_strong_and_how_warm(double lux, double pulpC, double expected) =>
        Greening.DoseHoursPerHour(lux, pulpC).Should().BeApproximately(expected, 1e-6);

    [Fact]
    public void A_light_dose_never_falls_and_grows_with_light() =>
        Gen.Select(Gen.Double[0, 100_000], Gen.Double[0, 100_000], Gen.Double[-20, 50]).Sample((a, b, c) =>
        {
            double less = Greening.DoseHoursPerHour(Math.Min(a, b), c);
            double more = Greening.DoseHoursPerHour(Math.Max(a, b), c);
            return less >= 0 && more >= less && more <= 1;
        });

    [Theory]
    [InlineData(7.9, GreeningLevel.Little)]
    [InlineData(8, GreeningLevel.Alert)]
    [InlineData(24, GreeningLevel.Act)]
    public void Light_is_looked_at_after_8_hours_and_acted_on_after_24(double hours, GreeningLevel expected) =>
        Greening.Level(hours).Should().Be(expected);

    [Theory]
    [InlineData(4, 0, ColdLevel.None)]
    [InlineData(3, 5, ColdLevel.None)]
    [InlineData(3, 13, ColdLevel.Caution)]
    [InlineData(3, 2000, ColdLevel.Caution)]
    [InlineData(1, 0, ColdLevel.Warning)]
    [InlineData(-0.1, 0, ColdLevel.Emergency)]
    [InlineData(double.NaN, 100, ColdLevel.None)]
    public void Potatoes_are_warned_of_by_their_own_steps(double pulpC, double hours, ColdLevel expected) =>
        Cold.Level(Potato, pulpC, hours).Should().Be(expected);

    [Fact]
    public void Other_crops_are_warned_of_a_degree_above_their_own_freezing_point()
    {
        Cold.WarningBelowC(Carrot).Should().BeApproximately(Carrot.FreezingPointC + 1, 1e-12);
        Cold.Level(Carrot, Carrot.FreezingPointC + 0.9).Should().Be(ColdLevel.Warning);
        Cold.Level(Carrot, Carrot.FreezingPointC + 0.4).Should().Be(ColdLevel.Emergency);
        Cold.Level(Carrot, Carrot.FreezingPointC + 1.1, 1000).Should().Be(ColdLevel.None, "carrots have no chilling edge");
        Cold.Level(SweetPotato, 5, 20).Should().Be(ColdLevel.Caution);
        Cold.Level(SweetPotato, 5, 80).Should().Be(ColdLevel.Warning);
    }

    [Fact]
    public void Hours_of_cold_count_below_the_crops_own_edges()
    {
        double edge = Potato.ChillingBelowC!.Value;
        Cold.ShareBelow(edge, edge - 0.01, edge - 2).Should().Be(1);
        Cold.ShareBelow(edge, edge, edge + 1).Should().Be(0);
        Cold.ShareBelow(edge, edge + 1, edge - 3).Should().BeApproximately(0.75, 1e-12);
        Cold.ShareBelow(double.NegativeInfinity, -10, -10).Should().Be(0);
        Cold.ShareBelow(12.5, double.NaN, 3).Should().Be(0);
        Cold.ShareBelow(Potato.FreezingPointC, -0.9, -0.9).Should().Be(1);
    }

    [Fact]
    public void No_crop_is_told_off_in_the_band_it_is_to_be_kept_in() =>
        CropTable.Default.Crops.Should().AllSatisfy(crop =>
            Cold.Level(crop, (crop.Storage.TemperatureLowC + crop.Storage.TemperatureHighC) / 2, 1000).Should()
                .Be(ColdLevel.None, crop.Name));

    [Fact]
    public void A_film_shorter_than_half_an_hour_leaves_nothing_and_a_longer_one_counts_whole()
    {
        WetHours(0.05, (0.4, -1), (1, 1)).Should().Be(0);
        WetHours(0.05, (2, -1), (1, 1), (0.3, -1)).Should().BeApproximately(2, 1e-9);
        WetHours(2, (6, -1), (2, 0.5), (2, -0.1)).Should().BeApproximately(8, 1e-9);
    }

    [Theory]
    [InlineData(-0.1, 0.2, 97, WetnessLevel.Wetting)]
    [InlineData(-0.1, 0.6, 97, WetnessLevel.Wet)]
    [InlineData(0.6, 0, 96, WetnessLevel.MaybeSaturated)]
    [InlineData(0.6, 0, 90, WetnessLevel.Caution)]
    [InlineData(1.1, 0, 90, WetnessLevel.Dry)]
    [InlineData(double.NaN, 0, double.NaN, WetnessLevel.Dry)]
    public void Wetness_goes_by_the_margin_and_how_long(double margin, double run, double humidity, WetnessLevel expected) =>
        Wetness.Level(margin, run, humidity).Should().Be(expected);

    [Fact]
    public void Cold_makes_sweet_and_warmth_takes_only_part_back()
    {
        Sweetening.After(0, 4.2, 30).Should().BeApproximately(90, 1e-9);
        Sweetening.After(90, 10, 30).Should().Be(90, "7 to 13 C neither makes nor takes");
        Sweetening.After(90, 18, 7).Should().BeApproximately(45, 1e-9);
        Sweetening.After(90, 18, 14).Should().BeApproximately(22.5, 1e-9);
        Sweetening.After(0, 9, 3, Sweetening.TenderEdgeC).Should().BeApproximately(3, 1e-9);
        Sweetening.After(5, double.NaN, 3).Should().Be(5);
    }

    [Fact]
    public void Sweetening_is_the_same_in_many_steps_as_in_one() =>
        Gen.Select(Gen.Double[0, 300], Gen.Double[-2, 25], Gen.Int[2, 400]).Sample((start, c, steps) =>
        {
            double inSteps = start;
            for (int i = 0; i < steps; i++)
                inSteps = Sweetening.After(inSteps, c, 10.0 / steps);
            double once = Sweetening.After(start, c, 10);
            return Math.Abs(inSteps - once) <= 1e-9 * Math.Max(1, once) && once >= 0;
        });

    [Theory]
    [InlineData(5, SkinSetStage.NotSet)]
    [InlineData(10, SkinSetStage.ThumbTest)]
    [InlineData(14, SkinSetStage.Set)]
    [InlineData(28, SkinSetStage.Set)]
    [InlineData(29, SkinSetStage.BlemishRisk)]
    public void Skins_set_with_the_days_of_dead_vines(double days, SkinSetStage expected) =>
        SkinSet.After(days).Should().Be(expected);

    [Theory]
    [InlineData(RotSigns.None, 0, false)]
    [InlineData(RotSigns.RainAtDigging, 1, false)]
    [InlineData(RotSigns.RainAtDigging | RotSigns.SaturatedSoil, 2, false)]
    [InlineData(RotSigns.RainAtDigging | RotSigns.SaturatedSoil | RotSigns.RotSeen, 3, true)]
    [InlineData(RotSigns.LateBlight, 1, true)]
    [InlineData(RotSigns.FieldFrost, 0, true)]
    public void Signs_from_the_field_are_counted_and_rule_out_curing(RotSigns signs, int count, bool skip) =>
        RotRisk.Advise(signs).Should().Be(new RotAdvice(count, skip));

    [Theory]
    [InlineData(19, DiggingPulp.TooWarm)]
    [InlineData(17, DiggingPulp.Warm)]
    [InlineData(13, DiggingPulp.Best)]
    [InlineData(8, DiggingPulp.Cool)]
    [InlineData(6, DiggingPulp.TooCold)]
    [InlineData(double.NaN, null)]
    public void Pulp_at_digging_has_a_best_range(double pulpC, DiggingPulp? expected) =>
        RotRisk.AtDigging(pulpC).Should().Be(expected);

    private static double WetHours(double step, params (double Hours, double Margin)[] spells)
    {
        double run = 0;
        double wet = 0;
        foreach (var (hours, margin) in spells)
        {
            for (int i = 0; i < (int)Math.Round(hours / step); i++)
            {
                double after = margin < 0 ? run + step : 0;
                wet += Wetness.CountedHours(run, after);
                run = after;
            }
        }

        return wet;
    }
}
