using System.Globalization;
using RootCellar.Household;
using RootCellar.Readings;
using RootCellar.Science;
using RootCellar.Science.Air;
using RootCellar.Science.Crops;
using RootCellar.Watch;

namespace RootCellar.Pages;

/// <summary>How figures, times and states read on a page, in the household's units and zone.</summary>
internal sealed class Show(Settings settings, TimeProvider time)
{
    private const double CubicFootM3 = 0.028316846592;
    private const double FootM = Ledger.Events.RowPlanted.MetresPerFoot;

    public HouseholdCalendar Calendar { get; } = settings.Household.Calendar();

    public DateTimeOffset Now => time.GetUtcNow();

    public bool Fahrenheit => settings.Household.Temperature != "C";

    public bool Pounds => settings.Household.Weight == "lb";

    /// <summary>The household's unit of weight, as the book writes it.</summary>
    public string WeightUnit => Pounds ? "lb" : "kg";

    public string LengthUnit => Pounds ? "ft" : "m";

    public double LengthM(double given) => Pounds ? given * FootM : given;

    /// <summary>The length of a row.</summary>
    public string Length(double metres) => Number(Pounds ? metres / FootM : metres, "0.#") + "\u00A0" + LengthUnit;

    /// <summary>What a row gave per foot or per metre of it.</summary>
    public string Yield(double kgPerMetre) => (Pounds ? Strings.PerFoot : Strings.PerMetre).With(Number(Pounds ? kgPerMetre * FootM / Pound.Kilograms : kgPerMetre, "0.0#") + "\u00A0" + WeightUnit);

    public string VolumeUnit => Pounds ? "ft³" : "m³";

    public double VolumeOf(double m3) => Math.Round(Pounds ? m3 / CubicFootM3 : m3, 2);

    public double WeightKg(double given) => Pounds ? given * Pound.Kilograms : given;

    public double WeightOf(double kg) => Pounds ? kg / Pound.Kilograms : kg;

    /// <summary>A weight of the book, finer than a bin is ever weighed.</summary>
    public string Weight(double kg) => Number(WeightOf(kg), "0.0#") + "\u00A0" + WeightUnit;

    public double Celsius(double given) => Fahrenheit ? (given - 32) / 1.8 : given;

    public double VolumeM3(double given) => Pounds ? given * CubicFootM3 : given;

    /// <summary>The temperature in the household's scale, for charts.</summary>
    public double Degrees(double celsius) => Fahrenheit ? (celsius * 1.8) + 32 : celsius;

    public string Temperature(double celsius) => $"{Number(Degrees(celsius), "0.0")}\u00A0{Unit}";

    public string Unit => Fahrenheit ? "°F" : "°C";

    /// <summary>A band's limits, which are whole in the scale they were printed in.</summary>
    public string TemperatureRange(double lowC, double highC) => Strings.Range.With(Number(Degrees(lowC), "0.#"), Number(Degrees(highC), "0.#") + "\u00A0" + Unit);

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

    /// <summary>A reading of the Sensors page. What is not finite stays as it came.</summary>
    public string Value(Reading r) => !double.IsFinite(r.Value) ? Strings.NotANumber : r.Quantity switch
    {
        Quantity.Temperature or Quantity.Pulp => Temperature(r.Value),
        Quantity.Humidity => Humidity(r.Value),
        Quantity.Light => Light(r.Value),
        Quantity.Co2 => Co2(r.Value),
        Quantity.Pressure => Number(r.Value / 100, "0.0") + "\u00A0hPa",
        Quantity.Weight => Pounds ? Number(r.Value / Pound.Kilograms, "0.0") + "\u00A0lb" : Number(r.Value, "0.0") + "\u00A0kg",
        Quantity.BatteryVolts => Number(r.Value, "0.00") + "\u00A0V",
        Quantity.BatteryPercent => Number(r.Value, "0") + "\u00A0%",
        _ => Number(r.Value, "0") + "\u00A0dBm",
    };

    public static string Name(Quantity quantity) => quantity switch
    {
        Quantity.Temperature => Strings.Temperature,
        Quantity.Humidity => Strings.Humidity,
        Quantity.Pulp => Strings.Pulp,
        Quantity.Light => Strings.Light,
        Quantity.Co2 => Strings.Co2,
        Quantity.Pressure => Strings.Pressure,
        Quantity.Weight => Strings.Weight,
        Quantity.BatteryVolts or Quantity.BatteryPercent => Strings.Battery,
        _ => Strings.Signal,
    };

    /// <summary>An alarm's value, worst or limit; empty where the rule has none.</summary>
    public string Measured(Measure measure, double? value) => (measure, value) switch
    {
        (_, null) => "",
        (Measure.Air or Measure.Pulp, { } v) => Temperature(v),
        (Measure.Humidity, { } v) => Humidity(v),
        (Measure.HumiditySpread, { } v) => Humidity(v),
        (Measure.DewMargin or Measure.AirSpread, { } v) => $"{Number(Fahrenheit ? v * 1.8 : v, "0.0")}\u00A0{Unit}",
        (Measure.Light, { } v) => Light(v),
        (Measure.Co2, { } v) => Co2(v),
        (Measure.Step, { } v) => Span(TimeSpan.FromSeconds(Math.Abs(v))),
        _ => "",
    };

    public string Time(DateTimeOffset at)
    {
        return Local(at).ToString(DayOf(at) == Today ? "HH:mm" : "ddd d MMM HH:mm", CultureInfo.CurrentCulture);
    }

    public DateOnly Today => DayOf(Now);

    /// <summary>The household's day of a moment.</summary>
    public DateOnly DayOf(DateTimeOffset at) => Calendar.DayOf(at);

    /// <summary>A day, with its year where that is not this one.</summary>
    public string Day(DateTimeOffset at) => Day(DayOf(at));

    public string Day(DateOnly day) => day.ToString(day.Year == Today.Year ? "d MMM" : "d MMM yyyy", CultureInfo.CurrentCulture);

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
        var size = temperature ? $"{Number(Fahrenheit ? by * 1.8 : by, "0.0")}\u00A0{Unit}" : Humidity(by);
        return (value < low ? Strings.BelowBand : Strings.AboveBand).With(size);
    }

    public string Reason(BandReason reason) => Strings.BandReason.With(
        reason.CropName,
        Name(reason.Purpose),
        TemperatureRange(reason.Wish.TemperatureLowC, reason.Wish.TemperatureHighC),
        HumidityRange(reason.Wish.HumidityLowPercent, reason.Wish.HumidityHighPercent));

    /// <summary>Who says so: the source of the very band that is held to, curing or storage.</summary>
    public static string Source(BandReason reason) => CropTable.Default.Find(reason.Crop) is { } crop
        ? reason.Purpose == Places.Purpose.Curing && crop.Curing is { } curing ? curing.Source : crop.Storage.Source
        : reason.Source;

    public static string Name(Places.Purpose purpose) => purpose switch
    {
        Places.Purpose.Curing => Strings.PurposeCuring,
        Places.Purpose.Storage => Strings.PurposeStorage,
        _ => Strings.PurposeOutdoors,
    };

    public static string Name(AlarmState state) => state switch
    {
        AlarmState.Unacknowledged => Strings.StateUnacknowledged,
        AlarmState.Acknowledged => Strings.StateAcknowledged,
        AlarmState.ReturnedUnacknowledged => Strings.StateReturned,
        AlarmState.Shelved => Strings.StateShelved,
        _ => Strings.StateNormal,
    };

    /// <summary>Where an alarm stands, and until when it is quiet.</summary>
    public string Standing(Alarm alarm) =>
        alarm is { State: AlarmState.Shelved, ShelvedUntil: { } until } ? Name(alarm.State) + " " + Strings.Until.With(Time(until)) : Name(alarm.State);

    public static string Name(AlarmPriority priority) => priority switch
    {
        AlarmPriority.Urgent => Strings.PriorityUrgent,
        AlarmPriority.High => Strings.PriorityHigh,
        _ => Strings.PriorityLow,
    };

    public static string Name(Quality quality) => quality switch
    {
        Quality.Good => Strings.QualityGood,
        Quality.Saturated => Strings.QualitySaturated,
        _ => Strings.QualityDoubt,
    };

    private static string Number(double value, string format)
    {
        var text = value.ToString(format, CultureInfo.CurrentCulture);
        // What rounds to nought has no sign.
        return text.Any(c => c is >= '1' and <= '9') ? text : text.TrimStart('-');
    }
}

/// <summary>Strings with places for values.</summary>
internal static class Patterns
{
    public static string With(this string pattern, params object?[] values) => string.Format(CultureInfo.CurrentCulture, pattern, values);
}
