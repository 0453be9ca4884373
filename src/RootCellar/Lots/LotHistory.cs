using Microsoft.Data.Sqlite;
using RootCellar.Household;
using RootCellar.Ledger;
using RootCellar.Places;
using RootCellar.Science;
using RootCellar.Science.Air;
using RootCellar.Science.Keeping;
using RootCellar.Storage;

namespace RootCellar.Lots;

/// <summary>
/// How a lot, or one filling of a bin, stood at a time gone by, as known from what had been read and weighed by then. Weights are net, kg.
/// </summary>
/// <param name="Bins">Bins with something in them.</param>
/// <param name="Shrink">What it had shrunk by since it was filled.</param>
/// <param name="HealedDays">In days at the rule's own temperature; of several bins the one that is furthest behind.</param>
/// <param name="RestUsed">Share of the rest used, of the bin that is furthest on; null where dormancy is not followed.</param>
/// <param name="DarkHours">Hours since digging whose air nobody measured, of the bin with the most.</param>
internal sealed record LotSample(
    DateTimeOffset At, int Bins, double BookKg, Interval Kg, Shrink Shrink, double HealedDays,
    HealingStage Stage, Interval? RestUsed, double DarkHours);

/// <summary>A lot's past in steps, oldest first.</summary>
/// <param name="Rule">How it cures.</param>
/// <param name="HealingMultiplier">The days to each stage against those of the rule.</param>
internal sealed record LotPast(CuringRule Rule, double HealingMultiplier, IReadOnlyList<LotSample> Samples)
{
    public double DaysTo(HealingStage stage) => Curing.DaysTo(Rule, stage) * HealingMultiplier;
}

/// <summary>
/// The past of lots, for charts. What the air had done by a moment is worked out once and remembered: it only changes when air comes
/// late. Safe from any thread; one asks at a time.
/// </summary>
internal sealed class LotHistory
{
    private readonly Lock one = new();
    private readonly LotKeeper keeper;
    private readonly Store store;
    private readonly Func<Book> book;
    private readonly ILogger<LotHistory> log;
    private readonly PastFigures known = new(MostKnown);
    private readonly Dictionary<string, (string Fingerprint, HouseSays House, LotLearned Learned)> learned = new(StringComparer.Ordinal);

    // A page asks for its pictures one after the other, each of the same past.
    private readonly Dictionary<(LotView Lot, BinView? Bin, long First, long Last, long Step), LotPast> told = [];
    private const int MostTold = 16;

    // Some fifty megabytes; a household comes to a tenth of it.
    private const int MostKnown = 400_000;

    public LotHistory(LotKeeper keeper, Store store, Func<Book> book, ILogger<LotHistory> log)
    {
        (this.keeper, this.store, this.book, this.log) = (keeper, store, book, log);
        keeper.PastChanged += (_, change) => Forget(change.Cell);
    }

    /// <summary>Moments remembered; for telling how much that is.</summary>
    public int Known => known.Count;

    /// <summary>
    /// The past of a lot; null where it is not followed: a crop the table does not know, or nothing of it is worked out yet.
    /// </summary>
    /// <param name="lot">The lot by the book.</param>
    /// <param name="bin">One bin's filling; null for all of them together.</param>
    /// <param name="from">The first moment.</param>
    /// <param name="to">The last; later than what is known ends there.</param>
    /// <param name="step">Between moments, whole pieces of five minutes.</param>
    public LotPast? Of(LotView lot, BinView? bin, DateTimeOffset from, DateTimeOffset to, TimeSpan step)
    {
        if (keeper.Views.At is not { } at) return null;
        long now = TimeStep.Of(at);
        long first = Math.Max(TimeStep.Of(from), TimeStep.Of(lot.DugAt) + 1);
        long last = Math.Min(TimeStep.Of(to), now);
        if (first > last) return null;
        long every = Math.Max(1, TimeStep.Of((long)step.TotalMilliseconds));
        lock (one)
        {
            var asked = (lot, bin, first, last, every);
            if (told.TryGetValue(asked, out var same)) return same;
            if (keeper.Views.Unfollowed.ContainsKey(lot.Id)) return null;
            var past = store.Read(c => Safely(lot, () =>
            {
                var courses = new TrajectoryCache();
                courses.Use(c);
                var places = PlaceRows.All(c).ToDictionary(p => p.Id, p => p.Purpose, StringComparer.Ordinal);
                if (Learned(lot, places, courses, now) is not { } taught) return null;
                return Past(bin is null ? lot.Bins : [bin], taught, Moments(first, last, every), courses, known);
            }));
            if (told.Count >= MostTold) told.Clear();
            if (past is not null) told.Add(asked, past);
            return past;
        }
    }

    /// <summary>The past of a lot from its digging on, for who has a record of his own; null where it is not followed.</summary>
    /// <param name="lot">The lot by the book of that time.</param>
    /// <param name="purposes">What each place is for.</param>
    /// <param name="courses">Where to look up how it stood.</param>
    /// <param name="to">The last moment.</param>
    /// <param name="step">Between moments, whole pieces of five minutes.</param>
    /// <param name="mostKnown">Moments remembered meanwhile.</param>
    /// <param name="house">What the other lots say of it.</param>
    public static LotPast? Of(LotView lot, IReadOnlyDictionary<string, Purpose> purposes, TrajectoryCache courses, DateTimeOffset to,
        TimeSpan step, int mostKnown, HouseSays house)
    {
        long first = TimeStep.Of(lot.DugAt) + 1, last = TimeStep.Of(to);
        if (first > last || lot.Bins.Count == 0 || LotLearning.Of(lot, purposes, courses, last, house) is not { } taught) return null;
        return Past(lot.Bins, taught, Moments(first, last, TimeStep.Of((long)step.TotalMilliseconds)), courses, new PastFigures(mostKnown));
    }

    /// <summary>One lot that cannot be worked out is shown by the book alone; no page of it, and none of another, fails for it.</summary>
    private LotPast? Safely(LotView lot, Func<LotPast?> work)
    {
        try
        {
            return work();
        }
        catch (Exception e) when (e is not (OperationCanceledException or SqliteException))
        {
            log.LogError(e, "The past of lot {Lot} cannot be worked out", NameRules.Seen(lot.Id));
            return null;
        }
    }

    private static LotPast Past(IEnumerable<BinView> bins, LotLearned taught, List<long> moments, TrajectoryCache courses,
        PastFigures known)
    {
        var all = bins.ToList();
        var fillings = all.ConvertAll(b => known.Filling(b, taught, moments, courses));
        var samples = moments.Select((cell, i) => Together(cell, all, [.. fillings.Select(f => f[i])])).OfType<LotSample>().ToList();
        var traits = taught.Paths.Values.First().Traits;
        return new LotPast(traits.Rule, traits.HealingMultiplier, samples);
    }

    private void Forget(long cell)
    {
        lock (one)
        {
            known.Forget(cell);
            learned.Clear();
            told.Clear();
        }
    }

    private LotLearned? Learned(LotView lot, IReadOnlyDictionary<string, Purpose> places, TrajectoryCache courses, long now)
    {
        string? print = Estimating.Fingerprint(lot, places, now);
        var house = keeper.Views.House;
        if (print is not null && learned.TryGetValue(lot.Id, out var before) && before.Fingerprint == print
            && ReferenceEquals(before.House, house))
            return before.Learned;
        if (lot.Bins.Count == 0 || LotLearning.Of(lot, places, courses, now, house) is not { } fresh) return null;
        if (print is not null) learned[lot.Id] = (print, house, fresh);
        foreach (var gone in learned.Keys.Where(k => !book().Lots.ContainsKey(k)).ToList()) learned.Remove(gone);
        return fresh;
    }

    /// <summary>On whole steps of the clock, so that the same moments are asked for again; and the last one.</summary>
    private static List<long> Moments(long first, long last, long step)
    {
        var moments = new List<long> { first };
        for (long cell = (first / step * step) + step; cell < last; cell += step) moments.Add(cell);
        if (last > first) moments.Add(last);
        return moments;
    }

    /// <summary>
    /// Bins together, as <see cref="LotEstimate"/> has them: weights added up, everything else of the bin that is worst off.
    /// </summary>
    private static LotSample? Together(long cell, List<BinView> fillings, LotSample?[] of)
    {
        var bins = of.OfType<LotSample>().ToList();
        if (bins.Count == 0) return null;
        double kg = bins.Sum(b => b.Kg.Value);
        // One bin by itself is what it is; of several, what was sorted between them is neither in nor out.
        var shrink = fillings.Count == 1
            ? bins[0].Shrink
            : Shrink.Of(fillings.Where(f => f.FilledAt <= TimeStep.At(cell)), f => of[fillings.IndexOf(f)]?.Kg.Value,
                PastFigures.Until(cell));
        var latest = bins.MinBy(b => b.HealedDays)!;
        return new LotSample(
            TimeStep.At(cell), bins.Count, bins.Sum(b => b.BookKg), new Interval(bins.Sum(b => b.Kg.Low), kg, bins.Sum(b => b.Kg.High)),
            shrink, latest.HealedDays, latest.Stage,
            bins.MaxBy(b => b.RestUsed?.Value ?? 0)!.RestUsed, bins.Max(b => b.DarkHours));
    }
}
