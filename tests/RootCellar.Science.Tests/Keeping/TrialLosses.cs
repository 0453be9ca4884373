using RootCellar.Science.Crops;
using RootCellar.Science.Keeping;

namespace RootCellar.Science.Tests.Keeping;

/// <summary>What a lot loses between two days of a trial, with the interval of its members.</summary>
internal static class TrialLosses
{
    /// <summary>A loss, percent of the weight at the first of two days: 5 in a hundred below, the middle, 5 in a hundred above.</summary>
    internal readonly record struct Loss(double Low, double Mid, double High)
    {
        public bool Holds(double percent) => percent >= Low && percent <= High;
    }

    private static readonly Lazy<IReadOnlyList<LossRow>> PotatoRows = new(() => [.. StorageTrials.All.SelectMany(trial =>
    {
        var lot = LotPrior.Of(CropTable.Default.Find("potato")!) with { Skin = trial.Skin, Packing = trial.Packing };
        var ours = Of(lot, trial.Air, trial.Losses);
        return trial.Losses.Select((seen, i) => new LossRow(trial, seen, ours[i].Mid, ours[i].Low, ours[i].High));
    })]);

    /// <summary>Every loss of <see cref="StorageTrials"/> beside ours: reckoned once for all who ask.</summary>
    public static IReadOnlyList<LossRow> Potatoes => PotatoRows.Value;

    /// <summary>The loss of a lot with every figure in its middle, percent.</summary>
    public static double Middle(LotPrior lot, Seen window, params AirSpan[] air) => Middles(lot, air, [window])[0];

    /// <summary>The same, one for each window.</summary>
    public static IReadOnlyList<double> Middles(LotPrior lot, IReadOnlyList<AirSpan> air, IReadOnlyList<Seen> windows) =>
        Losses(lot.Middle(), air, windows);

    /// <summary>The losses of a lot in steady holds, one for each window.</summary>
    public static IReadOnlyList<Loss> Of(LotPrior lot, IReadOnlyList<AirSpan> air, IReadOnlyList<Seen> windows)
    {
        double[] middle = Losses(lot.Middle(), air, windows);
        double[][] members = [.. Enumerable.Range(0, LotPrior.Members).AsParallel().AsOrdered()
            .Select(i => Losses(lot.Member(i), air, windows))];
        return [.. windows.Select((_, i) =>
        {
            double[] sorted = [.. members.Select(m => m[i]).Order()];
            return new Loss(Math.Min(middle[i], sorted[3]), middle[i], Math.Max(middle[i], sorted[^4]));
        })];
    }

    private static double[] Losses(LotTraits traits, IReadOnlyList<AirSpan> air, IReadOnlyList<Seen> windows)
    {
        const double stepHours = 6;
        var lost = new List<double> { 0 };
        var lot = LotState.Dug(traits);
        foreach (var span in air)
        {
            if (span.From != span.To)
                throw new ArgumentException("Only steady holds.", nameof(air));
            for (int i = 0; i < (int)Math.Round(span.Hours / stepHours); i++)
            {
                lot = lot.Advance(span.From, stepHours);
                lost.Add(lot.Lost);
            }
        }

        double At(double day) => lost[(int)Math.Round(day * 24 / stepHours)];
        return [.. windows.Select(seen => 100 * (At(seen.ToDay) - At(seen.FromDay)) / (1 - At(seen.FromDay)))];
    }
}
