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
    public static double Percent(string crop) => Fit(crop, 12, (early, x) => early with { Percent = x });

    /// <summary>The coefficient of a fresh one, ng/(kg s Pa).</summary>
    public static double Fresh(string crop) => Fit(crop, 500, (early, x) => early with { FreshCoefficient = x });

    private static double Fit(string crop, double most, Func<EarlyLoss, double, EarlyLoss> with)
    {
        var row = CropTable.Default.Find(crop)!;
        return Least(0, most, x => Squares(row with { Early = with(row.Early!, x) }));
    }

    private static double Squares(Crop crop) => Trials.Where(trial => trial.Fitted && trial.Crop == crop.Id).GroupBy(trial => trial.Source)
        .Average(source => source.Average(trial => TrialLosses
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
