namespace RootCellar.Charts;

/// <summary>What a reader wants of a line: its lowest, its highest and its last point, and the parts of it out of the band.</summary>
internal static class ChartEnds
{
    /// <summary>The lowest, at the least of its step where that was measured; null of a line without points.</summary>
    public static (DateTimeOffset At, double Value)? Lowest(ChartSpec spec) =>
        First(spec) is { Count: > 0 } points && points.MinBy(p => Least(spec, p)) is var low ? (low.At, Least(spec, low)) : null;

    public static (DateTimeOffset At, double Value)? Highest(ChartSpec spec) =>
        First(spec) is { Count: > 0 } points && points.MaxBy(p => Most(spec, p)) is var high ? (high.At, Most(spec, high)) : null;

    public static (DateTimeOffset At, double Value)? Last(ChartSpec spec) =>
        First(spec) is { Count: > 0 } points ? (points[^1].At, points[^1].Value) : null;

    /// <summary>Whether a value is out of the band that was in force.</summary>
    public static bool IsOut(ChartSpec spec, DateTimeOffset at, double value) =>
        spec.Bands.Where(b => b.From <= at && at <= b.To).Any(b => value > b.High || value < b.Low);

    /// <summary>The pieces of a line that run outside the band, cut where they cross its edge.</summary>
    public static IEnumerable<List<ChartPoint>> PartsOut(ChartSpec spec, List<ChartPoint> line)
    {
        foreach (var band in spec.Bands)
        {
            foreach (var above in (bool[])[true, false])
            {
                double limit = above ? band.High : band.Low;
                if (!double.IsFinite(limit)) continue;
                List<ChartPoint> part = [];
                for (int i = 0; i + 1 < line.Count; i++)
                {
                    var (a, b) = (line[i], line[i + 1]);
                    if (b.At <= band.From || a.At >= band.To) continue;
                    bool from = Beyond(a.Value), to = Beyond(b.Value);
                    if (from && part.Count == 0) part.Add(a);
                    if (from != to) part.Add(new ChartPoint(a.At + ((b.At - a.At) * ((limit - a.Value) / (b.Value - a.Value))), limit));
                    if (to) part.Add(b);
                    if (to || part.Count == 0) continue;
                    yield return part;
                    part = [];
                }

                if (part.Count > 1) yield return part;

                bool Beyond(double value) => above ? value > limit : value < limit;
            }
        }
    }

    private static IReadOnlyList<ChartPoint>? First(ChartSpec spec) => spec.Series.FirstOrDefault(s => s.Points.Count > 0)?.Points;

    // What an interval might be is no finding: its middle is said. Least and most of a step were measured.
    private static double Least(ChartSpec spec, ChartPoint p) => spec.RangesAreMeasured ? p.Low ?? p.Value : p.Value;

    private static double Most(ChartSpec spec, ChartPoint p) => spec.RangesAreMeasured ? p.High ?? p.Value : p.Value;
}
