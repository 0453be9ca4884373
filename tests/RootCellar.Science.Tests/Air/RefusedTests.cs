using RootCellar.Science.Air;

namespace RootCellar.Science.Tests.Air;

/// <summary>
/// The ends of every stated range are taken, and what is beyond them is refused with the figure's name: no formula is used where it does
/// not hold.
/// </summary>
public sealed class RefusedTests
{
    private static readonly (string Name, double Low, double High, double Beyond, Func<double, double> Of)[] Formulas =
    [
        ("temperatureC", -100, 373.946, 0.01, Saturation.OverWaterPa),
        ("vapourPressurePa", 0.01, 22.064e6, 0.001, Saturation.TemperatureOverWaterC),
        ("temperatureC", -200, 0.01, 0.001, Saturation.OverIcePa),
        ("vapourPressurePa", 1e-4, 611.657, 1e-5, Saturation.TemperatureOverIceC),
        ("temperatureC", -40, 85, 0.1, c => MoistAir.At(c, 50).DewPointC),
        ("relativeHumidityPercent", 0.1, 500, 0.01, percent => MoistAir.At(10, percent).DewPointC),
        ("pressurePa", 50_000, 115_000, 1, pressure => MoistAir.At(10, 50, pressure).HumidityRatio),
        ("temperatureC", -40, 85, 0.1, c => Uncertainty.Of(c, 50).DewPointC.Value),
        ("relativeHumidityPercent", 0.1, 500, 0.01, percent => Uncertainty.Of(10, percent).DewPointC.Value),
        ("temperatureAccuracyC", 0, 5, 0.1, c => Uncertainty.Of(10, 50, c).DewPointC.Low),
        ("humidityAccuracyPercent", 0, 100, 0.1, percent => Uncertainty.Of(10, 50, 1, percent).DewPointC.Low),
    ];

    public static TheoryData<int> Each => [.. Enumerable.Range(0, Formulas.Length)];

    [Theory]
    [MemberData(nameof(Each))]
    public void A_formula_is_used_in_its_range_and_nowhere_else(int which)
    {
        var (name, low, high, beyond, of) = Formulas[which];
        double.IsFinite(of(low)).Should().BeTrue();
        double.IsFinite(of(high)).Should().BeTrue();
        foreach (double outside in (double[])[low - beyond, high + beyond, double.NaN])
            FluentActions.Invoking(() => of(outside)).Should().Throw<ArgumentOutOfRangeException>($"{outside}").WithParameterName(name);
    }

    [Theory]
    [InlineData(-40, 0.1, 50_000)]
    [InlineData(85, 100, 115_000)]
    [InlineData(20, 500, 101_325)]
    public void TryAt_takes_the_ends_of_the_ranges_too(double c, double percent, double pressure) =>
        MoistAir.TryAt(c, percent, pressure).Should().Be(MoistAir.At(c, percent, pressure));

    [Fact]
    public void Dry_air_holds_no_water_and_vapour_alone_is_no_air()
    {
        MoistAir.HumidityRatio(0, 101_325).Should().Be(0);
        foreach (double vapour in (double[])[-1, 101_325, 101_326, double.NaN])
        {
            FluentActions.Invoking(() => MoistAir.HumidityRatio(vapour, 101_325)).Should().Throw<ArgumentOutOfRangeException>()
                .WithMessage("The vapour pressure must be from 0 Pa to below*");
        }
    }
}
