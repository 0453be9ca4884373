using RootCellar.Science.Crops;
using RootCellar.Science.Keeping;
using RootCellar.Science.Tests.Published;

namespace RootCellar.Science.Tests.Keeping;

/// <summary>
/// The figure of an early part that lies nearest to a crop's fitted losses, everything else of its row as it stands: least squares of the
/// logarithm of ours over published, every source with the same weight.
/// </summary>
internal static class CropEarlyFit
{
    /// <summary>Trials and norms of crops other than potatoes.</summary>
    public static IReadOnlyList<CropTrial> Trials { get; } =
        [.. CropTrials.All, .. StoreNorm.All.Where(norm => norm.Crop != "potato").Select(norm => norm.Trial)];

    /// <summary>Percent that no humidity stops.</summary>
    /// <param name="crop">The crop.</param>
    /// <param name="without">A source the fit does not see.</param>
    public static double Percent(string crop, string? without = null)
    {
        var row = CropTable.Default.Find(crop)!;
        return Least(0, 12, x => Squares(With(row, x), without));
    }

    /// <summary>Every fitted loss of a crop as the law foretells it with a percent that was fitted without its source.</summary>
    public static IEnumerable<Foretold> LeftOut(string crop)
    {
        var row = CropTable.Default.Find(crop)!;
        foreach (var source in Trials.Where(trial => trial.Fitted && trial.Crop == crop).GroupBy(trial => trial.Source))
        {
            var refitted = With(row, Percent(crop, source.Key));
            foreach (var trial in source)
            {
                var ours = TrialLosses.Of(LotPrior.Of(refitted) with { Packing = trial.Packing }, trial.Air, trial.Losses);
                foreach (var (i, seen) in trial.Losses.Index()) yield return new Foretold(seen, ours[i].Low, ours[i].Mid, ours[i].High);
            }
        }
    }

    private static Crop With(Crop row, double percent) => row with { Early = row.Early! with { Percent = percent } };

    private static double Squares(Crop crop, string? without) => Trials
        .Where(trial => trial.Fitted && trial.Crop == crop.Id && trial.Source != without).GroupBy(trial => trial.Source).Average(source => source.Average(trial => TrialLosses
            .Middles(LotPrior.Of(crop) with { Packing = trial.Packing }, trial.Air, trial.Losses)
            .Zip(trial.Losses, (ours, seen) => Math.Log(ours / seen.LossPercent)).Average(e => e * e)));

    /// <summary>Golden section, for one valley.</summary>
    private static double Least(double low, double high, Func<double, double> of)
    {
        double golden = (Math.Sqrt(5) - 1) / 2;
        double a = high - golden * (high - low), b = low + golden * (high - low), atA = of(a), atB = of(b);
        while (high - low > 1e-3 * high)
        {
            if (atA < atB)
            {
                (high, b, atB) = (b, a, atA);
                a = high - golden * (high - low);
                atA = of(a);
            }
            else
            {
                (low, a, atA) = (a, b, atB);
                b = low + golden * (high - low);
                atB = of(b);
            }
        }

        return (low + high) / 2;
    }
}
