using RootCellar.Charts;
using RootCellar.Household;

namespace RootCellar.Pages.History;

/// <summary>
/// A picture on a page, of one chart or of two on one axis of time: where it is, what it says, and which columns of the table hold its
/// figures.
/// </summary>
internal sealed record ShownChart(IReadOnlyList<ChartSpec> Panels, string Title, string Address, string Words, IReadOnlyList<int> Columns)
{
    private readonly ChartFrame narrow = Frame(Panels, ChartSpec.Narrow), wide = Frame(Panels, ChartSpec.Wide);

    public ChartSpec Spec => Panels[0];

    public int Left => narrow.Left;

    public int WideLeft => wide.Left;

    public int Right => narrow.Right;

    public int Height => Panels.Sum(p => p.HeightAt(ChartSpec.Narrow));

    public int WideHeight => Panels.Sum(p => p.HeightAt(ChartSpec.Wide));

    /// <summary>Whether it has a band, alarms or the air outdoors in it, for its key.</summary>
    public bool HasKey => Panels.Any(p => p.NamesEnds && (p.Bands.Count > 0 || p.Series.Any(s => s.Kind == SeriesKind.Outside)));

    public bool HasOutside => Panels.Any(p => p.Series.Any(s => s.Kind == SeriesKind.Outside));

    public bool HasAlarms => Panels.Any(p => p.Marks.Any(m => m.Kind == MarkKind.Alarm));

    public bool HasNights => Panels.Any(p => p.Nights.Count > 0);

    private static ChartFrame Frame(IReadOnlyList<ChartSpec> panels, int width) =>
        ChartFrame.Of(ChartSvg.Together([.. panels.Select(p => p.Sized(width))])[0]);
}

/// <summary>The figures of some charts as a table: the same as the pictures, for who cannot see them and for reading by finger.</summary>
internal sealed record FigureTable(IReadOnlyList<string> Columns, IReadOnlyList<(DateTimeOffset At, IReadOnlyList<string> TimeStep)> Rows)
{
    public static FigureTable Of(IReadOnlyList<NamedChart> charts)
    {
        var rows = new SortedDictionary<DateTimeOffset, string[]>();
        for (int i = 0; i < charts.Count; i++)
        {
            var spec = charts[i].Spec;
            foreach (var series in spec.Series.Where(s => s.Kind != SeriesKind.Outside))
            {
                foreach (var point in series.Points)
                {
                    if (!rows.TryGetValue(point.At, out var cells)) rows.Add(point.At, cells = [.. Enumerable.Repeat("", charts.Count)]);
                    cells[i] = series.Say is { } say ? say(point) : series.Kind == SeriesKind.Points ? Strings.WeighedAs.With(spec.Say(point.Value)) : Said(spec, point);
                }
            }
        }

        return new FigureTable([.. charts.Select(c => c.Spec.Title)], [.. rows.Select(r => (r.Key, (IReadOnlyList<string>)r.Value))]);
    }

    private static string Said(ChartSpec spec, ChartPoint point) => point is { Low: { } low, High: { } high }
        && spec.Say(low) != spec.Say(high)
        ? Strings.ValueBetween.With(spec.Say(point.Value), spec.Say(low), spec.Say(high))
        : spec.Say(point.Value);
}

/// <summary>Charts that share a table and what happened meanwhile.</summary>
internal sealed record ChartsView(string Id, IReadOnlyList<ShownChart> Charts, FigureTable Table, IReadOnlyList<ChartMark> Marks)
{
    public const int MostMarks = 120;

    /// <param name="id">The table's name on the page.</param>
    /// <param name="charts">Its charts; temperature and humidity become one picture.</param>
    /// <param name="address">Where the picture of a figure is.</param>
    public static ChartsView Of(string id, IReadOnlyList<NamedChart> charts, Func<string, string> address) => new(
        id,
        [.. Shown(charts, address)],
        FigureTable.Of(charts),
        [.. charts.SelectMany(c => c.Spec.Marks).DistinctBy(m => (m.At, m.Words)).OrderBy(m => m.At).TakeLast(MostMarks)]);

    private static IEnumerable<ShownChart> Shown(IReadOnlyList<NamedChart> charts, Func<string, string> address)
    {
        var panels = PlaceCharts.Panels(charts);
        if (panels.Count == 2)
            yield return new ShownChart(panels, Strings.ChartAir, address(PlaceCharts.Air),
                string.Join(' ', panels.Select(p => ChartText.Of(p))), [Column(PlaceCharts.Temperature), Column(PlaceCharts.Humidity)]);
        foreach (var chart in charts.Where(c => panels.Count < 2 || c.Key is not (PlaceCharts.Temperature or PlaceCharts.Humidity)))
            yield return new ShownChart([chart.Spec], chart.Spec.Title, address(chart.Key), ChartText.Of(chart.Spec), [Column(chart.Key)]);

        int Column(string key) => charts.Select(c => c.Key).ToList().IndexOf(key) + 1;
    }
}
