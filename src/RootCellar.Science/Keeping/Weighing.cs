using RootCellar.Science.Air;

namespace RootCellar.Science.Keeping;

/// <summary>
/// A bin as it was filled. Where it was weighed when filled, give that weight here with a wide uncertainty and the weighing
/// itself to <see cref="ScaleBelief.Observe"/> as the first, at day 0: the scale's and the tare's errors are then shared with
/// the later ones, as they are in truth.
/// </summary>
/// <param name="Bin">Its name, one for each filling.</param>
/// <param name="StartKg">Net weight at filling, kg.</param>
/// <param name="UncertaintyKg">Its standard error, kg: a bushel by the book is good to about a tenth (assumed).</param>
/// <param name="EmptyKg">What it weighs empty, kg, so that a tare not taken off is known for one; 0 where not known.</param>
public sealed record BinStart(string Bin, double StartKg, double UncertaintyKg, double EmptyKg = 0)
{
    internal void Check()
    {
        Require.Within(StartKg, 0.01, 100_000, nameof(StartKg));
        Require.Within(UncertaintyKg, 0, StartKg, nameof(UncertaintyKg));
        Require.Within(EmptyKg, 0, 100_000, nameof(EmptyKg));
    }
}

/// <summary>A bin on the scale.</summary>
/// <param name="Day">Days since it was filled.</param>
/// <param name="GrossKg">What the scale showed, kg.</param>
/// <param name="TareKg">The empty bin, kg; 0 where the scale was zeroed with it or it was not taken off.</param>
/// <param name="ResolutionKg">Step of the display, kg.</param>
/// <param name="TareUncertaintyKg">Standard error of the tare, kg; shared by every weighing with the same tare.</param>
/// <param name="RepeatabilityKg">Standard deviation of the scale from one weighing to the next, kg, rounding left out; above 0.</param>
public sealed record Weighing(double Day, double GrossKg, double TareKg, double ResolutionKg, double TareUncertaintyKg,
    double RepeatabilityKg)
{
    /// <summary>Net weight, kg.</summary>
    public double NetKg => GrossKg - TareKg;

    internal double RoundingVariance => ResolutionKg * ResolutionKg / 12;

    internal void Check()
    {
        Require.Within(Day, 0, 2000, nameof(Day));
        Require.Within(GrossKg, 0, 1_000_000, nameof(GrossKg));
        Require.Within(TareKg, 0, 100_000, nameof(TareKg));
        Require.Within(ResolutionKg, 0, 1000, nameof(ResolutionKg));
        Require.Within(TareUncertaintyKg, 0, 1000, nameof(TareUncertaintyKg));
        Require.Within(RepeatabilityKg, 1e-6, 1000, nameof(RepeatabilityKg));
    }
}

/// <summary>What a weighing has taught.</summary>
/// <param name="Belief">The belief after it; the one before where there is a question.</param>
/// <param name="Question">What to ask; null where it was taken in.</param>
public sealed record ScaleAnswer(ScaleBelief Belief, ScaleQuestion? Question);
