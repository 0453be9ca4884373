using RootCellar.Charts;
using RootCellar.Household;

namespace RootCellar.Pages.Foreseen;

/// <summary>A line of the table under a chart.</summary>
internal sealed record AheadLine(DateTimeOffset At, DateOnly On, IReadOnlyList<string> Cells);

/// <summary>A picture of what is ahead, the sentence that says the same, and its figures as a table.</summary>
/// <param name="Id">The table's name on the page.</param>
/// <param name="Columns">Beside the day.</param>
internal sealed record AheadChart(
    string Id, ChartSpec Spec, string Address, string Words, IReadOnlyList<string> Columns, IReadOnlyList<AheadLine> Lines)
{
    public int Left => ChartFrame.Of(Spec.Sized(ChartSpec.Narrow)).Left;

    public int Right => ChartFrame.Of(Spec).Right;

    public int WideLeft => ChartFrame.Of(Spec.Sized(ChartSpec.Wide)).Left;

    public string Label => Strings.ReadChart.With(Spec.Title);
}
