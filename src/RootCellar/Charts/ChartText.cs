using System.Globalization;
using RootCellar.Household;
using RootCellar.Pages;

namespace RootCellar.Charts;

/// <summary>The text alternative of a chart: what a reader would take from it, in two or three short sentences.</summary>
internal static class ChartText
{
    public static string Of(ChartSpec spec)
    {
        var said = new List<string>();
        if (spec.Series.FirstOrDefault(s => s.Points.Count > 0) is not { } main) return Strings.ChartNothing.With(spec.Title);
        var (low, high) = (ChartEnds.Lowest(spec)!.Value, ChartEnds.Highest(spec)!.Value);
        var last = main.Points[^1];
        // What the picture has written at its line is said shortly.
        said.Add(spec.NamesEnds
            ? Strings.ChartSaysShortly.With(spec.Title, spec.Say(low.Value), spec.Say(high.Value))
            : Strings.ChartSays.With(spec.Title, Say(low), When(spec, low.At), Say(high), When(spec, high.At),
                Say((last.At, last.Value)), When(spec, last.At)));
        if (!spec.RangesAreMeasured && main.Say is null && last is { Low: { } from, High: { } to } && spec.Say(from) != spec.Say(to))
            said.Add(Strings.ChartBetween.With(spec.Say(from), spec.Say(to)));
        if (spec.Series.FirstOrDefault(s => s != main && s.Say is not null) is { Say: { } on, Points: [.., var end] })
            said.Add(Strings.ChartGoesOn.With(on(end), When(spec, end.At, clock: false)));
        if (spec.Bands.Count > 0 && spec.HoursOut is { } counted)
        {
            double hours = counted();
            // What was shorter than a piece of the record may be between two of its rows: an alarm saw it.
            said.Add(hours >= 0.5 / 12 ? Strings.ChartOut.With(Span(hours))
                : spec.Marks.Any(m => m.Kind == MarkKind.Alarm) ? Strings.ChartNeverOutInRecord : Strings.ChartNeverOut);
        }

        double dark = HoursUnknown(main);
        if (dark >= 1) said.Add(Strings.ChartUnknown.With(Span(dark)));
        int alarms = spec.Marks.Count(m => m.Kind == MarkKind.Alarm);
        int entries = spec.Marks.Count - alarms;
        if (alarms > 0) said.Add(Strings.ChartAlarms.With(alarms));
        if (entries > 0 && !spec.NamesEnds) said.Add(Strings.ChartEntries.With(entries));
        return string.Join(' ', said);

        string Say((DateTimeOffset At, double Value) found) => main.Say is { } say ? say(main.Points.First(p => p.At == found.At)) : spec.Say(found.Value);
    }

    /// <summary>Hours between the first and the last point that nobody measured.</summary>
    public static double HoursUnknown(ChartSeries series) =>
        series.Points.Zip(series.Points.Skip(1), (a, b) => b.At - a.At).Where(s => s > series.Gap).Sum(s => s.TotalHours);

    /// <summary>A moment, as finely as the length of the chart makes sense of.</summary>
    /// <param name="clock">Whether the hour is said where the chart is short enough.</param>
    public static string When(ChartSpec spec, DateTimeOffset at, bool clock = true)
    {
        var local = TimeZoneInfo.ConvertTime(at, spec.Zone);
        bool year = local.Year != TimeZoneInfo.ConvertTime(spec.To, spec.Zone).Year;
        clock &= spec.To - spec.From <= TimeSpan.FromDays(45);
        return clock ? WrittenTime.Moment(local.DateTime, year) : WrittenTime.Day(local.DateTime, year);
    }

    private static string Span(double hours) => hours < 2
        ? Strings.Minutes.With(Math.Round(hours * 60).ToString("0", CultureInfo.CurrentCulture))
        : hours < 48 ? Strings.Hours.With(Math.Round(hours).ToString("0", CultureInfo.CurrentCulture))
            : Strings.Days.With(Units.Number(hours / 24, "0.#"));
}
