using CsCheck;
using RootCellar.Science.Air;

namespace RootCellar.Science.Tests.Air;

public sealed class MoistAirTests
{
    private static readonly Gen<(double T, double Rh, double P)> Airs =
        Gen.Select(Gen.Double[-40, 60], Gen.Double[0.1, 100], Gen.Double[60_000, 108_000]);

    [Fact]
    public void Dew_point_never_passes_the_air_and_the_deficit_is_never_below_nought() => Airs.Sample(air =>
    {
        var state = MoistAir.At(air.T, air.Rh, air.P);
        return state.DewPointC <= air.T + 1e-9 && state.VapourPressureDeficitPa >= -1e-9 * state.SaturationVapourPressurePa;
    });

    [Fact]
    public void Dew_point_is_the_inverse_of_saturation() => Airs.Sample(air =>
        Math.Abs(Saturation.OverWaterPa(MoistAir.At(air.T, air.Rh, air.P).DewPointC) / MoistAir.VapourPressurePa(
            air.T, air.Rh) - 1) < 1e-9);

    [Fact]
    public void Temperature_comes_back_from_saturation_within_a_thousandth() => Gen.Double[-60, 100].Sample(t =>
        Math.Abs(Saturation.TemperatureOverWaterC(Saturation.OverWaterPa(t)) - t) < 1e-6
        && (t > 0 || Math.Abs(Saturation.TemperatureOverIceC(Saturation.OverIcePa(t)) - t) < 1e-6));

    [Fact]
    public void Wet_bulb_lies_between_dew_point_and_air() => Airs.Sample(air =>
    {
        var state = MoistAir.At(air.T, air.Rh, air.P);
        return state.WetBulbC >= state.DewPointC - 1e-6 && state.WetBulbC <= air.T + 1e-9;
    });

    [Fact]
    public void Wet_bulb_solves_its_own_equation() => Airs.Sample(air =>
    {
        var state = MoistAir.At(air.T, air.Rh, air.P);
        // At exactly 0 C the air may lie in the gap between the two wicks; capped at the air, it is saturated over ice.
        if (state.WetBulbC is > -1e-6 and < 1e-6 || state.WetBulbC >= air.T - 1e-9)
            return true;
        return Math.Abs(WetBulb.HumidityRatio(air.T, state.WetBulbC, air.P) - state.HumidityRatio) < 1e-9;
    });

    [Fact]
    public void Saturated_air_has_its_own_temperature_as_wet_bulb_and_dew_point() => Gen.Double[-20, 50].Sample(t =>
    {
        var state = MoistAir.At(t, 100);
        return Math.Abs(state.WetBulbC - t) < 1e-6 && Math.Abs(state.DewPointC - t) < 1e-6;
    });

    [Fact]
    public void Damper_air_has_a_higher_wet_bulb_except_where_the_wick_thaws() =>
        Gen.Select(Gen.Double[1, 45], Gen.Double[20, 98]).Sample((t, rh) =>
        {
            double drier = MoistAir.At(t, rh).WetBulbC;
            double damper = MoistAir.At(t, rh + 1).WetBulbC;
            return damper > drier;
        });

    [Fact]
    public void Frost_point_is_given_below_nought_only_and_lies_between_dew_point_and_nought() => Airs.Sample(air =>
    {
        var state = MoistAir.At(air.T, air.Rh, air.P);
        return air.T < 0
            ? state.FrostPointC is { } frost && frost >= state.DewPointC && frost <= 0.011
            : state.FrostPointC is null;
    });

    [Fact]
    public void Produce_colder_than_the_dew_point_gets_wet_by_both_measures() =>
        Gen.Select(Airs, Gen.Double[-5, 40]).Sample((air, pulp) =>
        {
            var state = MoistAir.At(air.T, air.Rh, air.P);
            double margin = state.CondensationMarginC(pulp);
            return Math.Abs(margin) < 1e-9 || Math.Sign(margin) == Math.Sign(state.PulpDeficitPa(pulp));
        });

    [Theory]
    [InlineData(double.NaN, 50, 101325)]
    [InlineData(10, double.NaN, 101325)]
    [InlineData(10, 0, 101325)]
    [InlineData(10, -1, 101325)]
    [InlineData(10, 501, 101325)]
    [InlineData(-41, 50, 101325)]
    [InlineData(86, 50, 101325)]
    [InlineData(10, 50, 1013)]
    [InlineData(10, double.PositiveInfinity, 101325)]
    [InlineData(85, 200, 101325)]
    public void What_no_air_can_be_is_refused_and_TryAt_says_null(double t, double rh, double p)
    {
        MoistAir.TryAt(t, rh, p).Should().BeNull();
        FluentActions.Invoking(() => MoistAir.At(t, rh, p)).Should().Throw<ArgumentOutOfRangeException>();
    }

    [Fact]
    public void TryAt_is_At_for_any_air_it_takes() => Airs.Sample(air =>
        MoistAir.TryAt(air.T, air.Rh, air.P) == MoistAir.At(air.T, air.Rh, air.P));

    [Fact]
    public void Below_nought_the_wet_bulb_is_of_an_iced_wick_and_stays_at_the_air_when_frost_would_form()
    {
        // 100 % over water at -10 C is 110 % over ice.
        MoistAir.At(-10, 100).WetBulbC.Should().Be(-10);
        MoistAir.At(-10, 50).WetBulbC.Should().BeLessThan(-10);
    }

    [Fact]
    public void Frost_is_in_balance_with_the_air_that_makes_it() => Gen.Select(Gen.Double[-40, -0.01], Gen.Double[1, 100]).Sample((t, rh) =>
    {
        var state = MoistAir.At(t, rh);
        return Math.Abs(Saturation.OverIcePa(state.FrostPointC!.Value) / state.VapourPressurePa - 1) < 1e-6;
    });

    [Fact]
    public void Air_with_more_water_than_ice_can_be_in_balance_with_has_its_dew_point_instead()
    {
        // Mixed air before its fog has fallen: 852 Pa at -1 C, and ice goes no further than 611.657 Pa.
        var state = MoistAir.At(-1, 150);
        state.FrostPointC.Should().Be(state.DewPointC).And.BePositive();
    }

    /// <summary>
    /// ASHRAE Fundamentals 2017 ch. 1, equations 33 and 35, worked by hand with 611.21 Pa over water and 611.15 Pa over ice at 0 C, 217.3
    /// Pa over ice at -12 C.
    /// </summary>
    [Theory]
    [InlineData(5, 0, 0.001757)]
    [InlineData(-10, -12, 0.000625)]
    public void A_wick_is_wet_at_0_C_and_iced_below(double c, double wetBulbC, double ratio) =>
        WetBulb.HumidityRatio(c, wetBulbC, 101_325).Should().BeApproximately(ratio, 2e-6);
}
