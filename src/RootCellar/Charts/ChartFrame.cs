using System.Globalization;
using RootCellar.Household;

namespace RootCellar.Charts;

/// <summary>A line of a grid; without words where there is no room for them.</summary>
internal readonly record struct Tick(double At, string? Words);

/// <summary>How a chart is laid out: limits, ticks and margins, the same for SVG and PNG.</summary>
internal sealed class ChartFrame
{
    private const double LetterWidth = 7;
    private const double LeastBetweenValues = 28;
    private const int LaneHeight = 13;

    private ChartFrame(ChartSpec spec)
    {
        Spec = spec;
        Lanes = spec.SharesMarks ? [] : [.. spec.Marks.Select(m => m.Kind).Distinct().Order()];
        Top = Lanes.Count == 0 ? 17 : 5 + (LaneHeight * Lanes.Count);
        Bottom = spec.SharesTime ? 6 : 22;
        Right = spec.NamesEnds ? 58 : 8;
        InnerHeight = spec.Height - Top - Bottom;
        (Low, High) = spec.Rows.Count > 0 ? (-0.5, spec.Rows.Count - 0.5) : Limits(spec);
        // The first row is the highest.
        Values = spec.Rows.Count > 0 ? [.. spec.Rows.Select((r, i) => new Tick(spec.Rows.Count - 1 - i, Short(r.Name)))]
            : [.. ValueTicks(Low, High, InnerHeight)];
        var widest = (int)(LetterWidth * Values.Select(v => v.Words!.Length).Append(spec.Unit.Length).Max());
        Left = Math.Max(spec.LeastLeft, spec.Rows.Count > 0 ? SkinWidth + widest : Math.Max(34, 12 + widest));
        InnerWidth = spec.Width - Left - Right;
        Times = TimeTicks();
    }

    public static ChartFrame Of(ChartSpec spec) => new(spec);

    /// <summary>Room at the left for a crop in its skin, px.</summary>
    public const int SkinWidth = 30;

    private const int LongestName = 12;

    /// <summary>Of the shade and lines; the words of the last value stand in it.</summary>
    public int Right { get; }

    public int Bottom { get; }

    public ChartSpec Spec { get; }

    /// <summary>The kinds of marks there are, each on a line of its own above the frame.</summary>
    public IReadOnlyList<MarkKind> Lanes { get; }

    public int Left { get; }

    public int Top { get; }

    public int InnerWidth { get; }

    public int InnerHeight { get; }

    public double Low { get; }

    public double High { get; }

    public IReadOnlyList<Tick> Values { get; }

    /// <summary>At: hours from the beginning.</summary>
    public IReadOnlyList<Tick> Times { get; }

    public double Hours(DateTimeOffset at) => (at - Spec.From).TotalHours;

    /// <summary>Where a moment is, px from the left; moments outside are at the edge.</summary>
    public double X(DateTimeOffset at) => Left + (InnerWidth * Math.Clamp((at - Spec.From) / (Spec.To - Spec.From), 0, 1));

    public double Y(double value) => Top + (InnerHeight * (High - value) / (High - Low));

    /// <summary>The middle of a kind's line, px from the top.</summary>
    public double Lane(MarkKind kind) => 4 + (LaneHeight * (Lanes.ToList().IndexOf(kind) + 0.5));

    /// <summary>Marks of a kind that can be told apart at this width, in order of time.</summary>
    public IEnumerable<ChartMark> Apart(MarkKind kind)
    {
        double last = double.NegativeInfinity;
        foreach (var mark in Spec.Marks.Where(m => m.Kind == kind && m.At < Spec.To && (m.Until ?? m.At) >= Spec.From).OrderBy(m => m.At))
        {
            double x = X(mark.At);
            if (x - last < 8) continue;
            last = x;
            yield return mark;
        }
    }

    /// <summary>The limits that are in sight, cut to the frame.</summary>
    public IEnumerable<ChartBand> Bands => Spec.Bands
        .Where(b => b.To > Spec.From && b.From < Spec.To && b.High > Low && b.Low < High)
        .Select(b => new ChartBand(b.From < Spec.From ? Spec.From : b.From, b.To > Spec.To ? Spec.To : b.To, Math.Max(b.Low, Low),
            Math.Min(b.High, High)));

    private static string Short(string name) => name.Length <= LongestName ? name : name[..(LongestName - 1)] + "…";

    private static (double Low, double High) Limits(ChartSpec spec)
    {
        var points = spec.Series.Where(s => s.Kind != SeriesKind.Outside).SelectMany(s => s.Points).ToList();
        var all = points.Select(p => p.Value).Concat(points.Select(p => p.Low).OfType<double>())
            .Concat(points.Select(p => p.High).OfType<double>())
            .Concat(spec.Levels.Select(l => l.Value))
            .Concat(spec.FromZero ? [0.0] : [])
            .Concat(spec.Bands.SelectMany(b => (double[])[b.Low, b.High]))
            .Where(double.IsFinite).ToList();
        if (all.Count == 0) all = [0, spec.Narrowest];
        var (low, high) = (all.Min(), all.Max());
        // What is written at the line needs room of its own.
        double room = Math.Max((high - low) * (spec.NamesEnds ? 0.18 : 0.08), (spec.Narrowest - (high - low)) / 2);
        (low, high) = (low - room, high + room);
        if (spec.Floor is { } floor && low < floor) low = floor;
        if (spec.Ceiling is { } ceiling && high > ceiling) high = ceiling;
        return high > low ? (low, high) : (low, low + spec.Narrowest);
    }

    private static IEnumerable<Tick> ValueTicks(double low, double high, double height)
    {
        double most = Math.Max(2, height / LeastBetweenValues);
        double step = Enumerable.Range(-2, 9).SelectMany(k => (double[])[Power(k), 2 * Power(k), 5 * Power(k)])
            .First(s => (high - low) / s <= most || s >= 1e6);
        string format = step >= 1 ? "#,0" : step >= 0.1 ? "0.0" : "0.00";
        for (double i = Math.Ceiling(low / step); i * step <= high + (step * 1e-9); i++)
            yield return new Tick(i * step, (i * step).ToString(format, CultureInfo.CurrentCulture));

        static double Power(int k) => Math.Pow(10, k);
    }

    /// <summary>The widest words a rhythm has, and when it strikes, on the wall's clock.</summary>
    private sealed record Rhythm(TimeSpan About, string Widest, Func<DateTime, DateTime> Next, Func<DateTime, string> Words);

    private static readonly Rhythm[] Rhythms =
    [
        Hourly(1), Hourly(3), Hourly(6), Hourly(12),
        Daily(1, "Wed 28", "ddd d"), Daily(2, "Wed 28", "ddd d"),
        Weekly(1), Weekly(2),
        Monthly(1), Monthly(2), Monthly(3), Monthly(6), Monthly(12),
    ];

    private List<Tick> TimeTicks()
    {
        double perHour = InnerWidth / (Spec.To - Spec.From).TotalHours;
        var rhythm = Rhythms.FirstOrDefault(r => r.About.TotalHours * perHour >= (r.Widest.Length * LetterWidth) + 8) ?? Rhythms[^1];
        double last = Spec.Width - (Spec is { EndsNow: true, NamesEnds: false } ? 34 : 0);
        var ticks = new List<Tick>();
        var start = TimeZoneInfo.ConvertTime(Spec.From, Spec.Zone).DateTime;
        for (var local = rhythm.Next(start); ; local = rhythm.Next(local))
        {
            var at = HouseholdCalendar.Of(Spec.Zone).Moment(local);
            if (at >= Spec.To || ticks.Count > 400) return ticks;
            string words = rhythm.Words(local);
            ticks.Add(new Tick(Hours(at), X(at) + 3 + (words.Length * LetterWidth) > last ? null : words));
        }
    }

    private static Rhythm Hourly(int hours) => new(
        TimeSpan.FromHours(hours),
        "Wed 28",
        t => t.Date.AddHours(((t.Hour / hours) + 1) * hours),
        t => t.Hour == 0 ? t.ToString("ddd d", CultureInfo.CurrentCulture) : WrittenTime.WholeHour(t));

    private static Rhythm Daily(int days, string widest, string format) => new(
        TimeSpan.FromDays(days), widest, t => Every(t, days, 0), t => t.ToString(format, CultureInfo.CurrentCulture));

    // Mondays: the first day of year 1 was one.
    private static Rhythm Weekly(int weeks) => new(
        TimeSpan.FromDays(7 * weeks), "28 May", t => Every(t, 7 * weeks, 0), t => WrittenTime.Day(t, year: false));

    private static Rhythm Monthly(int months) => new(
        TimeSpan.FromDays(28 * months),
        months == 12 ? "2026" : "May",
        t => new DateTime(t.Year, 1, 1, 0, 0, 0, DateTimeKind.Unspecified).AddMonths((((t.Month - 1) / months) + 1) * months),
        t => t.ToString(months == 12 || (t.Month == 1 && months > 1) ? "yyyy" : "MMM", CultureInfo.CurrentCulture));

    private static DateTime Every(DateTime t, int days, int from)
    {
        long number = (t.Date.Ticks / TimeSpan.TicksPerDay) - from;
        return new DateTime(((number / days) + 1) * days * TimeSpan.TicksPerDay, DateTimeKind.Unspecified);
    }
}
