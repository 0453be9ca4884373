using RootCellar.Science;
using RootCellar.Science.Air;
using RootCellar.Science.Keeping;

namespace RootCellar.Lots;

/// <summary>
/// How far a figure may be off. The members of <see cref="RootCellar.Science.Keeping.LotPrior"/> are not each folded: water and breath are
/// in proportion to their multipliers until the lot sprouts, so each member's weight is reckoned from the sums of the one fold
/// (once sprouting, the sprouts of the middle stand for those of all).
/// </summary>
internal static class LotUncertainty
{
    /// <summary>The 5 to 95 % factor, either way, on what was lost in the dark, on top of what is not known of the lot (assumed).</summary>
    public const double DarkWaterFactor = 2;

    /// <summary>And on a rest used up wholly in the dark: 3 C either way at a response of 2.25 per 10 C (assumed).</summary>
    public const double DarkRestFactor = 1.28;

    /// <summary>And on healing wholly in the dark: 3 C either way about 10 C (assumed).</summary>
    public const double DarkHealingFactor = 1.6;

    /// <summary>
    /// What the response of the rest to temperature adds to its spread, 5 C away from where the variety was tried (derived: 1.25 to the
    /// half).
    /// </summary>
    public const double ResponseFactor = 1.12;

    private const int Members = 64;
    /// <summary>Standard deviations from the middle to 5 and to 95 % of a normal.</summary>
    public const double Z90 = 1.6448536269514722;

    // One quantile an unknown for every member: odd steps walk through all 64, chosen so that no two go hand in hand.
    private static readonly double[] WaterZ = Quantiles(1, 0);
    private static readonly double[] BreathZ = Quantiles(59, 7);
    private static readonly double[] DarkZ = Quantiles(37, 14);
    private static readonly double[] GoingZ = Quantiles(45, 3);
    private static readonly double[] GoingAt = [.. Enumerable.Range(0, Members).Select(i => (((i * 27) + 21) % Members + 0.5) / Members)];

    /// <summary>What is left of a weight, with its 90 % interval, kg.</summary>
    /// <param name="kg">The weight it is reckoned from.</param>
    /// <param name="sdKg">Its standard error, kg.</param>
    /// <param name="lost">What was lost since.</param>
    /// <param name="water">Its water-loss multiplier.</param>
    /// <param name="breathFactor">The 5 to 95 % factor about its breath.</param>
    public static Interval Weight(double kg, double sdKg, in Lost lost, WaterMultiplier water, double breathFactor)
    {
        var (lostWater, darkWater, breath, days, sprouts, going) = lost;
        var multiplier = water.Sides;
        double wander = water.IsWeighed ? Wander(days) : ScaleBelief.LossShare, own = Portable.Log(breathFactor) / Z90;
        var waterStep = (
            Down: RootSumSquare(RootSumSquare(Portable.Log(multiplier.Value / multiplier.Low) / Z90, wander), sprouts.WaterLater / Z90),
            Up: RootSumSquare(RootSumSquare(Portable.Log(multiplier.High / multiplier.Value) / Z90, wander), sprouts.WaterEarlier / Z90));
        var breathStep = (Down: RootSumSquare(own, sprouts.BreathLater / Z90), Up: RootSumSquare(own, sprouts.BreathEarlier / Z90));
        double darkStep = Portable.Log(DarkWaterFactor) / Z90;
        double lit = Math.Max(0, lostWater - darkWater);
        Span<double> left = stackalloc double[Members];
        for (int i = 0; i < Members; i++)
        {
            double dried = multiplier.Value * Portable.Exp(WaterZ[i] * (WaterZ[i] < 0 ? waterStep.Down : waterStep.Up)) * (
                lit + (darkWater * (darkWater > 0 ? Portable.Exp(DarkZ[i] * darkStep) : 1)));
            left[i] = Portable.Exp(-(dried + (breath * Portable.Exp(BreathZ[i] * (BreathZ[i] < 0 ? breathStep.Down : breathStep.Up)))));
        }

        Span<double> sorted = stackalloc double[Members];
        left.CopyTo(sorted);
        sorted.Sort();
        double middle = lost.Left(multiplier.Value), high = Quantile(sorted, 0.95);
        if (going.Share > 0 && days > 0)
        {
            for (int i = 0; i < Members; i++)
            {
                if (GoingAt[i] < going.Share) left[i] = Math.Max(0, left[i] - going.In(days, GoingZ[i]));
            }

            left.CopyTo(sorted);
            sorted.Sort();
        }

        double scale = Z90 * sdKg * middle;
        return new Interval(
            Math.Max(0, (kg * middle) - RootSumSquare(kg * (middle - Math.Min(middle, Quantile(sorted, 0.05))), scale)),
            kg * middle,
            (kg * middle) + RootSumSquare(kg * (Math.Max(middle, high) - middle), scale));
    }

    /// <summary>
    /// How far the rate of water loss, over so many days, is from what it was at the last weigh-in: one standard deviation of its logarithm.
    /// A weigh-in tells what was lost, not how fast it goes from now on. It wanders and leaps as <see cref="ScaleBelief"/> has it: of what
    /// wanders at an even pace a third of the variance is left in the mean over the days; of leaps, which are rare, half of that reaches the
    /// middle nine in ten (assumed).
    /// </summary>
    private static double Wander(double days) => RootSumSquare(Wandered(days), ScaleBelief.LossShare);

    /// <summary>The same, of the rate alone.</summary>
    public static double Wandered(double days)
    {
        double wander = ScaleBelief.WanderSd * ScaleBelief.WanderSd * days / (30 * 3);
        double spread = Portable.Log(WaterLoss.UnknownLotFactor) / Z90;
        double leap = 2 * spread * spread * (1 - Portable.Exp(-days / ScaleBelief.LeapDays)) / 6;
        return Math.Sqrt(wander + leap);
    }

    /// <summary>The middle half of what an interval of 5 to 95 % spans: 25 to 75 % of a normal, on either side in proportion.</summary>
    public static Interval Half(in Interval of)
    {
        const double share = 0.6744897501960817 / Z90;
        return new Interval(of.Value - (share * (of.Value - of.Low)), of.Value, of.Value + (share * (of.High - of.Value)));
    }

    /// <summary>The standard error an interval of 5 to 95 % stands for.</summary>
    public static double SdOf(in Interval of) => (of.High - of.Low) / (2 * Z90);

    /// <summary>A 5 to 95 % factor that takes others in, independent of it.</summary>
    public static double Factor(params ReadOnlySpan<double> factors)
    {
        double sum = 0;
        foreach (double factor in factors) sum += Portable.Log(factor) * Portable.Log(factor);
        return Portable.Exp(Math.Sqrt(sum));
    }

    /// <summary>A factor for a share of the time: all of it at 1, none at 0.</summary>
    public static double For(double factor, double share) => Portable.Exp(Portable.Log(factor) * share);

    /// <summary>Two errors that have nothing to do with each other, together.</summary>
    public static double RootSumSquare(double a, double b) => Math.Sqrt((a * a) + (b * b));

    private static double Quantile(ReadOnlySpan<double> sorted, double p)
    {
        double at = (p * sorted.Length) - 0.5;
        int i = Math.Clamp((int)at, 0, sorted.Length - 2);
        return sorted[i] + ((at - i) * (sorted[i + 1] - sorted[i]));
    }

    private static double[] Quantiles(int step, int first) =>
        [.. Enumerable.Range(0, Members).Select(i => Portable.NormalQuantile((((i * step) + first) % Members + 0.5) / Members))];
}
