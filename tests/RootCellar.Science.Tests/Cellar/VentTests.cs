using CsCheck;
using RootCellar.Science.Air;
using RootCellar.Science.Cellar;

namespace RootCellar.Science.Tests.Cellar;

public sealed class VentTests
{
    private const double Potato = -0.8;

    private static readonly Gen<(double T, double Rh)> Airs = Gen.Select(Gen.Double[-35, 42], Gen.Double[0.5, 100]);
    private static readonly Gen<(double T, double Rh)> CellarAirs = Gen.Select(Gen.Double[-10, 20], Gen.Double[40, 100]);

    /// <summary>docs/science/cellar.md, example 1.</summary>
    [Fact]
    public void Worked_example_a_room_changed_once_over()
    {
        var (inside, outside) = (MoistAir.At(6, 92), MoistAir.At(3, 80));
        var after = RoomAir.Blend(inside, outside, 1 - Math.Exp(-1));
        after.Air.HumidityRatio.Should().BeApproximately(0.0043271, 1e-7);
        after.Air.TemperatureC.Should().BeApproximately(4.106, 1e-3);
        after.Air.RelativeHumidityPercent.Should().BeApproximately(85.42, 0.01);
        after.FogGramsPerKg.Should().Be(0);
        after.Air.CondensationMarginC(6.5).Should().BeApproximately(6.5 - 1.882, 1e-3);
        outside.CondensationMarginC(6.5).Should().BeApproximately(6.5 + 0.107, 1e-3);
        inside.PulpDeficitPa(6.5).Should().BeApproximately(107.7, 0.1);
        after.Air.PulpDeficitPa(6.5).Should().BeApproximately(268.1, 0.1);
        Vent.CouldFreeze(3, Potato).Should().BeFalse();
        Vent.WouldWet(inside, outside, 6.5).Should().BeFalse();
    }

    [Theory]
    [InlineData(0.19, true)]
    [InlineData(0.21, false)]
    [InlineData(-20, true)]
    public void Air_within_a_degree_of_the_freezing_point_could_freeze(double outsideC, bool could) =>
        Vent.CouldFreeze(outsideC, Potato).Should().Be(could);

    [Fact]
    public void The_guard_itself_is_too_cold() => Vent.CouldFreeze(-1 + Vent.FreezingGuardC, -1).Should().BeTrue();

    [Theory]
    [InlineData(6, 92, 15, 90, 6.5, true)]
    [InlineData(6, 92, 9, 50, 6.5, false)]
    [InlineData(8, 98, 9, 93, 6.5, true)]
    [InlineData(9, 98, 8, 95, 6.5, false)]
    public void Air_wets_whose_dew_point_is_above_the_coldest_produce_unless_it_is_the_drier_of_the_two(
        double insideC, double insidePercent, double outsideC, double outsidePercent, double pulpC, bool wets) =>
        Vent.WouldWet(MoistAir.At(insideC, insidePercent), MoistAir.At(outsideC, outsidePercent), pulpC).Should().Be(wets);

    [Fact]
    public void Produce_at_the_very_dew_point_outside_would_be_wetted()
    {
        var outside = MoistAir.At(8, 90);
        Vent.WouldWet(MoistAir.At(6, 80), outside, outside.DewPointC).Should().BeTrue();
    }

    [Fact]
    public void The_same_air_outside_makes_nothing_wetter() => Vent.WouldWet(MoistAir.At(9, 98), MoistAir.At(9, 98), 6.5).Should()
        .BeFalse();

    [Fact]
    public void A_damp_warm_room_that_meets_cold_air_makes_fog()
    {
        var after = RoomAir.Blend(MoistAir.At(12, 98), MoistAir.At(1, 95), 0.45);
        after.FogGramsPerKg.Should().BeGreaterThan(0);
        after.Air.RelativeHumidityPercent.Should().BeApproximately(100, 1e-6);
    }

    [Fact]
    public void Water_and_heat_after_mixing_are_what_went_in() =>
        Gen.Select(Airs, Airs, Gen.Double[0, 1], Gen.Double[80_000, 103_000]).Sample(drawn =>
        {
            var ((inC, inPercent), (outC, outPercent), share, pressure) = drawn;
            var inside = MoistAir.At(inC, inPercent, pressure);
            var outside = MoistAir.At(outC, outPercent, pressure);
            var blend = RoomAir.Blend(inside, outside, share);
            double water = (1 - share) * inside.HumidityRatio + share * outside.HumidityRatio;
            double heat = (1 - share) * inside.EnthalpyJoulesPerKilogram + share * outside.EnthalpyJoulesPerKilogram;
            // The fog is liquid water of the air's temperature, 4.186 kJ/(kg K).
            double heatOfFog = blend.FogGramsPerKg * 4.186 * blend.Air.TemperatureC;
            return Math.Abs(blend.Air.HumidityRatio + blend.FogGramsPerKg / 1000 - water) < 1e-9
                && Math.Abs(blend.Air.EnthalpyJoulesPerKilogram + heatOfFog - heat) < 1e-2
                && blend.Air.RelativeHumidityPercent <= 100 && blend.FogGramsPerKg >= 0;
        });

    [Fact]
    public void All_new_air_is_the_air_outside() => Gen.Select(CellarAirs, CellarAirs).Sample(drawn =>
    {
        var after = RoomAir.Blend(At(drawn.Item1), At(drawn.Item2), 1).Air;
        return Math.Abs(after.TemperatureC - drawn.Item2.T) < 1e-9 && Math.Abs(after.RelativeHumidityPercent - drawn.Item2.Rh) < 1e-6;
    });

    [Fact]
    public void More_new_air_brings_the_room_nearer_to_outside() =>
        Gen.Select(CellarAirs, CellarAirs, Gen.Double[0, 1], Gen.Double[0, 1]).Sample(drawn =>
        {
            var (inside, outside, one, other) = drawn;
            var less = RoomAir.Blend(At(inside), At(outside), Math.Min(one, other));
            var more = RoomAir.Blend(At(inside), At(outside), Math.Max(one, other));
            // Fog warms the air as it falls out, so only clear air moves one way.
            return less.FogGramsPerKg > 0 || more.FogGramsPerKg > 0
                || Math.Abs(more.Air.TemperatureC - outside.T) <= Math.Abs(less.Air.TemperatureC - outside.T) + 1e-9;
        });

    [Fact]
    public void Temperature_mixes_nearly_as_dry_air_does() =>
        Gen.Select(CellarAirs, CellarAirs, Gen.Double[0, 1]).Sample(drawn =>
        {
            var (inside, outside, share) = drawn;
            var blend = RoomAir.Blend(At(inside), At(outside), share);
            return blend.FogGramsPerKg > 0 || Math.Abs(blend.Air.TemperatureC - ((1 - share) * inside.T + share * outside.T)) < 0.1;
        });

    [Fact]
    public void Airs_of_different_pressure_are_refused()
    {
        var act = () => RoomAir.Blend(MoistAir.At(5, 90), MoistAir.At(3, 90, 95_000), 0.5);
        act.Should().Throw<ArgumentException>().WithMessage("*pressure*");
    }

    [Theory]
    [InlineData(-40, 45, 0.5, null)]
    [InlineData(45, -40, 0, null)]
    [InlineData(-40.1, 3, 0.5, "inside")]
    [InlineData(45.1, 3, 0.5, "inside")]
    [InlineData(5, -40.1, 0.5, "outside")]
    [InlineData(5, 45.1, 0.5, "outside")]
    [InlineData(5, 3, -0.01, "freshShare")]
    [InlineData(5, 3, 1.01, "freshShare")]
    [InlineData(5, 3, double.NaN, "freshShare")]
    public void Airs_from_minus_40_to_45_C_are_mixed_and_others_refused_by_name(
        double insideC, double outsideC, double share, string? refused)
    {
        // MoistAir.At makes no air below -40 C; a figure set afterwards could be.
        static AirState Air(double c) => MoistAir.At(Math.Max(c, -40), 50) with { TemperatureC = c };
        var act = () => RoomAir.Blend(Air(insideC), Air(outsideC), share);
        if (refused is null)
            act.Should().NotThrow();
        else
            act.Should().Throw<ArgumentOutOfRangeException>().WithParameterName(refused);
    }

    private static AirState At((double T, double Rh) air) => MoistAir.At(air.T, air.Rh);
}
