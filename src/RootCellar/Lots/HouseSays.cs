using System.Globalization;
using RootCellar.Ledger;
using RootCellar.Places;
using RootCellar.Science;
using RootCellar.Science.Keeping;

namespace RootCellar.Lots;

/// <summary>
/// What a lot's weigh-ins say by themselves of its water loss, what was believed before taken out: a normal of the logarithm of its
/// multiplier.
/// </summary>
/// <param name="Cell">From when on.</param>
/// <param name="Precision">One over its variance; 0 where it says nothing.</param>
/// <param name="WeighIns">From how many.</param>
internal readonly record struct LotSays(long Cell, double LogMean, double Precision, int WeighIns);

/// <summary>What is believed of a lot before it was ever weighed itself.</summary>
/// <param name="Median">The middle of its multiplier.</param>
/// <param name="Factor">The 5 to 95 % factor either way.</param>
/// <param name="WeighIns">Weigh-ins of other lots it rests on.</param>
internal readonly record struct HousePrior(double Median, double Factor, int WeighIns)
{
    public string Print => string.Create(CultureInfo.InvariantCulture, $"{Median:R} {Factor:R} {WeighIns}");
}

/// <summary>
/// What the weighed lots of a house say of one that was not: its sensors, its crates and its hands are the same. A normal of two levels
/// (Gelman et al., Bayesian Data Analysis, ch. 5, from memory): a house's own logarithm, and each lot's about it. A lot goes by what the
/// others of its crop had said up to its own first weigh-in, and by its own from then on. Never changes.
/// </summary>
internal sealed class HouseSays
{
    /// <summary>
    /// Share of the variance between lots that is that of houses (assumed: half; published trials differ as much from place to place as lots
    /// do within one).
    /// </summary>
    private const double HouseShare = 0.5;

    /// <summary>As many lots must have been weighed for their scatter to count as much as what is assumed of it (assumed).</summary>
    private const double AssumedLots = 4;

    public static readonly HouseSays Nothing = new([]);

    private readonly ILookup<string, (string Lot, IReadOnlyList<LotSays> Says)> byCrop;

    private HouseSays(IEnumerable<(string Crop, string Lot, IReadOnlyList<LotSays> Says)> all) =>
        byCrop = all.OrderBy(l => l.Lot, StringComparer.Ordinal).ToLookup(l => l.Crop, l => (l.Lot, l.Says), StringComparer.Ordinal);

    /// <param name="says">What a lot says by itself; nothing, where it was not weighed or cannot be worked out.</param>
    public static HouseSays Of(Book book, Func<LotView, IReadOnlyList<LotSays>> says) =>
        new([.. book.Lots.Values.Select(l => (l.Crop, l.Id, Says: says(l))).Where(l => l.Says.Count > 0)]);

    /// <summary>The same for who has no lots worked out yet. One that cannot be worked out says nothing.</summary>
    public static HouseSays Of(Book book, IReadOnlyDictionary<string, Purpose> purposes, TrajectoryCache courses, long now) => Of(
        book, lot =>
        {
            try
            {
                return LotLearning.Says(lot, purposes, courses, now);
            }
            catch (Exception e) when (e is not OperationCanceledException)
            {
                return [];
            }
        });

    /// <summary>What is believed of a lot at a piece of time, before its own weigh-ins.</summary>
    public HousePrior Of(LotView lot, LotPrior prior, long cell)
    {
        var said = Others(lot).Select(o => Last(o.Says, cell)).OfType<LotSays>().Where(s => s.Precision > 0).ToList();
        double middle = Portable.Log(prior.WaterMultiplier), spread = Portable.Log(prior.WaterFactor) / LotUncertainty.Z90;
        double house = HouseShare * spread * spread, own = (spread * spread) - house;
        own = Own(said, own);
        var (mean, precision) = House(said, middle, house, own);
        double factor = Portable.Exp(LotUncertainty.Z90 * Math.Sqrt(own + (1 / precision)));
        return new HousePrior(Math.Clamp(Portable.Exp(mean), 0.2, 5), Math.Clamp(factor, 1.05, 4), said.Sum(s => s.WeighIns));
    }

    /// <summary>The logarithm of the house's own multiplier, and one over its variance.</summary>
    private static (double Mean, double Precision) House(List<LotSays> said, double middle, double house, double own)
    {
        double precision = 1 / house, sum = middle / house;
        foreach (var lot in said)
        {
            double weight = 1 / (own + (1 / lot.Precision));
            precision += weight;
            sum += weight * lot.LogMean;
        }

        return (sum / precision, precision);
    }

    /// <summary>
    /// How far lots lie about their house, as variance: what was assumed counts as <see cref="AssumedLots"/> lots, and each lot by its scatter
    /// about their mean, less its own error (moments; a lot that says little counts little).
    /// </summary>
    private static double Own(List<LotSays> said, double assumed)
    {
        if (said.Count < 2) return assumed;
        var lots = said.ConvertAll(s => (s.LogMean, Error: 1 / s.Precision, Counts: assumed / (assumed + (1 / s.Precision))));
        double all = lots.Sum(l => l.Counts), mean = lots.Sum(l => l.Counts * l.LogMean) / all;
        // About a mean of their own they scatter less.
        double less = said.Count / (said.Count - 1.0);
        double scatter = lots.Sum(l => l.Counts * ((less * (l.LogMean - mean) * (l.LogMean - mean)) - l.Error));
        return Math.Clamp(((AssumedLots * assumed) + scatter) / (AssumedLots + all), assumed / 4, 4 * assumed);
    }

    /// <summary>Whether the same lots say the same, as worked out once.</summary>
    public bool SaysAs(HouseSays other) => All.SequenceEqual(other.All);

    private IEnumerable<(string Crop, string Lot, IReadOnlyList<LotSays> Says)> All =>
        byCrop.SelectMany(crop => crop.Select(l => (crop.Key, l.Lot, l.Says)));

    /// <summary>When others of its crop were weighed, in order of time.</summary>
    public IEnumerable<long> Changes(LotView lot) => Others(lot).SelectMany(o => o.Says.Select(s => s.Cell)).Distinct().Order();

    private IEnumerable<(string Lot, IReadOnlyList<LotSays> Says)> Others(LotView lot) =>
        byCrop[lot.Crop].Where(l => !string.Equals(l.Lot, lot.Id, StringComparison.Ordinal));

    private static LotSays? Last(IReadOnlyList<LotSays> says, long cell)
    {
        LotSays? last = null;
        foreach (var said in says)
        {
            if (said.Cell > cell) break;
            last = said;
        }

        return last;
    }
}
