using CsCheck;
using RootCellar.Demo;

namespace RootCellar.Tests.Demo;

public class WeatherTests
{
    private static readonly Weather Weather = new(Story.At(0, 12));

    [Fact]
    public void Any_moment_of_three_months_is_weather_such_a_farm_could_have() =>
        Gen.Double[-45, 45].Sample(days =>
        {
            var air = Weather.At(Story.At(0, 12) + TimeSpan.FromDays(days));
            return air.TemperatureC is > 0 and < 31
                && air.RelativeHumidityPercent is > 20 and < 99
                && air.SunWPerM2 is >= 0 and < 900
                && air.RainMmPerHour is >= 0 and < 10;
        });

    [Fact]
    public void It_never_leaps_except_for_the_front()
    {
        var steepest = Enumerable.Range(-40 * 96, 80 * 96)
            .Select(quarter => Story.At(0, quarter / 4.0))
            .Where(at => at < Story.At(0, Weather.FrontHour - 0.5) || at > Story.At(0, Weather.FrontHour + 1.5))
            .Max(at => Math.Abs(Weather.At(at.AddMinutes(15)).TemperatureC - Weather.At(at).TemperatureC));
        steepest.Should().BeLessThan(3, "C in a quarter of an hour");
    }

    [Fact]
    public void Afternoons_are_warmer_and_drier_than_mornings()
    {
        for (var day = -13; day <= 1; day++)
        {
            var (morning, afternoon) = (Weather.At(Story.At(day, 6)), Weather.At(Story.At(day, 15)));
            afternoon.TemperatureC.Should().BeGreaterThan(morning.TemperatureC + 3, "day {0}", day);
            afternoon.RelativeHumidityPercent.Should().BeLessThan(morning.RelativeHumidityPercent, "day {0}", day);
        }
    }

    /// <summary>
    /// Sun times of the US Naval Observatory's kind for 44 N 72 W on 17 September: rise about 06:30, set about 18:55 daylight
    /// time, noon height 48 degrees (from memory). Level-ground clear sky in mid-September at that height is 600 to 750 W/m2.
    /// </summary>
    [Fact]
    public void The_sun_rises_culminates_and_sets_when_it_should()
    {
        Weather.At(Story.At(0, 6)).SunWPerM2.Should().Be(0);
        Weather.At(Story.At(0, 7.5)).SunWPerM2.Should().BePositive();
        Weather.At(Story.At(0, 12.8)).SunWPerM2.Should().BeInRange(600, 750);
        Weather.At(Story.At(0, 18.25)).SunWPerM2.Should().BePositive();
        Weather.At(Story.At(0, 19.25)).SunWPerM2.Should().Be(0);
    }

    [Fact]
    public void The_fortnight_has_a_dry_spell_rain_and_a_hot_afternoon()
    {
        Weather.At(Story.At(-9, 15)).RelativeHumidityPercent.Should().BeLessThan(40);
        Weather.At(Story.At(-8, 15)).RelativeHumidityPercent.Should().BeLessThan(40);
        Enumerable.Range(0, 24).Sum(hour => Weather.At(Story.At(-4, hour + 0.5)).RainMmPerHour).Should().BeInRange(10, 18);
        Weather.At(Story.At(0, 15)).TemperatureC.Should().BeInRange(28.5, 30.5);
        Weather.At(Story.At(0, 20)).TemperatureC.Should().BeLessThan(15);
    }
}
