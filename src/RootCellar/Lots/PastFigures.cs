using RootCellar.Ledger;
using RootCellar.Science;
using RootCellar.Science.Air;
using RootCellar.Science.Keeping;

namespace RootCellar.Lots;

/// <summary>
/// How fillings stood at times gone by, each figure worked out once and remembered: it only changes when air comes late. Not for several
/// threads at once.
/// </summary>
/// <param name="most">Moments to remember; beyond that all are let go.</param>
internal sealed class PastFigures(int most)
{
    private readonly Dictionary<(string Key, long Cell), Figures> known = [];

    /// <summary>What a state has that history needs.</summary>
    private readonly record struct Figures(double Water, double Breath, double DarkWater, double HealedDays, double RestUsed,
        double RestDays, double DarkHours, double DarkShare, Sprouts90 Sprouts);

    public int Count => known.Count;

    /// <summary>Lets go of everything a reading of <paramref name="cell"/> has a part in.</summary>
    public void Forget(long cell)
    {
        foreach (var key in known.Keys.Where(k => k.Cell > cell).ToList()) known.Remove(key);
    }

    /// <summary>
    /// One filling at each moment, as known from what had been weighed by then; null before it was filled and after it was emptied.
    /// </summary>
    /// <param name="moments">Rising.</param>
    public LotSample?[] Filling(BinView bin, LotLearned taught, IReadOnlyList<long> moments, TrajectoryCache courses)
    {
        var path = taught.Paths[(bin.Id, bin.FilledAt)];
        var samples = new LotSample?[moments.Count];
        if (!taught.Reckoned.TryGetValue((bin.Id, bin.FilledAt), out var bases)) return samples;
        long filled = TimeStep.Of(bin.FilledAt), emptied = bin.EmptiedAt is { } end ? TimeStep.Of(end) : long.MaxValue;
        var there = moments.Where(m => m > filled && m <= emptied).ToList();
        foreach (long cell in there.Concat(bases.Select(b => b.From).Where(b => there.Count > 0 && b <= there[^1]))
            .Where(c => !known.ContainsKey((path.KeyAt(c), c))).Distinct().Order().ToList())
        {
            var course = courses.Live(path, cell);
            if (known.Count >= most) known.Clear();
            known[(path.KeyAt(cell), course.Cell)] = new Figures(
                course.Water, course.Breath, course.DarkWater, course.State.HealedDays, course.State.RestUsed, course.RestDays,
                course.DarkHours, course.DarkShare, Sprouts90.Of(taught, course.SproutMm));
        }

        for (int i = 0, b = 0, taughtBy = 0; i < moments.Count; i++)
        {
            long cell = moments[i];
            if (cell <= filled || cell > emptied) continue;
            while (b + 1 < bases.Count && bases[b + 1].Cell <= cell) b++;
            while (taughtBy + 1 < taught.Water.Count && taught.Water[taughtBy + 1].Cell <= cell) taughtBy++;
            var places = PlaceShares.Of(path, bases[b].From, cell, c => WaterAt(path, c, courses));
            samples[i] = Sample(bin, path, taught, cell, bases[b], taught.Water[taughtBy].Of(taught.TermsOf(bin, places)));
        }

        return samples;
    }

    /// <summary>What happened within a piece counts for its beginning.</summary>
    public static DateTimeOffset Until(long cell) => TimeStep.At(cell + 1).AddTicks(-1);

    private double WaterAt(LotPath path, long cell, TrajectoryCache courses) =>
        known.TryGetValue((path.KeyAt(cell), cell), out var at) ? at.Water : courses.Past(path, cell).Water;

    private LotSample? Sample(BinView bin, LotPath path, LotLearned taught, long cell, WeightBase from, WaterMultiplier water)
    {
        if (!known.TryGetValue((path.KeyAt(cell), cell), out var at)
            || !known.TryGetValue((path.KeyAt(from.From), from.From), out var then))
            return null;
        var lost = new Lost(
            at.Water - then.Water, at.DarkWater - then.DarkWater, at.Breath - then.Breath, (cell - from.From) / (double)TimeStep.PerDay,
            SproutSpread.Of(then.Sprouts, at.Sprouts), from.Going);
        var kg = LotUncertainty.Weight(from.Kg, from.SdKg, lost, water, taught.Prior.BreathFactor);
        double restDays = taught.RestDaysAt10C;
        double dark = LotUncertainty.For(LotUncertainty.DarkRestFactor, at.DarkShare);
        var rest = (Shorter: LotUncertainty.Factor(taught.RestShorter, dark), Longer: LotUncertainty.Factor(taught.RestLonger, dark));
        return new LotSample(
            TimeStep.At(cell), 1, bin.Steps.Where(s => s.At <= Until(cell)).Sum(s => s.Grams) / 1000.0, kg,
            Shrink.Of(bin, kg.Value, Until(cell)), at.HealedDays,
            Curing.StageAfter(path.Traits.Rule, at.HealedDays / path.Traits.HealingMultiplier),
            double.IsNaN(restDays) ? null : new Interval(
                Math.Min(1, at.RestDays / restDays / rest.Longer), at.RestUsed, Math.Min(1, at.RestDays / restDays * rest.Shorter)),
            at.DarkHours);
    }
}
