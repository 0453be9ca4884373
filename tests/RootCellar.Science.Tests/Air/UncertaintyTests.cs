using CsCheck;
using RootCellar.Science.Air;

namespace RootCellar.Science.Tests.Air;

public sealed class UncertaintyTests
{
    [Fact]
    public void At_4_C_and_95_percent_three_percent_is_24_of_41_Pa()
    {
        var deficit = Uncertainty.Of(4, 95, temperatureAccuracyC: 0, humidityAccuracyPercent: 3).DeficitPa;
        deficit.Value.Should().BeApproximately(41, 0.5);
        (deficit.High - deficit.Value).Should().BeApproximately(24, 0.5);
        (deficit.Value - deficit.Low).Should().BeApproximately(24, 0.5);
    }

    [Fact]
    public void A_sensor_near_its_ceiling_could_be_in_saturated_air()
    {
        var known = Uncertainty.Of(4, 99.9);
        known.DeficitPa.Low.Should().Be(0);
        known.DeficitPa.High.Should().BeGreaterThan(20);
        known.DewPointC.High.Should().BeApproximately(4.3, 1e-6);
    }

    [Fact]
    public void The_interval_holds_every_air_the_accuracies_allow() =>
        Gen.Select(Gen.Double[-10, 40], Gen.Double[5, 100], Gen.Double[-1, 1], Gen.Double[-1, 1]).Sample((t, rh, a, b) =>
        {
            var known = Uncertainty.Of(t, rh, 0.5, 3);
            double humidity = Math.Min(100, rh + 3 * b);
            var air = MoistAir.At(t + 0.5 * a, humidity);
            return known.DewPointC.Low <= air.DewPointC + 1e-9 && air.DewPointC <= known.DewPointC.High + 1e-9
                && known.DeficitPa.Low <= air.VapourPressureDeficitPa + 1e-9 && air.VapourPressureDeficitPa <= known.DeficitPa.High + 1e-9
                && known.DewPointC.Low <= known.DewPointC.Value && known.DewPointC.Value <= known.DewPointC.High
                && known.DeficitPa.Low <= known.DeficitPa.Value && known.DeficitPa.Value <= known.DeficitPa.High;
        });

    [Theory]
    [InlineData(-40, 0.1)]
    [InlineData(85, 500)]
    [InlineData(-40, 500)]
    public void The_corners_of_what_is_taken_hold(double t, double rh) =>
        Uncertainty.Of(t, rh, 5, 100).DewPointC.Low.Should().BeLessThan(Uncertainty.Of(t, rh, 5, 100).DewPointC.High);

    [Fact]
    public void No_humidity_at_all_is_refused() =>
        FluentActions.Invoking(() => Uncertainty.Of(4, 0)).Should().Throw<ArgumentOutOfRangeException>();
}
