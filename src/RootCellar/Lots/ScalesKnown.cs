using RootCellar.Household;
using RootCellar.Ledger;
using RootCellar.Science.Keeping;

namespace RootCellar.Lots;

/// <summary>How likely a weigh-in was, were the scale's zero off by each of <see cref="ScaleZero.LevelSteps"/>.</summary>
internal sealed record ScaleTold(long Cell, double StepKg, IReadOnlyList<double> LogLikelihoods)
{
    public bool Equals(ScaleTold? other) => ReferenceEquals(this, other)
        || (other is not null && Cell == other.Cell && StepKg == other.StepKg && LogLikelihoods.SequenceEqual(other.LogLikelihoods));

    public override int GetHashCode() => HashCode.Combine(Cell, StepKg);
}

/// <summary>
/// What the house's weigh-ins tell of its scales: how far the zero of each stands off from day to day. A scale is known by the step of its
/// display. What is believed at a piece of time rests on what was weighed before it. Never changes.
/// </summary>
internal sealed class ScalesKnown
{
    public static readonly ScalesKnown Nothing = new([]);

    private readonly List<ScaleTold> told;

    // The same for one scale, with what was known after each.
    private readonly Dictionary<double, (long[] Cells, ScaleZero[] After)> scales;

    private ScalesKnown(List<ScaleTold> told)
    {
        this.told = told;
        scales = told.GroupBy(t => t.StepKg).ToDictionary(s => s.Key, s =>
        {
            var zero = ScaleZero.Unknown;
            return (s.Select(t => t.Cell).ToArray(), s.Select(t => zero = zero.After(t.LogLikelihoods)).ToArray());
        });
    }

    /// <param name="book">The book.</param>
    /// <param name="told">What the weigh-ins of a lot tell.</param>
    /// <param name="before">What was known at the last look: the same one as long as nothing new is told.</param>
    public static ScalesKnown Of(Book book, Func<LotView, IReadOnlyList<ScaleTold>> told, ScalesKnown? before = null)
    {
        var all = book.Lots.Values.OrderBy(l => l.Id, StringComparer.Ordinal).SelectMany(told).OrderBy(t => t.Cell).ThenBy(t => t.StepKg).ToList();
        return all.Count == 0 ? Nothing : before?.told.SequenceEqual(all) == true ? before : new ScalesKnown(all);
    }

    /// <summary>How far a zero stands off on a day of weighing, kg, one standard deviation, by what was weighed before.</summary>
    public double ZeroSdKg(double stepKg, long cell)
    {
        double step = Step(stepKg);
        if (!scales.TryGetValue(step, out var scale)) return step * ScaleZero.Unknown.SdSteps;
        int before = Array.BinarySearch(scale.Cells, cell);
        // Of several of one moment none counts for it.
        if (before < 0) before = ~before;
        while (before > 0 && scale.Cells[before - 1] >= cell) before--;
        return step * (before == 0 ? ScaleZero.Unknown : scale.After[before - 1]).SdSteps;
    }

    /// <summary>What every weigh-in of a lot is met with: as long as that is the same, so is what it taught.</summary>
    public IReadOnlyList<double> Of(LotView lot) =>
        [.. lot.Bins.SelectMany(b => b.Weighings).Select(w => ZeroSdKg(w.ResolutionKg, TimeStep.Of(w.At)))];

    /// <summary>The step a scale is known by.</summary>
    public static double Step(double stepKg) => stepKg > 0 ? stepKg : ScaleStep.AssumedKg;

    public bool SaysAs(ScalesKnown other) => told.SequenceEqual(other.told);

    /// <summary>The first piece of time in which one was told what the other was not.</summary>
    public long FirstOther(ScalesKnown other)
    {
        int same = 0;
        while (same < told.Count && same < other.told.Count && told[same].Equals(other.told[same])) same++;
        return Math.Min(
            same < told.Count ? told[same].Cell : long.MaxValue, same < other.told.Count ? other.told[same].Cell : long.MaxValue);
    }
}
