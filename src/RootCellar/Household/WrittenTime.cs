using System.Globalization;

namespace RootCellar.Household;

/// <summary>
/// Days and hours as people write them where the work is done in: "Sun, Oct 4" and "7:25 pm" for a household that counts in Fahrenheit,
/// as Americans alone do (in another language the day comes first there too); "Sun 4 Oct" and "19:25" for everybody else. What is kept,
/// typed and sent to programs has forms of its own.
/// </summary>
internal static class WrittenTime
{
    private static CultureInfo Here => CultureInfo.CurrentCulture;

    private static bool TwelveHours => Here is LanguageCulture { American: true };

    private static bool MonthFirst => Here is LanguageCulture { MonthFirst: true };

    /// <summary>"7:25 pm".</summary>
    public static string Hour(DateTime local) => local.ToString(TwelveHours ? "h:mm tt" : "HH:mm", Here);

    /// <summary>The same of a time of every day.</summary>
    public static string Hour(TimeOnly time) => Hour(DateTime.MinValue + time.ToTimeSpan());

    /// <summary>An hour of the day that begins with it: "7 pm".</summary>
    public static string WholeHour(DateTime local) => local.ToString(TwelveHours ? "h tt" : "HH:mm", Here);

    /// <summary>"Sun 7:25 pm".</summary>
    public static string HourOfWeek(DateTime local) => $"{local.ToString("ddd", Here)} {Hour(local)}";

    /// <summary>"Oct 4", "Oct 4, 2026".</summary>
    public static string Day(DateTime local, bool year) => local.ToString(MonthFirst
        ? year ? "MMM d, yyyy" : "MMM d"
        : year ? "d MMM yyyy" : "d MMM", Here);

    /// <summary>The same of a day that has no hour.</summary>
    public static string Day(DateOnly day, bool year) => Day(day.ToDateTime(TimeOnly.MinValue), year);

    /// <summary>"Sun, Oct 4".</summary>
    public static string WeekDay(DateTime local, bool year) => $"{local.ToString("ddd", Here)}{(MonthFirst ? ", " : " ")}{Day(local, year)}";

    /// <summary>"Sun, Oct 4, 7:25 pm".</summary>
    public static string Moment(DateTime local, bool year) => $"{WeekDay(local, year)}{(MonthFirst ? ", " : " ")}{Hour(local)}";

    /// <summary>A week: "November 23 to 29, 2026", with as much of its first day as the last does not say.</summary>
    public static string Days(DateOnly first, DateOnly last)
    {
        var (month, year) = (first.Month == last.Month, first.Year == last.Year);
        return MonthFirst
            ? Strings.Range.With(first.ToString(year ? "MMMM d" : "MMMM d, yyyy", Here), last.ToString(month ? "d, yyyy" : "MMMM d, yyyy", Here))
            : Strings.Range.With(first.ToString(month ? "%d" : year ? "d MMMM" : "d MMMM yyyy", Here), last.ToString("d MMMM yyyy", Here));
    }
}
