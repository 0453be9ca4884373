using RootCellar.Household;
using RootCellar.Pages;

namespace RootCellar.Charts;

/// <summary>The time a history is asked for, and in which steps it is drawn.</summary>
/// <param name="Range">day, week, month, season; own for two dates.</param>
/// <param name="Problem">What was wrong with what was asked; then it is the week.</param>
internal sealed record HistorySpan(string Range, DateTimeOffset From, DateTimeOffset To, bool EndsNow, string? Problem = null)
{
    public const string Own = "own";

    /// <summary>In the order of length.</summary>
    public static IReadOnlyList<string> Ranges { get; } = ["day", "week", "month", "season"];

    private const int MostDays = 800;
    private const int MostSteps = 300;

    private static readonly TimeSpan[] Widths =
    [
        TimeSpan.FromMinutes(5), TimeSpan.FromMinutes(15), TimeSpan.FromMinutes(30), TimeSpan.FromHours(1), TimeSpan.FromHours(2),
        TimeSpan.FromHours(3), TimeSpan.FromHours(6),
        TimeSpan.FromHours(12), TimeSpan.FromDays(1),
    ];

    /// <summary>No finer than a screen can show.</summary>
    public TimeSpan Step => StepOf(MostSteps);

    /// <summary>The narrowest that makes no more than so many.</summary>
    public TimeSpan StepOf(int most) => Widths.FirstOrDefault(
        w => (To - From) / w <= most, TimeSpan.FromDays(Math.Ceiling((To - From).TotalDays / most)));

    /// <summary>A picture is asked for a little later than its page.</summary>
    public static bool IsNow(DateTimeOffset to, DateTimeOffset now) => now - to < TimeSpan.FromMinutes(6);

    /// <param name="range">As asked; null or unknown: <paramref name="otherwise"/>.</param>
    /// <param name="from">A first day, yyyy-MM-dd; with it or <paramref name="to"/> the range has no say.</param>
    /// <param name="to">A last day, which is part of it.</param>
    /// <param name="start">When the season began.</param>
    /// <param name="end">The end of all there is: now, or when the last of it went.</param>
    /// <param name="show">The household's clock.</param>
    /// <param name="otherwise">What is shown unasked.</param>
    public static HistorySpan Of(string? range, string? from, string? to, DateTimeOffset start, DateTimeOffset end, Show show,
        string otherwise = "week")
    {
        if (!string.IsNullOrEmpty(from) || !string.IsNullOrEmpty(to))
            return Between(from, to, start, end, show) ?? Named(otherwise, start, end, show) with { Problem = Strings.RangeWrong };
        return Named(range is not null && Ranges.Contains(range) ? range : otherwise, start, end, show);
    }

    private static HistorySpan Named(string range, DateTimeOffset start, DateTimeOffset end, Show show)
    {
        bool now = end >= show.Now;
        // A season of a few hours is drawn as a day.
        var from = range switch
        {
            "day" => end.AddDays(-1),
            "week" => end.AddDays(-7),
            "month" => end.AddDays(-30),
            _ => start < end.AddDays(-1) ? start : end.AddDays(-1)
        };
        if (end - from > TimeSpan.FromDays(MostDays)) from = end.AddDays(-MostDays);
        return new HistorySpan(range, from, end, now);
    }

    private static HistorySpan? Between(string? from, string? to, DateTimeOffset start, DateTimeOffset end, Show show)
    {
        DateOnly first = show.DayOf(start), last = show.DayOf(end);
        if (!string.IsNullOrEmpty(from) && !HouseholdCalendar.TryDay(from, out first)) return null;
        if (!string.IsNullOrEmpty(to) && !HouseholdCalendar.TryDay(to, out last)) return null;
        if (first > last || first.Year < 1990 || last.Year > 9000 || last.DayNumber - first.DayNumber > MostDays) return null;
        var (begin, stop) = (show.StartOf(first), show.StartOf(last.AddDays(1)));
        bool now = stop >= show.Now;
        return begin >= show.Now ? null : new HistorySpan(Own, begin, now ? show.Now : stop, now);
    }
}
