using System.Collections.Concurrent;
using RootCellar.Ledger;
using RootCellar.Places;
using RootCellar.Science;
using RootCellar.Science.Air;
using RootCellar.Science.Keeping;

namespace RootCellar.Lots;

/// <summary>
/// What a bin's weigh-ins say by themselves of its water loss, what was believed before taken out: a normal of the logarithm of its
/// multiplier.
/// </summary>
/// <param name="Cell">From when on.</param>
/// <param name="Precision">One over its variance; 0 where it says nothing.</param>
/// <param name="WeighIns">From how many.</param>
/// <param name="Terms">What the bin had in common with others, the lot's part left out (<see cref="LossTerms.OfBin"/>).</param>
internal readonly record struct BinSays(long Cell, double LogMean, double Precision, int WeighIns, IReadOnlyList<LossTerm> Terms)
{
    public bool Equals(BinSays other) => Cell == other.Cell && LogMean == other.LogMean && Precision == other.Precision
        && WeighIns == other.WeighIns && (ReferenceEquals(Terms, other.Terms) || Terms.SequenceEqual(other.Terms));

    public override int GetHashCode() => HashCode.Combine(Cell, LogMean, Precision, WeighIns);
}

/// <summary>From how many weigh-ins a bin's water loss was learned.</summary>
/// <param name="Own">Of its own lot.</param>
/// <param name="Others">Of other lots of its crop.</param>
/// <param name="Place">Of what stood where it stands, other lots of any crop.</param>
/// <param name="Variety">Of other lots of its variety.</param>
internal readonly record struct LearnedFrom(int Own, int Others, int Place, int Variety);

/// <summary>
/// What the weighed bins of a house say of the others: a house's own part, each place's and its sensor's, each way to lie, each variety, and
/// what is a lot's own (<see cref="SharedEffects"/>, <see cref="LossTerms"/>). Seasons gone by say as much as they share. What is believed at
/// a piece of time rests on what was said up to it. Never changes.
/// </summary>
internal sealed class HouseSays
{
    public static readonly HouseSays Nothing = new([], ScalesKnown.Nothing, null);

    private readonly IReadOnlyList<OfLot> lots;
    private readonly long[] cells;
    private readonly Dictionary<string, int> numbers = new(StringComparer.Ordinal);
    private readonly List<double> variances = [];

    // What was known at each of the cells, worked out when it is asked for.
    private readonly ConcurrentDictionary<long, HouseKnown> known = new();

    private HouseSays(IReadOnlyList<OfLot> lots, ScalesKnown scales, HouseSays? before)
    {
        (this.lots, Scales) = (lots, scales);
        // Once a day is enough: a house that weighs all its bins in an afternoon has learned when it is done.
        cells = [.. lots.SelectMany(l => l.Bins).SelectMany(b => b).Select(s => s.Cell).GroupBy(c => c / TimeStep.PerDay)
            .Select(d => d.Max()).Order()];
        if (before is not null)
        {
            NewFrom = Math.Min(FirstOther(before.lots, lots), scales.FirstOther(before.Scales));
            foreach (long cell in cells.Where(c => c < NewFrom))
            {
                if (before.known.TryGetValue(cell, out var same)) known[cell] = same;
            }
        }

        foreach (var term in lots.SelectMany(l => l.Terms.Concat(l.Bins.SelectMany(b => b).SelectMany(s => s.Terms))))
        {
            if (numbers.TryAdd(term.Key, variances.Count)) variances.Add(term.Variance);
        }
    }

    /// <param name="book">The book.</param>
    /// <param name="says">What each weighed bin of a lot says, after each of its weigh-ins; nothing, where it cannot be worked out.</param>
    /// <param name="before">What was said at the last look: what has not changed since is not worked out again.</param>
    /// <param name="scales">What is known of the scales.</param>
    public static HouseSays Of(Book book, Func<LotView, IReadOnlyList<IReadOnlyList<BinSays>>> says, HouseSays? before = null,
        ScalesKnown? scales = null)
    {
        var weighed = new List<OfLot>();
        foreach (var lot in book.Lots.Values.OrderBy(l => l.Id, StringComparer.Ordinal))
        {
            if (says(lot) is { Count: > 0 } said && LotKnown.Prior(lot) is { } prior)
                weighed.Add(new OfLot(lot.Id, lot.Crop, LossTerms.OfLot(lot, prior), LossTerms.Own(lot, prior), said));
        }

        return weighed.Count == 0 ? Nothing : new HouseSays(weighed, scales ?? ScalesKnown.Nothing, before);
    }

    /// <summary>The same for who has no lots worked out yet. One that cannot be worked out says nothing.</summary>
    public static HouseSays Of(Book book, IReadOnlyDictionary<string, Purpose> purposes, TrajectoryCache courses, long now)
    {
        var scales = ScalesKnown.Of(book, l => Safely(() => LotLearning.ScaleTells(l, purposes, courses, now)));
        return Of(book, l => Safely(() => LotLearning.Says(l, purposes, courses, now, scales)), before: null, scales);
    }

    private static IReadOnlyList<T> Safely<T>(Func<IReadOnlyList<T>> says)
    {
        try
        {
            return says();
        }
        catch (Exception e) when (e is not OperationCanceledException)
        {
            return [];
        }
    }

    /// <summary>What is known of the scales.</summary>
    public ScalesKnown Scales { get; }

    /// <summary>Up to this piece of time everything was said as at the look before.</summary>
    public long NewFrom { get; } = long.MinValue;

    /// <summary>When it has learned something: on each day on which anything was said, with the last of it.</summary>
    public IReadOnlyList<long> Changes => cells;

    /// <summary>What is known of what bins share, from all that was said up to a piece of time.</summary>
    public HouseKnown At(long cell)
    {
        int after = Array.BinarySearch(cells, cell);
        if (after < 0) after = ~after - 1;
        return after < 0 ? HouseKnown.Nothing : known.GetOrAdd(cells[after], Learn);
    }

    /// <summary>From how many weigh-ins a bin's water loss was learned, up to a piece of time.</summary>
    /// <param name="place">Where the bin stands.</param>
    public LearnedFrom Count(LotView lot, LotLearned known, string? place, long cell)
    {
        string? placeKey = place is null ? null : LossTerms.PlaceKey(place);
        string? variety = lot.Variety is null ? null : LossTerms.VarietyKey(lot.Crop, lot.Variety);
        // Once it is weighed itself others tell no more of it, but of the place where it stands.
        var before = Others(known.OwnFrom - 1 ?? cell);
        return new LearnedFrom(
            known.OwnWeighIns, before.Where(s => s.Lot.Crop == lot.Crop).Sum(s => s.Said.WeighIns),
            Others(cell).Where(s => s.Said.Terms.Any(t => t.Key == placeKey)).Sum(s => s.Said.WeighIns),
            before.Where(s => s.Lot.Terms.Any(t => t.Key == variety)).Sum(s => s.Said.WeighIns));

        List<(OfLot Lot, BinSays Said)> Others(long upTo) => [.. Said(upTo).Where(s => s.Lot.Id != lot.Id)];
    }

    /// <summary>Whether the same lots say the same, as worked out once.</summary>
    public bool SaysAs(HouseSays other) => Scales.SaysAs(other.Scales) && lots.Count == other.lots.Count
        && lots.Zip(other.lots).All(l => l.First.SaysAs(l.Second));

    /// <summary>The first piece of time in which one says what the other does not.</summary>
    private static long FirstOther(IReadOnlyList<OfLot> before, IReadOnlyList<OfLot> now)
    {
        var old = before.ToDictionary(l => l.Id, StringComparer.Ordinal);
        var first = now.Select(l => l.FirstOther(old.GetValueOrDefault(l.Id))).ToList();
        var kept = now.Select(l => l.Id).ToHashSet(StringComparer.Ordinal);
        return first.Concat(before.Where(l => !kept.Contains(l.Id)).Select(l => l.First)).DefaultIfEmpty(long.MaxValue).Min();
    }

    private HouseKnown Learn(long cell)
    {
        var saying = Said(cell).Where(s => s.Said.Precision > 0).GroupBy(s => s.Lot)
            .Select(l => new LotSaying(l.Key.Own, [.. l.Select(b => Saying(l.Key, b.Said))])).ToList();
        return new HouseKnown(SharedEffects.Learn(variances, saying), numbers);
    }

    private BinSaying Saying(OfLot lot, BinSays said) => new(
        said.LogMean, (1 / said.Precision) + (ScaleBelief.LossShare * ScaleBelief.LossShare),
        [.. lot.Terms.Concat(said.Terms).Select(t => new EffectShare(numbers[t.Key], t.Share))]);

    /// <summary>What each weighed bin had said last by then.</summary>
    private IEnumerable<(OfLot Lot, BinSays Said)> Said(long cell)
    {
        foreach (var lot in lots)
        {
            foreach (var bin in lot.Bins)
            {
                int last = -1;
                while (last + 1 < bin.Count && bin[last + 1].Cell <= cell) last++;
                if (last >= 0) yield return (lot, bin[last]);
            }
        }
    }

    private sealed record OfLot(
        string Id, string Crop, IReadOnlyList<LossTerm> Terms, double Own, IReadOnlyList<IReadOnlyList<BinSays>> Bins)
    {
        public bool SaysAs(OfLot other) => Id == other.Id && Crop == other.Crop && Own == other.Own && Terms.SequenceEqual(other.Terms)
            && (ReferenceEquals(Bins, other.Bins) || Bins.SequenceEqual(other.Bins));

        public long First => Bins.SelectMany(b => b).Min(s => s.Cell);

        public long FirstOther(OfLot? other)
        {
            if (other is null) return First;
            if (Own != other.Own || !Terms.SequenceEqual(other.Terms)) return Math.Min(First, other.First);
            long first = long.MaxValue;
            for (int b = 0; b < Math.Max(Bins.Count, other.Bins.Count); b++)
            {
                var (mine, its) = (b < Bins.Count ? Bins[b] : [], b < other.Bins.Count ? other.Bins[b] : []);
                if (ReferenceEquals(mine, its)) continue;
                int same = 0;
                while (same < mine.Count && same < its.Count && mine[same].Equals(its[same])) same++;
                if (same < mine.Count) first = Math.Min(first, mine[same].Cell);
                if (same < its.Count) first = Math.Min(first, its[same].Cell);
            }

            return first;
        }
    }
}

/// <summary>What is known of the parts that bins share. Of one that nobody weighed, what is assumed.</summary>
internal sealed class HouseKnown(SharedEffects? effects, IReadOnlyDictionary<string, int> numbers)
{
    public static readonly HouseKnown Nothing = new(null, new Dictionary<string, int>(StringComparer.Ordinal));

    /// <summary>How many times the variance between lots is what is assumed.</summary>
    public double OwnScale => effects?.OwnScale ?? 1;

    /// <summary>The logarithm that some parts come to together, and its variance.</summary>
    public (double Mean, double Variance) Of(IEnumerable<LossTerm> terms)
    {
        var shares = new List<EffectShare>();
        double unknown = 0;
        foreach (var term in terms)
        {
            if (numbers.TryGetValue(term.Key, out int number)) shares.Add(new EffectShare(number, term.Share));
            else unknown += term.Share * term.Share * term.Variance;
        }

        var (mean, variance) = effects?.Of(shares) ?? default;
        return (mean, variance + unknown);
    }
}
