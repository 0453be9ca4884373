using RootCellar.Charts;
using RootCellar.Household;

namespace RootCellar.Pages.History;

/// <summary>A chart on a page: where its picture is, what it says, and which column of the table holds its figures.</summary>
internal sealed record ShownChart(NamedChart Chart, string Address, string Words, int Column, int Left, int WideLeft);

/// <summary>The figures of some charts as a table: the same as the pictures, for who cannot see them and for reading by finger.</summary>
internal sealed record FigureTable(IReadOnlyList<string> Columns, IReadOnlyList<(DateTimeOffset At, IReadOnlyList<string> TimeStep)> Rows)
{
    public static FigureTable Of(IReadOnlyList<NamedChart> charts)
    {
        var rows = new SortedDictionary<DateTimeOffset, string[]>();
        for (int i = 0; i < charts.Count; i++)
        {
            var spec = charts[i].Spec;
            foreach (var series in spec.Series)
            {
                foreach (var point in series.Points)
                {
                    if (!rows.TryGetValue(point.At, out var cells)) rows.Add(point.At, cells = [.. Enumerable.Repeat("", charts.Count)]);
                    cells[i] = series.Kind == SeriesKind.Points ? Strings.WeighedAs.With(spec.Say(point.Value)) : Said(spec, point);
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
    /// <param name="address">Where a chart's picture is.</param>
    public static ChartsView Of(string id, IReadOnlyList<NamedChart> charts, Func<NamedChart, string> address) => new(
        id,
        [.. charts.Select((c, i) =>
            new ShownChart(c, address(c), ChartText.Of(c.Spec), i + 1, ChartFrame.Of(c.Spec.Sized(ChartSpec.Narrow)).Left,
                ChartFrame.Of(c.Spec.Sized(ChartSpec.Wide)).Left))],
        FigureTable.Of(charts),
        [.. charts.SelectMany(c => c.Spec.Marks).DistinctBy(m => (m.At, m.Words)).OrderBy(m => m.At).TakeLast(MostMarks)]);
}
