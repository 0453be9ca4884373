using RootCellar.Science.Air;

namespace RootCellar.Science.Keeping;

/// <summary>A bin, and the net weight it is reckoned from.</summary>
/// <param name="Bin">Its name, one for each filling.</param>
/// <param name="StartKg">
/// Net weight it is reckoned from, kg: at filling, and from the first weighing on <see cref="ScaleAnswer.Kg"/> of the last; less what was
/// taken out since.
/// </param>
/// <param name="UncertaintyKg">Standard error of the weight at filling, kg: a bushel by the book is good to about a tenth (assumed).</param>
/// <param name="EmptyKg">What it weighs empty, kg, so that a tare not taken off is known for one; 0 where not known.</param>
/// <param name="Day">When it was filled, in days since the lot was dug.</param>
/// <param name="TareKg">
/// The empty weight that was taken off at filling, kg; 0 where none was. Taken off again at a weighing, its error is in both, and what was
/// lost between them is free of it.
/// </param>
/// <param name="ZeroUncertaintyKg">How far the scale's zero may have stood off at filling, kg, one standard deviation.</param>
public sealed record BinStart(
    string Bin, double StartKg, double UncertaintyKg, double EmptyKg = 0, double Day = 0, double TareKg = 0, double ZeroUncertaintyKg = 0)
{
    internal void Check()
    {
        Require.Within(StartKg, 0.01, 1_000_000, nameof(StartKg));
        Require.Within(UncertaintyKg, 0, 1_000_000, nameof(UncertaintyKg));
        Require.Within(EmptyKg, 0, 100_000, nameof(EmptyKg));
        Require.Within(Day, 0, 4000, nameof(Day));
        Require.Within(TareKg, 0, 100_000, nameof(TareKg));
        Require.Within(ZeroUncertaintyKg, 0, 10_000, nameof(ZeroUncertaintyKg));
    }
}

/// <summary>A bin on the scale.</summary>
/// <param name="Day">Days since the lot was dug.</param>
/// <param name="GrossKg">What the scale showed, kg.</param>
/// <param name="TareKg">The empty bin, kg; 0 where the scale was zeroed with it or it was not taken off.</param>
/// <param name="ResolutionKg">Step of the display, kg.</param>
/// <param name="TareUncertaintyKg">Standard error of the tare, kg; shared by every weighing with the same tare.</param>
/// <param name="RepeatabilityKg">Standard deviation of the scale from one weighing to the next, kg, rounding left out; above 0.</param>
/// <param name="ZeroUncertaintyKg">How far the scale's zero may stand off on that day, kg, one standard deviation (<see
/// cref="ScaleZero"/>):
/// an error that all weighings of the lot within half a day share, and the next day's do not.</param>
public sealed record Weighing(double Day, double GrossKg, double TareKg, double ResolutionKg, double TareUncertaintyKg,
    double RepeatabilityKg, double ZeroUncertaintyKg = 0)
{
    /// <summary>Net weight, kg.</summary>
    public double NetKg => GrossKg - TareKg;

    internal double RoundingVariance => ResolutionKg * ResolutionKg / 12;

    internal void Check()
    {
        Require.Within(Day, 0, 4000, nameof(Day));
        Require.Within(GrossKg, 0, 1_000_000, nameof(GrossKg));
        Require.Within(TareKg, 0, 100_000, nameof(TareKg));
        Require.Within(ResolutionKg, 0, 1000, nameof(ResolutionKg));
        Require.Within(TareUncertaintyKg, 0, 1000, nameof(TareUncertaintyKg));
        Require.Within(RepeatabilityKg, 1e-6, 1000, nameof(RepeatabilityKg));
        Require.Within(ZeroUncertaintyKg, 0, 10_000, nameof(ZeroUncertaintyKg));
    }
}

/// <summary>What a weighing has taught.</summary>
/// <param name="Belief">The belief after it.</param>
/// <param name="Question">What to ask; null where it was taken in.</param>
/// <param name="Kg">
/// Net weight in the bin by all its weighings and the fold together, kg; what was expected, where there is a question.
/// </param>
/// <param name="SdKg">Its standard error, kg; wide enough to hold the reading in nine of ten, where there is a question.</param>
/// <param name="LogLikelihood">Logarithm of how likely the reading was before it was seen (its probability over its step, per kg).</param>
/// <param name="OwnLossShare">How likely it is that the bin loses something of its own that goes on (rot).</param>
/// <param name="OwnLossKg">How much it lost by that since the last weighing, kg; below 0 where it gained.</param>
public sealed record ScaleAnswer(ScaleBelief Belief, ScaleQuestion? Question, double Kg, double SdKg, double LogLikelihood = 0,
    double OwnLossShare = 0, double OwnLossKg = 0);
