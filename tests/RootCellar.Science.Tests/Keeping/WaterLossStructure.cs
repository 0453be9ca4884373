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
    public double Closed { get; init; } = 44;

    /// <summary>Coefficient of fresh skin in one layer; the same as <see cref="Closed"/> where it does not heal.</summary>
    public double Fresh { get; init; } = 165;

    public double Exponent { get; init; } = 1;

    /// <summary>Share of a layer's loss when packed.</summary>
    public double Coupling { get; init; } = 1;

    /// <summary>What the bin's air exchanges; infinite where the structure has no bin air.</summary>
    public double BinAir { get; init; } = double.PositiveInfinity;

    public double EarlyPercent { get; init; }
}

/// <summary>
/// A structure of the water-loss law: its name, its free figures (kept above 0 by their logarithm) and where the search starts.
/// </summary>
internal sealed record WaterLossStructure(string Name, string Law, double[] Start, Func<double[], WaterFigures> Figures)
{
    public static WaterLossStructure Chosen { get; } =
        new("healing K, early loss, packing share, square root of the deficit",
            "K from 165 to 44 (published) as exp(-H/2), times a packing share in crates and bins, x 100 Pa sqrt(deficit/100 Pa), + early loss + breath", [0.7, 0.4],
            x => new WaterFigures { EarlyPercent = x[0], Coupling = x[1], Exponent = WaterLoss.PotatoExponent });

    public static IReadOnlyList<WaterLossStructure> All { get; } =
    [
        new("constant K", "K x deficit + breath", [30],
            x => new WaterFigures { Closed = x[0], Fresh = x[0] }),
        new("healing K, early loss", "(K + (165 - K) exp(-H/2)) x deficit + early loss + breath", [30, 0.7],
            x => new WaterFigures { Closed = x[0], EarlyPercent = x[1] }),
        new("healing K, early loss, bin air", "as above, K becoming K G/(K + G) in crates and bins", [44, 0.7, 80],
            x => new WaterFigures { Closed = x[0], EarlyPercent = x[1], BinAir = x[2] }),
        new("healing K, early loss, packing share",
            "K from 165 to 44 (published), times a packing share in crates and bins, x deficit + early loss + breath", [0.7, 0.4],
            x => new WaterFigures { EarlyPercent = x[0], Coupling = x[1] }),
        Chosen,
        new("the same, exponent free", "as above with 100 Pa (deficit/100 Pa)^n", [0.7, 0.4, 0.6],
            x => new WaterFigures { EarlyPercent = x[0], Coupling = x[1], Exponent = x[2] }),
    ];

    /// <summary>Least squares of the logarithm of ours over seen, each source with the same weight.</summary>
    public WaterFigures Fit(IReadOnlyList<StorageTrial> trials)
    {
        var objective = ObjectiveFunction.Value(x => Squares(Figures([.. x.Select(v => Math.Exp(v))]), trials));
        var start = Vector<double>.Build.DenseOfArray([.. Start.Select(v => Math.Log(v))]);
        var found = new NelderMeadSimplex(1e-5, 600).FindMinimum(objective, start);
        return Figures([.. found.MinimizingPoint.Select(v => Math.Exp(v))]);
    }

    /// <summary>Mean over sources of the mean square of ln(ours/seen).</summary>
    public static double Squares(WaterFigures figures, IReadOnlyList<StorageTrial> trials) =>
        trials.GroupBy(trial => trial.Source).Average(source => source.SelectMany(trial => Errors(figures, trial)).Average(e => e * e));

    /// <summary>ln(ours/seen) of every loss of a trial.</summary>
    public static IEnumerable<double> Errors(WaterFigures figures, StorageTrial trial) =>
        Losses(figures, trial).Zip(trial.Losses, (ours, seen) => Math.Log(Math.Max(ours, 1e-3) / seen.LossPercent));

    /// <summary>Our losses in the windows of a trial, percent. The parts besides water are the program's own.</summary>
    public static IReadOnlyList<double> Losses(WaterFigures figures, StorageTrial trial)
    {
        const double stepHours = 6;
        var packed = PackingTraits.Of(trial.Packing);
        double coupling = trial.Packing == Packing.SingleLayer ? 1 : figures.Coupling;
        double Packed(double k) => coupling * k * (trial.Packing == Packing.SingleLayer ? 1 : WaterLoss.BinAirCoupling(k, figures.BinAir));
        double more = trial.Skin switch { SkinState.Scuffed => WaterLoss.ScuffedPercent, SkinState.Cut => WaterLoss.CutPercent, _ => 0 };
        double early = figures.EarlyPercent == 0 ? 0 : (figures.EarlyPercent + more) / 100;

        var lost = new List<double> { 0 };
        double healed = 0, used = 0, sprout = 0, age = 0;
        double rest = RestPrior.Unknown.RestDaysAt10C(Dormancy.Q10, Dormancy.SproutMmPerDegreeDay, packed.WarmerC);
        foreach (var span in trial.Air)
        {
            var air = span.From;
            double pulp = air.TemperatureC + packed.WarmerC;
            double deficit = 0.98 * Saturation.OverWaterPa(pulp) - MoistAir.VapourPressurePa(air.TemperatureC, air.RelativeHumidityPercent);
            double drive = WaterLoss.DrivePa(deficit, figures.Exponent);
            double rate = WoundHealing.RatePerDay(pulp, air.RelativeHumidityPercent, wet: false);
            double breath = Breath.LossPerHour(Potato.Respiration.At(pulp)) * stepHours;
            for (int i = 0; i < (int)Math.Round(span.Hours / stepHours); i++)
            {
                double days = stepHours / 24;
                double share = Dormancy.ShareSprouted(sprout);
                double before = Math.Exp(-healed / WaterLoss.PotatoHealingScaleDays);
                healed += rate * days;
                double after = Math.Exp(-healed / WaterLoss.PotatoHealingScaleDays);
                double open = (before + after) / 2;
                double k = Packed(figures.Closed) * (1 - open) + Packed(figures.Fresh) * open;
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

    private static readonly Crop Potato = CropTable.Default.Find("potato")!;
}
