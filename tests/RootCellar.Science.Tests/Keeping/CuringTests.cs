using RootCellar.Science.Crops;
using RootCellar.Science.Keeping;

namespace RootCellar.Science.Tests.Keeping;

/// <summary>How other crops than potatoes cure: where they do not at all, where as fast as they can, and how warmth hastens it.</summary>
public sealed class CuringTests
{
    [Theory]
    [InlineData("potato", CuringRule.Potato)]
    [InlineData("sweet-potato", CuringRule.SweetPotato)]
    [InlineData("onion", CuringRule.Drying)]
    [InlineData("garlic", CuringRule.Drying)]
    [InlineData("shallot", CuringRule.Drying)]
    [InlineData("winter-squash", CuringRule.Rind)]
    [InlineData("pumpkin", CuringRule.Rind)]
    [InlineData("carrot", CuringRule.None)]
    public void A_crop_cures_by_the_rule_of_its_kind(string id, CuringRule rule) => Curing.RuleOf(CropTable.Default.Find(id)!).Should()
        .Be(rule);

    [Theory]
    // Sweet potatoes: three times as fast for 10 C, not at 12 C nor at 42 C, half at 14 C, at 39 C and in air of 65 %.
    [InlineData(CuringRule.SweetPotato, 29, 90, 1)]
    [InlineData(CuringRule.SweetPotato, 29, 85, 1)]
    [InlineData(CuringRule.SweetPotato, 19, 90, 1 / 3.0)]
    [InlineData(CuringRule.SweetPotato, 16, 90, 0.23974)]
    [InlineData(CuringRule.SweetPotato, 14, 90, 0.5 * 0.19245)]
    [InlineData(CuringRule.SweetPotato, 12, 90, 0)]
    [InlineData(CuringRule.SweetPotato, 39, 90, 0.5 * 3)]
    [InlineData(CuringRule.SweetPotato, 42, 90, 0)]
    [InlineData(CuringRule.SweetPotato, 29, 65, 0.5)]
    [InlineData(CuringRule.SweetPotato, 29, 40, 0)]
    // Necks dry twice as fast for 10 C, no faster from 32 C up, not at 2 C, at full rate to 70 % and not at all from 95 %.
    [InlineData(CuringRule.Drying, 27, 70, 1)]
    [InlineData(CuringRule.Drying, 27, 40, 1)]
    [InlineData(CuringRule.Drying, 17, 70, 0.5)]
    [InlineData(CuringRule.Drying, 32, 70, 1.41421)]
    [InlineData(CuringRule.Drying, 40, 70, 1.41421)]
    [InlineData(CuringRule.Drying, 6, 70, 0.5 * 0.23326)]
    [InlineData(CuringRule.Drying, 2, 70, 0)]
    [InlineData(CuringRule.Drying, 27, 82.5, 0.5)]
    [InlineData(CuringRule.Drying, 27, 95, 0)]
    // Rinds harden twice as fast for 10 C, not at 10 C, nor in saturated air.
    [InlineData(CuringRule.Rind, 28, 85, 1)]
    [InlineData(CuringRule.Rind, 28, 60, 1)]
    [InlineData(CuringRule.Rind, 18, 85, 0.5)]
    [InlineData(CuringRule.Rind, 40, 85, 1.31951)]
    [InlineData(CuringRule.Rind, 12, 85, 0.5 * 0.32988)]
    [InlineData(CuringRule.Rind, 10, 85, 0)]
    [InlineData(CuringRule.Rind, 28, 92.5, 0.5)]
    [InlineData(CuringRule.Rind, 28, 100, 0)]
    [InlineData(CuringRule.None, 28, 85, 0)]
    public void Warmth_hastens_it_between_its_edges(CuringRule rule, double pulpC, double humidity, double ratePerDay)
    {
        Curing.RatePerDay(rule, pulpC, humidity, wet: false).Should().BeApproximately(ratePerDay, 2e-5);
        Curing.RatePerDay(rule, pulpC, humidity, wet: true).Should().Be(0, "nothing cures under water");
    }

    [Theory]
    [InlineData(CuringRule.Potato, 2, 5, 6.9)]
    [InlineData(CuringRule.SweetPotato, 3, 5, 7)]
    [InlineData(CuringRule.Drying, 7, 12, 18)]
    [InlineData(CuringRule.Rind, 5, 7, 10)]
    public void Its_stages_are_reached_on_their_days_and_not_before(CuringRule rule, double closed, double adequate, double healed)
    {
        Curing.StageAfter(rule, 0).Should().Be(HealingStage.Open);
        foreach (var (days, stage) in ((double, HealingStage)[])[(closed, HealingStage.Sealed), (adequate, HealingStage.Adequate),
            (healed, HealingStage.Healed)])
        {
            Curing.DaysTo(rule, stage).Should().Be(days);
            Curing.StageAfter(rule, days).Should().Be(stage);
            Curing.StageAfter(rule, days - 0.01).Should().Be(stage - 1);
        }
    }

    [Fact]
    public void What_is_not_cured_never_gets_there() => Curing.StageAfter(CuringRule.None, 1e9).Should().Be(HealingStage.Open);

    [Theory]
    [InlineData(20, 1)]
    [InlineData(10, 1 / 3.0)]
    [InlineData(25, 1.42431)]
    [InlineData(30, 0.5 * 1.42431)]
    [InlineData(35, 0)]
    [InlineData(40, 0)]
    [InlineData(0, 0)]
    [InlineData(-1, 0)]
    public void Potatoes_heal_three_times_as_fast_at_20_C_as_at_10_and_not_at_35(double pulpC, double rate) =>
        WoundHealing.TemperatureRate(pulpC).Should().BeApproximately(rate, 2e-5);

    [Theory]
    [InlineData(80, 10, 1)]
    [InlineData(60, 10, 0.5)]
    [InlineData(40, 10, 0)]
    [InlineData(70, 20, 1)]
    [InlineData(70, 30, 1)]
    [InlineData(60, 20, 0.75)]
    [InlineData(70, 5, 0.75)]
    public void Dry_air_slows_it_less_where_it_is_warm(double humidity, double pulpC, double factor) =>
        WoundHealing.HumidityFactor(humidity, pulpC).Should().BeApproximately(factor, 1e-12);

    [Theory]
    [InlineData(double.NaN, 1)]
    [InlineData(5_000, 1)]
    [InlineData(52_500, 0.5)]
    [InlineData(100_000, 0)]
    [InlineData(200_000, 0)]
    public void So_does_carbon_dioxide_from_5000_ppm_up(double ppm, double factor) => WoundHealing.Co2Factor(ppm).Should()
        .BeApproximately(factor, 1e-12);
}
