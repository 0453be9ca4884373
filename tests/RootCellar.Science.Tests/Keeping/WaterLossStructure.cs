using MathNet.Numerics.LinearAlgebra;
using MathNet.Numerics.Optimization;
using RootCellar.Science.Air;
using RootCellar.Science.Crops;
using RootCellar.Science.Keeping;

namespace RootCellar.Science.Tests.Keeping;

/// <summary>The figures of one structure.</summary>
internal sealed record WaterFigures
{
    /// <summary>Coefficient of closed skin in one layer, ng/(kg s Pa).</summary>
    public double Closed { get; init; } = 25;

    /// <summary>Coefficient of fresh skin in one layer; the same as <see cref="Closed"/> where it does not heal.</summary>
    public double Fresh { get; init; } = 165;

    public double Exponent { get; init; } = 1;

    /// <summary>Share of a layer's loss when packed.</summary>
    public double Coupling { get; init; } = 1;

    /// <summary>A bin's share against a crate's.</summary>
    public double BinShare { get; init; } = 1;

    /// <summary>What closed skin lets through more when new, falling to a third in <see cref="SlowDays"/>, as a share.</summary>
    public double Slow { get; init; }

    public const double SlowDays = 30;

    public double EarlyPercent { get; init; }

    /// <summary>The lot's own multiplier: of the coefficients and of the early loss alike.</summary>
    public double Multiplier { get; init; } = 1;
}

/// <summary>
/// A structure of the water-loss law: its name, its free figures (kept above 0 by their logarithm) and where the search starts.
/// </summary>
internal sealed record WaterLossStructure(string Name, string Law, double[] Start, Func<double[], WaterFigures> Figures)
{
    public static WaterLossStructure Chosen { get; } =
        new("K from 165 to 25, early loss, packing share, square root of the deficit",
            "K from 165 to 25 (published) as the skin closes, times a packing share in crates and bins, x 100 Pa sqrt(deficit/100 Pa), + early loss + breath", [1.2, 0.7],
            x => new WaterFigures { EarlyPercent = x[0], Coupling = x[1], Exponent = WaterLoss.PotatoExponent });

    public static IReadOnlyList<WaterLossStructure> All { get; } =
    [
        new("constant K", "K x deficit + breath", [30],
            x => new WaterFigures { Closed = x[0], Fresh = x[0] }),
        new("plain deficit", "as kept, x the deficit itself", [1.2, 0.7],
            x => new WaterFigures { EarlyPercent = x[0], Coupling = x[1] }),
        new("K from 165 to 44", "as kept, closing to the average of all published instead of the mature, cured one", [1.2, 0.4],
            x => new WaterFigures { Closed = 44, EarlyPercent = x[0], Coupling = x[1], Exponent = WaterLoss.PotatoExponent }),
        Chosen,
        new("exponent free", "as kept, x 100 Pa (deficit/100 Pa)^n", [1.2, 0.7, 0.6],
            x => new WaterFigures { EarlyPercent = x[0], Coupling = x[1], Exponent = x[2] }),
        new("bins apart", "as kept, the bin's share free", [1.2, 0.7, 1],
            x => new WaterFigures { EarlyPercent = x[0], Coupling = x[1], BinShare = x[2], Exponent = WaterLoss.PotatoExponent }),
        new("slow tightening", "as kept, the closed K more by a free share that falls to a third in 30 days", [1.2, 0.7, 0.4],
            x => new WaterFigures { EarlyPercent = x[0], Coupling = x[1], Slow = x[2], Exponent = WaterLoss.PotatoExponent }),
    ];

    /// <summary>
    /// Least squares of the logarithm of ours over seen: every source with the same weight, but figures that nobody weighed with a
    /// third of it (<see cref="StorageTrial.Weighed"/>; the third is assumed).
    /// </summary>
    public WaterFigures Fit(IReadOnlyList<StorageTrial> trials)
    {
        var objective = ObjectiveFunction.Value(x => Squares(Figures([.. x.Select(v => Math.Exp(v))]), trials));
        var start = Vector<double>.Build.DenseOfArray([.. Start.Select(v => Math.Log(v))]);
        var found = new NelderMeadSimplex(1e-5, 600).FindMinimum(objective, start);
        return Figures([.. found.MinimizingPoint.Select(v => Math.Exp(v))]);
    }

    /// <summary>Weighted mean over sources of the mean square of ln(ours/seen).</summary>
    public static double Squares(WaterFigures figures, IReadOnlyList<StorageTrial> trials) => Weighted(
        trials.GroupBy(trial => trial.Source).Select(source =>
            (source.First().Weighed, source.SelectMany(trial => Errors(figures, trial)).Average(e => e * e))));

    /// <summary>The mean of sources, one that nobody weighed counting a third.</summary>
    public static double Weighted(IEnumerable<(bool Weighed, double Value)> sources)
    {
        double sum = 0, weights = 0;
        foreach (var (weighed, value) in sources)
        {
            double weight = weighed ? 1 : 1.0 / 3;
            sum += weight * value;
            weights += weight;
        }

        return sum / weights;
    }

    /// <summary>ln(ours/seen) of every loss of a trial; of a limit ("less than"), only what lies above it.</summary>
    public static IEnumerable<double> Errors(WaterFigures figures, StorageTrial trial) =>
        Losses(figures, trial).Zip(trial.Losses, (ours, seen) =>
        {
            double error = Math.Log(Math.Max(ours, 1e-3) / seen.LossPercent);
            return seen.AtMost ? Math.Max(0, error) : error;
        });

    /// <summary>Our losses in the windows of a trial, percent. The parts besides water are the program's own.</summary>
    public static IReadOnlyList<double> Losses(WaterFigures figures, StorageTrial trial)
    {
        const double stepHours = 6;
        var packed = PackingTraits.Of(trial.Packing);
        double coupling = trial.Packing switch
        {
            Packing.SingleLayer => 1,
            Packing.DeepBin => figures.Coupling * figures.BinShare,
            _ => figures.Coupling,
        };
        double more = trial.Skin switch { SkinState.Scuffed => WaterLoss.ScuffedPercent, SkinState.Cut => WaterLoss.CutPercent, _ => 0 };
        double early = figures.EarlyPercent == 0 ? 0 : (figures.EarlyPercent + more) / 100 * figures.Multiplier;

        var lost = new List<double> { 0 };
        double healed = 0, used = 0, sprout = 0, age = 0;
        double rest = RestPrior.Unknown.RestDaysAt10C(Dormancy.Q10, Dormancy.SproutMmPerDegreeDay, packed.WarmerC);
        foreach (var span in trial.Air)
        {
            var air = span.From;
            double pulp = air.TemperatureC + packed.WarmerC;
            double deficit = 0.98 * Saturation.OverWaterPa(pulp - packed.RegainedC) - MoistAir.VapourPressurePa(air.TemperatureC, air.RelativeHumidityPercent);
            double drive = WaterLoss.DrivePa(deficit, figures.Exponent);
            double rate = WoundHealing.RatePerDay(pulp, air.RelativeHumidityPercent, wet: false);
            double breath = Breath.LossPerHour(Potato.Respiration.At(pulp)) * stepHours;
            for (int i = 0; i < (int)Math.Round(span.Hours / stepHours); i++)
            {
                double days = stepHours / 24;
                double share = Dormancy.ShareSprouted(sprout);
                double before = Open(healed, age);
                healed += rate * days;
                double after = Open(healed, age + days);
                double open = (before + after) / 2;
                double closed = figures.Closed * (1 + figures.Slow * Math.Exp(-age / WaterFigures.SlowDays));
                double k = figures.Multiplier * coupling * (closed + (figures.Fresh - figures.Closed) * open);
                double water = k * 3600e-12 * stepHours * drive * WaterLoss.SproutFactor(share, sprout) + early * (before - after);
                double gone = water + breath * Breath.FreshnessFactor(age + days / 2) * Breath.SproutFactor(share, sprout);
                lost.Add(lost[^1] + gone * (1 - lost[^1]));
                age += days;
                double more1 = Dormancy.TemperatureFactor(pulp) / rest * days;
                double growing = used >= 1 ? days : used + more1 > 1 ? days * (used + more1 - 1) / more1 : 0;
                used = Math.Min(1, used + more1);
                sprout += growing * Dormancy.SproutMmPerDay(pulp);
            }
        }

        double At(double day) => lost[(int)Math.Round(day * 24 / stepHours)];
        return [.. trial.Losses.Select(seen => 100 * (At(seen.ToDay) - At(seen.FromDay)) / (1 - At(seen.FromDay)))];
    }

    private static double Open(double healed, double age) =>
        Math.Exp(-Math.Max(healed / WoundHealing.SealedDays, age / Early.Days));

    private static readonly Crop Potato = CropTable.Default.Find("potato")!;

    /// <summary>The early part of a potato.</summary>
    public static EarlyLoss Early => Potato.Early!;
}
