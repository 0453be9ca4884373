using RootCellar.Science.Air;

namespace RootCellar.Demo;

/// <summary>Outdoor air at one moment. Humidity is over water; sun is on level ground.</summary>
internal readonly record struct OutdoorAir(double TemperatureC, double VapourPa, double SunWPerM2, double RainMmPerHour)
{
    public double RelativeHumidityPercent => 100 * VapourPa / Saturation.OverWaterPa(TemperatureC);
}

/// <summary>
/// Invented mid-September weather of a hill farm at 44 N: a pure function of time. The days around the story are written
/// out; any other day is drawn by its number. Temperature runs from each morning's low to the afternoon's high and back,
/// vapour pressure follows the dew point of the air mass and is held through the day, so humidity falls as it warms.
/// </summary>
internal sealed class Weather(DateTimeOffset storyNoon, int seed = 17)
{
    private const double LatitudeDegrees = 44;
    private const double LongitudeDegrees = -72;

    // Low at 06:00, high at 15:00, dew point, cloud from 0 to 1, rain over the day. Assumed throughout: an invented fortnight.
    private static readonly Dictionary<int, Day> Written = new()
    {
        [-13] = new(9.0, 19.0, 9.2, 0.4, 0),
        [-12] = new(10.5, 17.5, 9.8, 0.8, 6),
        [-11] = new(9.5, 16.5, 9.4, 0.8, 9),
        [-10] = new(8.5, 18.0, 8.6, 0.3, 0),
        [-9] = new(5.5, 18.5, 2.5, 0.1, 0),
        [-8] = new(4.0, 19.5, 1.5, 0.05, 0),
        [-7] = new(6.0, 19.0, 4.5, 0.2, 0),
        [-6] = new(9.5, 18.0, 9.4, 0.6, 1),
        [-5] = new(10.5, 16.0, 9.8, 0.9, 12),
        [-4] = new(10.5, 15.5, 9.8, 0.95, 14),
        [-3] = new(9.5, 17.5, 9.2, 0.5, 0),
        [-2] = new(9.0, 18.5, 9.0, 0.3, 0),
        [-1] = new(9.5, 20.5, 9.4, 0.2, 0),
        [0] = new(12.5, 29.5, 10.0, 0.1, 0),
        [1] = new(8.5, 16.5, 8.6, 0.5, 0),
        [2] = new(9.0, 17.0, 8.9, 0.4, 0),
    };

    private readonly record struct Day(double LowC, double HighC, double DewPointC, double Cloud, double RainMm);

    /// <summary>The cold front that ends the hot day: hours after its midnight, local standard of the story.</summary>
    internal const double FrontHour = 18.5;

    public OutdoorAir At(DateTimeOffset instant)
    {
        var hours = (instant - storyNoon).TotalHours + 12;
        var day = (int)Math.Floor(hours / 24);
        var hour = hours - day * 24;

        var temperature = TemperatureC(day, hour) + Gusts(hours);
        var dewPoint = Smooth(DayOf(hour < 12 ? day - 1 : day).DewPointC, DayOf(hour < 12 ? day : day + 1).DewPointC,
            (hour + 12) % 24 / 24);
        // Muggy air comes up from the south before the front and leaves with it.
        if (day == 0)
            dewPoint += Smooth(0, 3.0, (hour - 9.5) / 2.5) - Smooth(0, 3.0, hour - FrontHour);
        var vapour = Math.Min(Saturation.OverWaterPa(dewPoint), 0.985 * Saturation.OverWaterPa(temperature));
        var cloud = DayOf(day).Cloud;
        return new OutdoorAir(temperature, vapour, SunWPerM2(instant, cloud), Rain(day, hour));
    }

    private double TemperatureC(int day, double hour)
    {
        var (today, tomorrow) = (DayOf(day), DayOf(day + 1));
        if (hour < 6)
        {
            var evening = EveningC(day - 1);
            return Smooth(evening, today.LowC, (hour + 4) / 10);
        }

        if (hour < 15)
            return Smooth(today.LowC, today.HighC, (hour - 6) / 9);
        if (day != 0)
            return hour < 20 ? Smooth(today.HighC, EveningC(day), (hour - 15) / 5) : Smooth(EveningC(day), tomorrow.LowC, (hour - 20) / 10);

        // The hot day holds until the front, which takes it down within the hour.
        return hour switch
        {
            < FrontHour => Smooth(today.HighC, 25.5, (hour - 15) / (FrontHour - 15)),
            < FrontHour + 1 => Smooth(25.5, 14.5, hour - FrontHour),
            < 20 => Smooth(14.5, EveningC(0), (hour - FrontHour - 1) / (20 - FrontHour - 1)),
            _ => Smooth(EveningC(0), tomorrow.LowC, (hour - 20) / 10),
        };
    }

    // Warm days cool fastest right after sunset: by eight in the evening two fifths of the fall are left.
    private double EveningC(int day) =>
        day == 0 ? 13.0 : DayOf(day + 1).LowC + 0.4 * (DayOf(day).HighC - DayOf(day + 1).LowC);

    private Day DayOf(int day)
    {
        if (Written.TryGetValue(day, out var written))
            return written;

        var wet = Chance.Uniform(seed, day * 4L) < 0.3;
        var mean = 13 + 1.3 * Chance.Bell(seed, day * 4L + 1);
        var swing = wet ? 3 : 4.5 + Chance.Uniform(seed, day * 4L + 2);
        var dewPoint = Math.Clamp(mean - swing + 0.3, 7.5, 10.5);
        return new Day(mean - swing, mean + swing, dewPoint, wet ? 0.9 : 0.3, wet ? 8 : 0);
    }

    private double Rain(int day, double hour)
    {
        if (day == 0)
            return hour is >= FrontHour and < FrontHour + 1.5 ? 6 : 0;

        // A day's rain falls in two spells of four hours.
        var begin = 2 + 8 * Chance.Uniform(seed, day * 4L + 3);
        return (hour >= begin && hour < begin + 4) || (hour >= begin + 8 && hour < begin + 12) ? DayOf(day).RainMm / 8 : 0;
    }

    private static double Gusts(double hours) =>
        0.25 * Math.Sin(hours * 2 * Math.PI / 0.71) + 0.2 * Math.Sin(hours * 2 * Math.PI / 1.93 + 1) + 0.15 * Math.Sin(
            hours * 2 * Math.PI / 0.23 + 2);

    /// <summary>
    /// Sun on level ground. Clear sky 910 sin h - 30 W/m2 and the cloud's share 1 - 0.75 N^3.4: Kasten and Czeplak (1980),
    /// Solar Energy 24:177, from memory. Declination 23.45 sin(360 (284 + n)/365): Cooper (1969), from memory. The equation
    /// of time (5 minutes in September) is left out.
    /// </summary>
    private static double SunWPerM2(DateTimeOffset instant, double cloud)
    {
        var utc = instant.UtcDateTime;
        var declination = double.DegreesToRadians(23.45 * Math.Sin(2 * Math.PI * (284 + utc.DayOfYear) / 365));
        var hourAngle = double.DegreesToRadians((utc.TimeOfDay.TotalHours - 12) * 15 + LongitudeDegrees);
        var latitude = double.DegreesToRadians(LatitudeDegrees);
        var height = Math.Sin(latitude) * Math.Sin(declination) + Math.Cos(latitude) * Math.Cos(declination) * Math.Cos(hourAngle);
        return Math.Max(0, 910 * height - 30) * (1 - 0.75 * Math.Pow(cloud, 3.4));
    }

    private static double Smooth(double from, double to, double share) =>
        from + (to - from) * (1 - Math.Cos(Math.PI * Math.Clamp(share, 0, 1))) / 2;
}
