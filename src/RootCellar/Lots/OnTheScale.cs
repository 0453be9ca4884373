using System.Collections.Immutable;
using RootCellar.Household;
using RootCellar.Ledger;
using RootCellar.Science.Keeping;
using OnScale = RootCellar.Science.Keeping.Weighing;

namespace RootCellar.Lots;

/// <summary>A filling as the scale knows it.</summary>
/// <param name="Start">What is left in it, at its weight when it was last weighed, or filled.</param>
/// <param name="Begun">When that was.</param>
/// <param name="Taken">What was taken out since, and when.</param>
/// <param name="LastCell">When it was last weighed or changed.</param>
/// <param name="Vague">Its weight at the beginning is hardly known at all: a weigh-in tells that, not what was lost.</param>
internal sealed record OnTheScale(BinStart Start, long Begun, double BegunKg, ImmutableList<(long Cell, double Kg)> Taken, long LastCell,
    bool Vague)
{
    /// <summary>The scale's own repeatability at least, kg; half a step of its display where that is more (assumed).</summary>
    private const double RepeatKg = 0.01;

    /// <summary>Standard error of an empty bin's weight that was found for this very bin, kg (assumed).</summary>
    private const double TareSdKg = 0.05;

    /// <summary>And, as a share of it, of one that several bins have in common: bins of one kind are not all alike (assumed).</summary>
    private const double AlikeShare = 0.1;

    /// <summary>Standard error of what a scale of such steps says, kg.</summary>
    /// <param name="stepKg">Step of its display.</param>
    /// <param name="tareSdKg">Standard error of what was taken off, kg.</param>
    public static double SdKg(double stepKg, double tareSdKg) =>
        LotUncertainty.RootSumSquare(LotUncertainty.RootSumSquare(stepKg / Math.Sqrt(12), Repeat(stepKg)), tareSdKg);

    /// <summary>
    /// Standard error of the empty bin's weight where it was taken off: it was weighed on the same scale; nought where it was not.
    /// </summary>
    /// <param name="alike">Whether the same figure was taken off other bins too: then it is that of their kind.</param>
    public static double TareErrorKg(double tareKg, double stepKg, bool alike) =>
        tareKg > 0 ? Math.Max(Math.Max(TareSdKg, alike ? AlikeShare * tareKg : 0), SdKg(stepKg, 0)) : 0;

    /// <summary>Standard error of what was weighed on its way in or out, kg: its share; no finer than a household's scale.</summary>
    public static double PassingSdKg(double kg, double share) => Math.Max(kg * share, SdKg(ScaleStep.AssumedKg, 0));

    /// <summary>A weighing of it now. What went out was weighed too, each time with an error.</summary>
    public OnScale Weigh(long dug, long cell, double netKg, double tareKg, double stepKg, double tareSdKg, double zeroSdKg)
    {
        double taken = Taken.Sum(t => Math.Pow(PassingSdKg(t.Kg, LotLearning.WeighedShare), 2));
        return new OnScale(TimeStep.Days(cell - dug), netKg + tareKg, tareKg, stepKg, tareSdKg,
            LotUncertainty.RootSumSquare(Repeat(stepKg), Math.Sqrt(taken)), zeroSdKg);
    }

    /// <summary>
    /// What it should weigh at each multiplier: what it began with less what was taken out, each less what it lost since.
    /// </summary>
    /// <param name="times">By what the multipliers are to be multiplied for this bin (<see cref="WaterTaught.OnScale"/>).</param>
    public void Expect(LotPath path, TrajectoryCache courses, long cell, Span<double> predictedKg, double times)
    {
        var now = courses.Past(path, cell);
        var since = Lost.Between(courses.Past(path, Math.Min(Begun, cell)), now);
        var gone = Taken.ConvertAll(t => (t.Kg, Lost: Lost.Between(courses.Past(path, Math.Min(t.Cell, cell)), now)));
        for (int i = 0; i < predictedKg.Length; i++)
        {
            double m = times * ScaleBelief.Multipliers[i];
            double kg = BegunKg * since.Left(m);
            foreach (var (taken, lost) in gone) kg -= taken * lost.Left(m);
            predictedKg[i] = Math.Clamp(kg, 1e-6, 2 * Start.StartKg);
        }
    }

    private static double Repeat(double stepKg) => Math.Max(RepeatKg, stepKg / 2);
}
