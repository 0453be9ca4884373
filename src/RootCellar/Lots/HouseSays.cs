using System.Globalization;
using Microsoft.Data.Sqlite;
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

    public static readonly HouseSays Nothing = new([]);

    private readonly ILookup<string, (string Lot, IReadOnlyList<LotSays> Says)> byCrop;

    private HouseSays(IEnumerable<(string Crop, string Lot, IReadOnlyList<LotSays> Says)> all) =>
        byCrop = all.OrderBy(l => l.Lot, StringComparer.Ordinal).ToLookup(l => l.Crop, l => (l.Lot, l.Says), StringComparer.Ordinal);

    /// <param name="says">What a lot that was weighed says by itself.</param>
    public static HouseSays Of(Book book, long now, Func<LotView, IReadOnlyList<LotSays>> says) => new(
        [
            .. book.Lots.Values.Where(l => l.Bins.Any(b => b.Weighings.Count > 0) && !Unfollowed.IsTooOld(l, now))
                .Select(l => (l.Crop, l.Id, says(l))).Where(l => l.Item3.Count > 0),
        ]);

    /// <summary>The same for who has no lots worked out yet. One that cannot be worked out says nothing.</summary>
    public static HouseSays Of(Book book, IReadOnlyDictionary<string, Purpose> purposes, TrajectoryCache courses, long now) => Of(
        book, now, lot =>
        {
            try
            {
                return LotLearning.Says(lot, purposes, courses, now);
            }
            catch (Exception e) when (e is not (OperationCanceledException or SqliteException))
            {
                return [];
            }
        });

    /// <summary>What is believed of a lot at a piece of time, before its own weigh-ins.</summary>
    public HousePrior Of(LotView lot, LotPrior prior, long cell)
    {
        double middle = Portable.Log(prior.WaterMultiplier), spread = Portable.Log(prior.WaterFactor) / LotUncertainty.Z90;
        double house = HouseShare * spread * spread, own = (spread * spread) - house;
        double precision = 1 / house, sum = middle / house;
        int weighIns = 0;
        foreach (var (_, says) in Others(lot))
        {
            if (Last(says, cell) is not { Precision: > 0 } said) continue;
            double weight = 1 / (own + (1 / said.Precision));
            precision += weight;
            sum += weight * said.LogMean;
            weighIns += said.WeighIns;
        }

        double factor = Portable.Exp(LotUncertainty.Z90 * Math.Sqrt(own + (1 / precision)));
        return new HousePrior(Math.Clamp(Portable.Exp(sum / precision), 0.2, 5), Math.Clamp(factor, 1.05, 4), weighIns);
    }

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
