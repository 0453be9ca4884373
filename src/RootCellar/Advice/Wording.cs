using RootCellar.Household;
using RootCellar.Science;
using RootCellar.Watch;

namespace RootCellar.Advice;

/// <summary>Numbers as people say them. From SI.</summary>
internal static class Wording
{
    // "the probe by the door" is whole, and two of them still leave room for what is wrong.
    private const int LongestSensor = 28;

    /// <summary>A value and its limit, in as few digits as still tell them apart.</summary>
    public static (string Value, string Limit) Against(Measure measure, double value, double limit, TemperatureScale scale)
    {
        var (v, l) = (Figure(measure, value, scale), Figure(measure, limit, scale));
        if (!string.Equals(v, l, StringComparison.Ordinal))
            return (v, l);

        (v, l) = (Fine(measure, value, scale), Fine(measure, limit, scale));
        return string.Equals(v, l, StringComparison.Ordinal)
            ? ((value < limit ? Strings.JustUnder : Strings.JustOver).With(l = Figure(measure, limit, scale)), l)
            : (v, l);
    }

    /// <summary>
    /// How far a value is from its limit: the difference of the two figures as they are shown, in tenths where whole ones are the same.
    /// </summary>
    public static string Apart(Measure measure, double value, double limit, TemperatureScale scale)
    {
        var (v, l, unit) = measure is Measure.Air or Measure.Pulp
            ? scale == TemperatureScale.Fahrenheit ? (Fahrenheit.Of(value), Fahrenheit.Of(limit), "F") : (value, limit, "C")
            : (value, limit, "%");
        var step = unit == "C" ? 0.1 : 1;
        var apart = Math.Abs(To(v, step) - To(l, step));
        if (apart < step / 2) apart = Math.Max(0.1, Math.Abs(To(v, 0.1) - To(l, 0.1)));
        return (unit == "C" ? Tenths(apart) : Plain(Math.Round(apart, 1))) + unit;

        static double To(double figure, double step) => Math.Round(figure / step, MidpointRounding.AwayFromZero) * step;
    }

    /// <summary>A sensor without its place, which is named before it, short enough for a text.</summary>
    /// <param name="key">Its topic.</param>
    /// <param name="given">What people call it; null where nobody gave it a name.</param>
    public static string SensorName(string key, string? given = null)
    {
        var name = given ?? key[(key.LastIndexOf('/') + 1)..];
        return name.Length <= LongestSensor ? name : name[..(LongestSensor - 1)].TrimEnd(' ', '.', ',', '-') + ".";
    }

    public static string Figure(Measure measure, double value, TemperatureScale scale) => measure switch
    {
        Measure.Air or Measure.Pulp => Temperature(value, scale),
        Measure.Humidity => Whole(value) + "%",
        Measure.DewMargin or Measure.AirSpread => Difference(Math.Abs(value), scale),
        Measure.HumiditySpread => Whole(value) + "%",
        Measure.DiskFree => Tenths(value) + "%",
        Measure.Light => Whole(value) + " lux",
        Measure.Co2 => Thousands(Math.Round(value / 100, MidpointRounding.AwayFromZero) * 100) + " ppm",
        Measure.Step => Duration(TimeSpan.FromSeconds(Math.Abs(value))),
        _ => "",
    };

    /// <summary>Whole degrees F, or tenths of a degree C, as on a page.</summary>
    public static string Temperature(double celsius, TemperatureScale scale) => scale == TemperatureScale.Fahrenheit
        ? Whole(Fahrenheit.Of(celsius)) + "F"
        : Tenths(celsius) + "C";

    /// <summary>
    /// A span of hours and minutes that a tired reader takes in at once: "25 min", "2 h 10 min", "2 days 18 h", "9 days".
    /// </summary>
    public static string Duration(TimeSpan span)
    {
        if (span < TimeSpan.FromMinutes(1))
            return Strings.DurationUnder;
        if (span < TimeSpan.FromHours(1))
            return Strings.Minutes.With((int)span.TotalMinutes);
        if (span >= TimeSpan.FromHours(48))
            return span < TimeSpan.FromDays(5) && span.Hours > 0 ? Strings.DurationDaysHours.With(span.Days, span.Hours)
                : Strings.Days.With((long)span.TotalDays);

        var hours = (int)span.TotalHours;
        return span.Minutes == 0 ? Strings.Hours.With(hours) : Strings.DurationHoursMinutes.With(hours, span.Minutes);
    }

    private static string Fine(Measure measure, double value, TemperatureScale scale) => measure switch
    {
        Measure.Air or Measure.Pulp => scale == TemperatureScale.Fahrenheit ? Tenths(Fahrenheit.Of(value)) + "F" : Tenths(value) + "C",
        Measure.Humidity => Tenths(value) + "%",
        Measure.AirSpread => scale == TemperatureScale.Fahrenheit ? Tenths(value * Fahrenheit.PerCelsius) + "F" : Tenths(value) + "C",
        Measure.HumiditySpread => Tenths(value) + "%",
        Measure.Light => Tenths(value) + " lux",
        Measure.Co2 => Thousands(value) + " ppm",
        _ => Figure(measure, value, scale),
    };

    private static string Difference(double kelvin, TemperatureScale scale)
    {
        var (size, unit) = scale == TemperatureScale.Fahrenheit ? (kelvin * Fahrenheit.PerCelsius, "F") : (kelvin, "C");
        return (scale == TemperatureScale.Fahrenheit && size >= 0.95 ? Whole(size) : Tenths(Math.Max(size, 0.1))) + unit;
    }

    private static string Whole(double value) => Units.Number(value, "0");

    internal static string Thousands(double value) => Units.Number(value, "#,0");

    private static string Tenths(double value) => Units.Number(value, "0.0");

    private static string Plain(double value) => Units.Number(value, "0.#");
}
