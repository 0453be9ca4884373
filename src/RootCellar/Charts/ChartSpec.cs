
namespace RootCellar.Charts;

/// <summary>A point of a series, with the range it stands for where it has one: least and most of a step, or a 90 % interval.</summary>
internal readonly record struct ChartPoint(DateTimeOffset At, double Value, double? Low = null, double? High = null);

internal enum SeriesKind
{
    Line,

    /// <summary>Single findings, such as weigh-ins: nothing is drawn between them.</summary>
    Points,

    /// <summary>Only the ranges of its points, under the lines: the inner part of a fan.</summary>
    Range,

    /// <summary>The air outdoors: a thin line under the others, cut off where it leaves the frame. Told in the outdoors' own chart.</summary>
    Outside,
}

/// <summary>What is drawn: a line, dashed from the second on, or points.</summary>
/// <param name="Points">Oldest first.</param>
/// <param name="Gap">Where the next point is later than this, nothing is known between: the line is broken.</param>
internal sealed record ChartSeries(string Name, IReadOnlyList<ChartPoint> Points, TimeSpan Gap, SeriesKind Kind = SeriesKind.Line)
{
    /// <summary>A point in words, no finer than it is known; null: as the chart says values.</summary>
    public Func<ChartPoint, string>? Say { get; init; }
}

/// <summary>Limits in force for a time; an infinite one is none.</summary>
internal readonly record struct ChartBand(DateTimeOffset From, DateTimeOffset To, double Low, double High);

/// <summary>A line across, with a word on it.</summary>
internal readonly record struct ChartLevel(double Value, string Words);

internal enum MarkKind
{
    Alarm,
    Event,
}

/// <summary>Something that happened. <see cref="Until"/> is for what lasted.</summary>
internal sealed record ChartMark(DateTimeOffset At, MarkKind Kind, string Words, DateTimeOffset? Until = null);

/// <summary>One of several lives on a common time: a wedge while it heals, a bar while it keeps, an end that is likely in a span.</summary>
/// <param name="Healed">When it is cured; null of a crop that is not.</param>
/// <param name="Early">The end's span, nine times in ten; null where it is further off than is looked ahead.</param>
internal sealed record ChartRow(
    string Name, string Crop, string? Variety, DateTimeOffset From, DateTimeOffset? Healed, DateTimeOffset? Early, DateTimeOffset? Likely,
    DateTimeOffset? Late);

/// <summary>
/// A chart as facts. <see cref="ChartSvg"/> and <see cref="ChartPng"/> draw it, <see cref="ChartText"/> says it. Values are in the unit
/// they are shown in.
/// </summary>
/// <param name="Title">What is drawn, as a heading.</param>
/// <param name="Unit">Short: it stands at the axis.</param>
/// <param name="Zone">Days begin at its midnight.</param>
/// <param name="Say">A value with its unit, in words.</param>
internal sealed record ChartSpec(
    string Title, string Unit, DateTimeOffset From, DateTimeOffset To, TimeZoneInfo Zone, IReadOnlyList<ChartSeries> Series, Func<double,
    string> Say)
{
    public IReadOnlyList<ChartBand> Bands { get; init; } = [];

    /// <summary>
    /// Hours out of <see cref="Bands"/>, counted on the record and not on what is drawn; only asked where it is said. Null: nothing is said
    /// of it.
    /// </summary>
    public Func<double>? HoursOut { get; init; }

    public IReadOnlyList<ChartLevel> Levels { get; init; } = [];

    public IReadOnlyList<ChartMark> Marks { get; init; } = [];

    /// <summary>A time that is meant above the rest: the week of a report in a season.</summary>
    public (DateTimeOffset From, DateTimeOffset To)? Shade { get; init; }

    /// <summary>The dark hours of the time, shaded.</summary>
    public IReadOnlyList<(DateTimeOffset From, DateTimeOffset To)> Nights { get; init; } = [];

    /// <summary>Whether the lowest, the highest and the last are written at the line, and what is out of the band is drawn thick.</summary>
    public bool NamesEnds { get; init; }

    /// <summary>Lives instead of values: a row each, by name.</summary>
    public IReadOnlyList<ChartRow> Rows { get; init; } = [];

    /// <summary>A moment with a lantern on it: where the past ends. Null for none.</summary>
    public DateTimeOffset? Present { get; init; }

    /// <summary>Whether the chart below it has the words of the time.</summary>
    public bool SharesTime { get; init; }

    /// <summary>Whether the chart above it has its marks.</summary>
    public bool SharesMarks { get; init; }

    /// <summary>Room for the words of the values, px: as much as the charts that share its time need.</summary>
    public int LeastLeft { get; init; }

    /// <summary>The least the axis of values spans, so that noise does not look like weather.</summary>
    public double Narrowest { get; init; } = 1;

    /// <summary>The axis does not go below; null where values may.</summary>
    public double? Floor { get; init; }

    /// <summary>Whether the axis begins at nought, so that a small loss does not look like a slump.</summary>
    public bool FromZero { get; init; }

    /// <summary>Nor above.</summary>
    public double? Ceiling { get; init; }

    /// <summary>Whether the ranges of points are least and most that was measured, not what might be.</summary>
    public bool RangesAreMeasured { get; init; }

    /// <summary>Whether <see cref="To"/> is the present moment.</summary>
    public bool EndsNow { get; init; }

    /// <summary>Size in pixels of CSS; words do not grow with it.</summary>
    public int Width { get; init; } = Narrow;

    public int Height { get; init; } = 170;

    /// <summary>As wide as a card on the smallest phone, so that words keep their size there.</summary>
    public const int Narrow = 336;

    /// <summary>For a screen on a desk.</summary>
    public const int Wide = 760;

    public ChartSpec Sized(int width) => this with { Width = width, Height = HeightAt(width) };

    /// <summary>How high it is at a width, px.</summary>
    public int HeightAt(int width) => Rows.Count > 0 ? 44 + (24 * Rows.Count) : width > Narrow ? 230 : 170;
}
