using CsCheck;
using RootCellar.Monitoring;
using RootCellar.Science.Air;
using RootCellar.Science.Cellar;

namespace RootCellar.Science.Tests.Cellar;

public sealed class FloorWaterTests
{
    private static readonly AirState Inside = MoistAir.At(5, 85);
    private static readonly AirState Outside = MoistAir.At(2, 85);
    private static readonly double Air = GasBalance.AirM3(30, 1200);

    /// <summary>docs/science/cellar.md, example 2.</summary>
    [Fact]
    public void Worked_example_from_85_to_93_percent()
    {
        Air.Should().BeApproximately(28.89, 0.01);
        var plan = FloorWater.Plan(new FloorWaterQuestion(Inside, 93, Outside, 5, Air, 0.25, 6.5));
        plan.Verdict.Should().Be(FloorWaterVerdict.Put);
        plan.HighestHumidityPercent.Should().BeApproximately(93.24, 0.01);
        plan.LitresAtOnce.Should().BeApproximately(0.0157, 1e-4);
        plan.LitresPerDay.Should().BeApproximately(0.131, 1e-3);
        FloorWater.DaysLasting(0.5, plan.LitresPerDay)!.Value.Should().BeApproximately(3.81, 0.02);
        FloorWater.EvaporationMegajoules(0.5, 5).Should().BeApproximately(1.245, 1e-3);
    }

    [Fact]
    public void Refuses_a_humidity_that_would_wet_the_coldest_produce()
    {
        var plan = FloorWater.Plan(new FloorWaterQuestion(Inside, 93, Outside, 4, Air, 0.25, 6.5));
        plan.Verdict.Should().Be(FloorWaterVerdict.WouldWet);
        plan.HighestHumidityPercent.Should().BeApproximately(86.88, 0.01);
        (plan.LitresAtOnce + plan.LitresPerDay).Should().Be(0);
    }

    [Fact]
    public void Lots_that_give_off_enough_need_no_water()
    {
        var plan = FloorWater.Plan(new FloorWaterQuestion(Inside, 93, Outside, 5, Air, 0.25, 20));
        plan.Verdict.Should().Be(FloorWaterVerdict.NoNeed);
        plan.SurplusLitresPerDay.Should().BeApproximately(0.48 - 0.2872, 1e-3);
        FloorWater.DaysLasting(1, FloorWater.LitresPerDay(MoistAir.At(5, 93), Outside, Air, 0.25, 20)).Should().BeNull();
    }

    [Fact]
    public void Air_damper_than_wanted_needs_no_water_yet() =>
        FloorWater.Plan(new FloorWaterQuestion(MoistAir.At(5, 92), 88, Outside, 5, Air, 0.25, 0)).Verdict.Should().Be(FloorWaterVerdict.NoNeed);

    [Fact]
    public void The_water_brings_the_air_to_the_humidity_asked_for() =>
        Gen.Select(Gen.Double[0, 20], Gen.Double[40, 100], Gen.Double[40, 100], Gen.Double[1, 500]).Sample(drawn =>
        {
            var (c, now, wanted, volume) = drawn;
            var air = MoistAir.At(c, now);
            double grams = air.AbsoluteHumidityGramsPerCubicMetre * volume + 1000 * FloorWater.LitresAtOnce(air, wanted, volume);
            return Math.Abs(grams / volume / MoistAir.At(c, wanted).AbsoluteHumidityGramsPerCubicMetre - 1) < 1e-9;
        });

    [Fact]
    public void What_is_put_down_never_comes_within_the_margin_of_the_coldest_produce() =>
        Gen.Select(Gen.Double[0, 20], Gen.Double[50, 100], Gen.Double[50, 100], Gen.Double[-3, 3], Gen.Double[0, 2]).Sample(drawn =>
        {
            var (c, now, wanted, pulpAbove, perHour) = drawn;
            var plan = FloorWater.Plan(new FloorWaterQuestion(MoistAir.At(c, now), wanted, Outside, c + pulpAbove, Air, perHour, 1));
            return plan.LitresAtOnce == 0 || MoistAir.At(c, wanted).CondensationMarginC(c + pulpAbove) >= Vent.NearlyWetMarginC - 1e-6;
        });

    [Fact]
    public void A_day_of_that_water_holds_the_humidity() =>
        Gen.Select(Gen.Double[1, 15], Gen.Double[70, 99], Gen.Double[0.02, 3], Gen.Double[0, 30]).Sample(drawn =>
        {
            var (c, percent, perHour, produce) = drawn;
            var held = MoistAir.At(c, percent);
            double dryKg = Air * RoomAir.DryAirKgPerM3(held);
            double perHourKg = (FloorWater.LitresPerDay(held, Outside, Air, perHour, produce) + 24 * produce / 1000) / 24;
            // The balance of the box itself, walked through a day in steps of six seconds.
            double ratio = held.HumidityRatio;
            for (int step = 0; step < 14_400; step++)
                ratio += (perHourKg / dryKg - perHour * (ratio - Outside.HumidityRatio)) / 600;
            return Math.Abs(ratio / held.HumidityRatio - 1) < 1e-9;
        }, iter: 50);

    [Fact]
    public void A_draughtier_room_needs_more_and_breathing_lots_need_less() =>
        Gen.Select(Gen.Double[0, 2], Gen.Double[0, 2], Gen.Double[0, 30], Gen.Double[0, 30]).Sample(drawn =>
        {
            var (n1, n2, g1, g2) = drawn;
            var held = MoistAir.At(5, 93);
            double Need(double n, double g) => FloorWater.LitresPerDay(held, Outside, Air, n, g);
            return Need(Math.Min(n1, n2), g1) <= Need(Math.Max(n1, n2), g1) && Need(n1, Math.Min(g1, g2)) >= Need(n1, Math.Max(g1, g2));
        });
}
