using RootCellar.Ledger;
using RootCellar.Science.Air;

namespace RootCellar.Lots;

/// <summary>
/// What a bin or a lot has shrunk by since it was filled, in whole grams: the one definition, which every page, report and file goes by.
/// What went in is what went out, what has shrunk and what is left: <c>In = Out + ByScale + ByEstimate + Left</c>, always.
/// </summary>
/// <param name="InGrams">What was filled in; of a bin by itself also what was sorted into it.</param>
/// <param name="OutGrams">What was taken out; of a bin by itself also what was sorted out of it.</param>
/// <param name="ByScaleGrams">
/// What weigh-ins, sortings and emptied bins showed to be missing: it is in the book. Below 0 where they showed more.
/// </param>
/// <param name="ByEstimateGrams">
/// What is reckoned to have gone since the scale last said: the book does not have it yet. Nought of what is not followed.
/// </param>
internal readonly record struct Shrink(long InGrams, long OutGrams, long ByScaleGrams, long ByEstimateGrams)
{
    /// <summary>All of it.</summary>
    public long Grams => ByScaleGrams + ByEstimateGrams;

    /// <summary>There by the book.</summary>
    public long BookGrams => InGrams - OutGrams - ByScaleGrams;

    /// <summary>There by estimate.</summary>
    public long LeftGrams => BookGrams - ByEstimateGrams;

    /// <summary>Percent of what went in.</summary>
    public double Percent => InGrams > 0 ? 100.0 * Grams / InGrams : 0;

    /// <summary>One filling of a bin.</summary>
    /// <param name="bin">The bin.</param>
    /// <param name="kg">What is there by estimate; null where nobody estimates it.</param>
    /// <param name="until">What happened later has no part in it.</param>
    public static Shrink Of(BinView bin, double? kg, DateTimeOffset? until = null)
    {
        long into = 0, gone = 0, scale = 0;
        foreach (var step in bin.Steps)
        {
            if (step.At > until) continue;
            if (step.IsShrink) scale -= step.Grams;
            else if (step.Grams > 0) into += step.Grams;
            else gone -= step.Grams;
        }

        long since = kg is { } there ? into - gone - scale - (long)Math.Round(there * 1000, MidpointRounding.AwayFromZero) : 0;
        return new Shrink(into, gone, scale, since);
    }

    /// <summary>Fillings of one lot together: what was sorted from one into another went neither in nor out.</summary>
    /// <param name="bins">The fillings, with those that are empty.</param>
    /// <param name="kgOf">What is there of each by estimate; null where nobody estimates it.</param>
    /// <param name="until">What happened later has no part in it.</param>
    public static Shrink Of(IEnumerable<BinView> bins, Func<BinView, double?> kgOf, DateTimeOffset? until = null)
    {
        var all = default(Shrink);
        foreach (var bin in bins)
        {
            var one = Of(bin, kgOf(bin), until);
            long sorted = bin.Steps.Where(s => s is { IsSorted: true, Grams: > 0 } && !(s.At > until)).Sum(s => s.Grams);
            all = new Shrink(
                all.InGrams + one.InGrams - sorted, all.OutGrams + one.OutGrams - sorted,
                all.ByScaleGrams + one.ByScaleGrams, all.ByEstimateGrams + one.ByEstimateGrams);
        }

        return all;
    }

    /// <summary>A lot as it stands.</summary>
    public static Shrink Of(LotView lot, LotViews views) => Of(lot.Bins, b => views.Of(b)?.Kg.Value);
}

/// <summary>The JSON of <see cref="Shrink"/>; what went in is the sum of out, shrink and what is left.</summary>
internal sealed record ShrinkShape(
    double InKg, double OutKg, double ByScaleKg, double ByEstimateKg, double ShrinkKg, double LeftKg, double Percent, RangeShape? SoilKg)
{
    /// <param name="soil">What of it is soil that came off; null where nothing came out of wet soil.</param>
    public static ShrinkShape Of(Shrink s, Interval? soil) => new(
        s.InGrams / 1000.0, s.OutGrams / 1000.0, s.ByScaleGrams / 1000.0, s.ByEstimateGrams / 1000.0,
        s.Grams / 1000.0, s.LeftGrams / 1000.0, Math.Round(s.Percent, 2), soil is { } off ? RangeShape.Of(off) : null);
}
