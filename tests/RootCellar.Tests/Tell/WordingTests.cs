using RootCellar.Advice;
using RootCellar.Household;
using RootCellar.Watch;

namespace RootCellar.Tests.Tell;

public sealed class WordingTests
{
    [Theory]
    [InlineData(0, "under 1 min")]
    [InlineData(25, "25 min")]
    [InlineData(59.9, "59 min")]
    [InlineData(120, "2 h")]
    [InlineData(130, "2 h 10 min")]
    [InlineData(2879, "47 h 59 min")]
    [InlineData(2880, "2 days")]
    [InlineData(3960, "2 days 18 h")]
    [InlineData(4700, "3 days 6 h")]
    [InlineData(7600, "5 days")]
    public void Durations_are_as_people_say_them(double minutes, string expected) =>
        Wording.Duration(TimeSpan.FromMinutes(minutes)).Should().Be(expected);

    [Theory]
    [InlineData(21.7, nameof(TemperatureScale.Fahrenheit), "71F")]
    [InlineData(21.7, nameof(TemperatureScale.Celsius), "21.7C")]
    [InlineData(21.96, nameof(TemperatureScale.Celsius), "22.0C")]
    [InlineData(-0.04, nameof(TemperatureScale.Celsius), "0.0C")]
    [InlineData(-18, nameof(TemperatureScale.Fahrenheit), "0F")]
    [InlineData(-40, nameof(TemperatureScale.Fahrenheit), "-40F")]
    public void Temperatures_are_whole_degrees_F_or_tenths_of_a_degree_C(double celsius, string scale, string expected) =>
        Wording.Temperature(celsius, Enum.Parse<TemperatureScale>(scale)).Should().Be(expected);

    [Theory]
    [InlineData(nameof(Measure.Air), 21.7, 140.0 / 9, "71F", "60F")]
    [InlineData(nameof(Measure.Air), 15.7, 140.0 / 9, "60.3F", "60.0F")]
    [InlineData(nameof(Measure.Air), 15.57, 140.0 / 9, "just over 60F", "60F")]
    [InlineData(nameof(Measure.Pulp), -0.01, 0.0, "just under 32F", "32F")]
    [InlineData(nameof(Measure.Humidity), 84.7, 85.0, "84.7%", "85.0%")]
    [InlineData(nameof(Measure.Co2), 5020, 5000, "5,020 ppm", "5,000 ppm")]
    [InlineData(nameof(Measure.Light), 10.3, 10, "10.3 lux", "10.0 lux")]
    public void A_value_never_reads_like_its_limit(string measure, double value, double limit, string shown, string against) =>
        Wording.Against(Enum.Parse<Measure>(measure), value, limit, TemperatureScale.Fahrenheit).Should().Be((shown, against));
}
