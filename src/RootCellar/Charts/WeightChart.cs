using RootCellar.Household;
using RootCellar.Ledger;
using RootCellar.Lots;
using RootCellar.Pages;

namespace RootCellar.Charts;

/// <summary>
/// How the weight of a lot or of one bin is drawn, on its page and in the weekly report alike: the estimate with its 90 % interval,
/// weigh-ins of a single bin beside it.
/// </summary>
internal static class WeightChart
{
    /// <param name="title">What is drawn.</param>
    /// <param name="unit">The household's.</param>
    /// <param name="lot">The lot by the book.</param>
    /// <param name="bin">One bin's filling; null for all together.</param>
    /// <param name="samples">How it stood, oldest first.</param>
    /// <param name="from">The beginning.</param>
    /// <param name="to">The end.</param>
    /// <param name="zone">Of the household.</param>
    /// <param name="shown">Kilograms in that unit.</param>
    /// <param name="say">A weight in that unit, in words.</param>
    public static ChartSpec Of(
        string title, string unit, LotView lot, BinView? bin, IReadOnlyList<LotSample> samples, DateTimeOffset from, DateTimeOffset to,
        TimeZoneInfo zone, Func<double, double> shown, Func<double, string> say)
    {
        var only = bin ?? (lot.Bins.Count == 1 ? lot.Bins[0] : null);
        List<ChartPoint> points = [.. samples.Select(s => new ChartPoint(s.At, shown(s.Kg.Value), shown(s.Kg.Low), shown(s.Kg.High)))];
        // While a row is being filled into bins, what is in them so far is no weight of the lot.
        var whole = bin is null ? lot.Bins.Where(b => b.FilledAt <= lot.Bins.Min(f => f.FilledAt).AddDays(1))
            .Max(b => b.FilledAt) : DateTimeOffset.MinValue;
        if (points.Exists(p => p.At > whole)) points.RemoveAll(p => p.At <= whole);
        var series = new List<ChartSeries> { new(Strings.ByEstimate, points, Spaced(samples)) };
        if (only?.Weighings.Where(w => w.At >= from && w.At < to).ToList() is { Count: > 0 } weighed)
            series.Add(new ChartSeries(Strings.WeighedIn, [.. weighed.Select(w => new ChartPoint(w.At, shown(w.NetKg)))], TimeSpan.MaxValue,
                SeriesKind.Points));
        return new ChartSpec(title, unit, from, to, zone, series, say) { Narrowest = 1, Floor = 0 };
    }

    /// <summary>Between two fillings of the same lot there was nothing: no line there.</summary>
    public static TimeSpan Spaced(IReadOnlyList<LotSample> samples) =>
        samples.Count < 2 ? TimeSpan.MaxValue : samples.Zip(samples.Skip(1), (a, b) => b.At - a.At).Order()
            .ElementAt((samples.Count - 1) / 2) * 1.6;
}
