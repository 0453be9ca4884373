using System.Globalization;
using RootCellar.Household;

namespace RootCellar.Report;

/// <summary>An ISO 8601 week on the household's clock: Monday 00:00 to the next Monday 00:00, which is not always 168 hours.</summary>
/// <param name="Name">As ISO 8601 writes it: 2026-W48.</param>
internal sealed record Week(string Name, DateOnly Monday, DateTimeOffset From, DateTimeOffset To)
{
    /// <summary>The week a moment lies in.</summary>
    public static Week Of(DateTimeOffset at, TimeZoneInfo zone)
    {
        var day = HouseholdCalendar.Of(zone).DayOf(at);
        return Beginning(day.AddDays(-(((int)day.DayOfWeek + 6) % 7)), zone);
    }

    /// <summary>The last week that is over.</summary>
    public static Week LastWhole(DateTimeOffset now, TimeZoneInfo zone) => Of(now, zone).Before(zone);

    /// <summary>A week by its name; null where that is none.</summary>
    public static Week? Named(string name, TimeZoneInfo zone)
    {
        if (name.Length != 8 || name[4] != '-' || name[5] is not ('W' or 'w')) return null;
        if (!int.TryParse(name.AsSpan(0, 4), NumberStyles.None, CultureInfo.InvariantCulture, out int year)
            || !int.TryParse(name.AsSpan(6), NumberStyles.None, CultureInfo.InvariantCulture, out int number))
            return null;
        if (year is < 1990 or > 9000 || number < 1 || number > ISOWeek.GetWeeksInYear(year)) return null;
        return Beginning(DateOnly.FromDateTime(ISOWeek.ToDateTime(year, number, DayOfWeek.Monday)), zone);
    }

    public Week Before(TimeZoneInfo zone) => Beginning(Monday.AddDays(-7), zone);

    public Week After(TimeZoneInfo zone) => Beginning(Monday.AddDays(7), zone);

    private static Week Beginning(DateOnly monday, TimeZoneInfo zone)
    {
        var (day, calendar) = (monday.ToDateTime(TimeOnly.MinValue), HouseholdCalendar.Of(zone));
        return new Week(
            string.Create(CultureInfo.InvariantCulture, $"{ISOWeek.GetYear(day):0000}-W{ISOWeek.GetWeekOfYear(day):00}"),
            monday, calendar.StartOf(monday), calendar.StartOf(monday.AddDays(7)));
    }
}
