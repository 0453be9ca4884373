using System.ComponentModel.DataAnnotations;
using System.Globalization;
using RootCellar.Household;

namespace RootCellar.Report;

/// <summary>Key <c>Report</c>: when the weekly report goes out, on the household's clock.</summary>
internal sealed class ReportOptions
{
    /// <summary>A day of the week, or never.</summary>
    [RegularExpression("^(?i)(monday|tuesday|wednesday|thursday|friday|saturday|sunday|never)$",
        ErrorMessage = "a day from Monday to Sunday, or never")]
    public string Day { get; set; } = "Sunday";

    [Range(0, 23)]
    public int Hour { get; set; } = 18;

    /// <summary>
    /// The last time it was due, and the week it is about: on a Sunday the one that is ending, on any other day the one before. Null where
    /// it is never due.
    /// </summary>
    public (DateTimeOffset At, Week Week)? LastDue(DateTimeOffset now, TimeZoneInfo zone)
    {
        if (!Enum.TryParse<DayOfWeek>(Day, ignoreCase: true, out var weekday)) return null;
        var calendar = HouseholdCalendar.Of(zone);
        var today = calendar.DayOf(now);
        var day = today.AddDays(-(((int)today.DayOfWeek - (int)weekday + 7) % 7));
        var at = calendar.Moment(day, new TimeOnly(Hour, 0));
        if (at > now) at = calendar.Moment(day = day.AddDays(-7), new TimeOnly(Hour, 0));
        var around = Week.Of(at, zone);
        return (at, weekday == DayOfWeek.Sunday ? around : around.Before(zone));
    }

    /// <summary>"Sunday 6 pm", for people.</summary>
    public override string ToString() => Enum.TryParse<DayOfWeek>(Day, ignoreCase: true, out var day)
        ? $"{CultureInfo.CurrentCulture.DateTimeFormat.GetDayName(day)} {WrittenTime.WholeHour(DateTime.MinValue.AddHours(Hour))}"
        : Strings.Never;
}
