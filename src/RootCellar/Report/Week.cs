using System.Globalization;

namespace RootCellar.Report;

/// <summary>An ISO 8601 week on the household's clock: Monday 00:00 to the next Monday 00:00, which is not always 168 hours.</summary>
/// <param name="Name">As ISO 8601 writes it: 2026-W48.</param>
internal sealed record Week(string Name, DateOnly Monday, DateTimeOffset From, DateTimeOffset To)
{
    /// <summary>The week a moment lies in.</summary>
    public static Week Of(DateTimeOffset at, TimeZoneInfo zone)
    {
        var day = DateOnly.FromDateTime(TimeZoneInfo.ConvertTime(at, zone).DateTime);
        return Beginning(day.AddDays(-(((int)day.DayOfWeek + 6) % 7)), zone);
    }

    /// <summary>The last week that is over.</summary>
    public static Week LastWhole(DateTimeOffset now, TimeZoneInfo zone) => Of(now, zone).Before(zone);

    /// <summary>A week by its name; null where that is none.</summary>
    public static Week? Named(string name, TimeZoneInfo zone)
    {
        if (name.Length != 8 || name[4] != '-' || name[5] is not ('W' or 'w')) return null;
        if (!int.TryParse(name.AsSpan(0, 4), NumberStyles.None, CultureInfo.InvariantCulture, out int year) || !int.TryParse(name.AsSpan(6), NumberStyles.None, CultureInfo.InvariantCulture, out int number)) return null;
        if (year is < 1990 or > 9000 || number < 1 || number > ISOWeek.GetWeeksInYear(year)) return null;
        return Beginning(DateOnly.FromDateTime(ISOWeek.ToDateTime(year, number, DayOfWeek.Monday)), zone);
    }

    public Week Before(TimeZoneInfo zone) => Beginning(Monday.AddDays(-7), zone);

    public Week After(TimeZoneInfo zone) => Beginning(Monday.AddDays(7), zone);

    /// <summary>The moment a clock on the wall shows a time of a day: the first where it shows it twice, and when it has been put forward past it, the moment that was done.</summary>
    public static DateTimeOffset Moment(DateOnly day, TimeOnly time, TimeZoneInfo zone)
    {
        var local = day.ToDateTime(time);
        // The hour that is left out ends where the clock was put forward: an hour at most, in quarters of one.
        while (zone.IsInvalidTime(local)) local = local.AddMinutes(15 - (local.Minute % 15));
        var offset = zone.IsAmbiguousTime(local) ? zone.GetAmbiguousTimeOffsets(local).Max() : zone.GetUtcOffset(local);
        return new DateTimeOffset(local, offset);
    }

    private static Week Beginning(DateOnly monday, TimeZoneInfo zone)
    {
        var day = monday.ToDateTime(TimeOnly.MinValue);
        return new Week(
            string.Create(CultureInfo.InvariantCulture, $"{ISOWeek.GetYear(day):0000}-W{ISOWeek.GetWeekOfYear(day):00}"),
            monday, Moment(monday, TimeOnly.MinValue, zone), Moment(monday.AddDays(7), TimeOnly.MinValue, zone));
    }
}
