using System.Globalization;
using RootCellar.Science;
using RootCellar.Science.Air;

namespace RootCellar.Household;

/// <summary>How figures, times and states read on a page, in the household's units and zone.</summary>
internal sealed class Show(HouseholdOptions household, TimeProvider time) : Units(household)
{
    private const double CubicFootM3 = 0.028316846592;

    public HouseholdCalendar Calendar { get; } = household.Calendar();

    public DateTimeOffset Now => time.GetUtcNow();

    public string LengthUnit => Pounds ? "ft" : "m";

    public double LengthM(double given) => Pounds ? given * Foot.Metres : given;

    /// <summary>The length of a row.</summary>
    public string Length(double metres) => Number(Pounds ? metres / Foot.Metres : metres, "0.#") + "\u00A0" + LengthUnit;

    /// <summary>What a row gave per foot or per metre of it.</summary>
    public string Yield(double kgPerMetre) => (Pounds ? Strings.PerFoot : Strings.PerMetre)
        .With(Number(Pounds ? kgPerMetre * Foot.Metres / Pound.Kilograms : kgPerMetre, "0.00") + "\u00A0" + WeightUnit);

    public string VolumeUnit => Pounds ? "ft³" : "m³";

    public double VolumeOf(double m3) => Math.Round(Pounds ? m3 / CubicFootM3 : m3, 2);

    /// <summary>A weight of the book, finer than a bin is ever weighed.</summary>
    public string Weight(double kg) => Number(WeightOf(kg), "0.0#") + "\u00A0" + WeightUnit;

    public double VolumeM3(double given) => Pounds ? given * CubicFootM3 : given;

    public string Temperature(double celsius) => $"{Number(Degrees(celsius), "0.0")}\u00A0{TemperatureUnit}";

    /// <summary>A difference of two temperatures.</summary>
    public string TemperatureApart(double kelvin) => $"{Number(DegreesApart(kelvin), "0.0")}\u00A0{TemperatureUnit}";

    /// <summary>A band's limits, which are whole in the scale they were printed in.</summary>
    public string TemperatureRange(double lowC, double highC) =>
        Strings.Range.With(Number(Degrees(lowC), "0.#"), Number(Degrees(highC), "0.#") + "\u00A0" + TemperatureUnit);

    public static string Humidity(double percent) => Number(percent, "0.0") + "\u00A0%";

    public static string HumidityRange(double low, double high) => Strings.Range.With(Number(low, "0.#"), Number(high, "0.#") + "\u00A0%");

    public static string Pascal(double pascal) => Number(pascal, "0") + "\u00A0Pa";

    public static string Light(double lux) => Number(lux, lux < 10 ? "0.0" : "0") + "\u00A0lx";

    public static string Co2(double ppm) => Number(ppm, "0") + "\u00A0ppm";

    /// <summary>The deficit with what a cheap sensor leaves of it; null where the air is out of range.</summary>
    public static string? Deficit(double temperatureC, double humidity)
    {
        if (temperatureC is < MoistAir.LowestTemperatureC or > MoistAir.HighestTemperatureC
            || humidity is < MoistAir.LowestHumidityPercent or > MoistAir.HighestHumidityPercent) return null;
        var deficit = Uncertainty.Of(temperatureC, humidity).DeficitPa;
        return Strings.Between.With(Number(Math.Max(0, deficit.Low), "0"), Number(Math.Max(0, deficit.High), "0"));
    }

    public string? DewPointBetween(double temperatureC, double humidity)
    {
        if (temperatureC is < MoistAir.LowestTemperatureC or > MoistAir.HighestTemperatureC
            || humidity is < MoistAir.LowestHumidityPercent or > MoistAir.HighestHumidityPercent) return null;
        var dew = Uncertainty.Of(temperatureC, humidity).DewPointC;
        return Strings.Between.With(Number(Degrees(dew.Low), "0.0"), Number(Degrees(dew.High), "0.0"));
    }

    public string Time(DateTimeOffset at)
    {
        var day = DayOf(at);
        var local = Local(at).DateTime;
        return day == Today ? WrittenTime.Hour(local) : WrittenTime.Moment(local, day.Year != Today.Year);
    }

    public DateOnly Today => DayOf(Now);

    /// <summary>The household's day of a moment.</summary>
    public DateOnly DayOf(DateTimeOffset at) => Calendar.DayOf(at);

    /// <summary>A day, with its year where that is not this one.</summary>
    public string Day(DateTimeOffset at) => Day(DayOf(at));

    public string Day(DateOnly day) => WrittenTime.Day(day, day.Year != Today.Year);

    /// <summary>The first moment of a day.</summary>
    public DateTimeOffset StartOf(DateOnly day) => Calendar.StartOf(day);

    /// <summary>The moment of a time typed on the household's clock.</summary>
    public DateTimeOffset Moment(DateTime local) => Calendar.Moment(local);

    public DateTimeOffset Local(DateTimeOffset at) => Calendar.Local(at);

    /// <summary>By the calendar: dug yesterday evening is yesterday.</summary>
    public string DaysAgo(DateTimeOffset at) => (Today.DayNumber - DayOf(at).DayNumber) switch
    {
        <= 0 => Strings.TodayInText,
        1 => Strings.YesterdayInText,
        var days => Strings.DaysAgo.With(days),
    };

    public string Age(DateTimeOffset at)
    {
        var age = Now - at;
        return age < TimeSpan.FromSeconds(5) ? Strings.JustNow : Strings.Ago.With(Span(age));
    }

    public static string Span(TimeSpan span)
    {
        if (span < TimeSpan.FromMinutes(2)) return Strings.Seconds.With(Math.Max(0, (int)span.TotalSeconds));
        if (span < TimeSpan.FromHours(2)) return Strings.Minutes.With((int)span.TotalMinutes);
        return span < TimeSpan.FromHours(48) ? Strings.Hours.With((int)span.TotalHours) : Strings.Days.With((int)span.TotalDays);
    }

    /// <summary>Where a figure stands against its band, in words.</summary>
    public string Against(double value, double low, double high, bool temperature)
    {
        if (value >= low && value <= high) return Strings.InBand;
        var by = value < low ? low - value : value - high;
        var size = temperature ? TemperatureApart(by) : Humidity(by);
        return (value < low ? Strings.BelowBand : Strings.AboveBand).With(size);
    }
}

/// <summary>Strings with places for values.</summary>
internal static class Patterns
{
    public static string With(this string pattern, params object?[] values) => string.Format(CultureInfo.CurrentCulture, pattern, values);
}
