namespace RootCellar.Science.Keeping;

/// <summary>
/// A normal figure seen through a rounding display: how likely what is shown was, and what mean and variance are left of the
/// figure once it is known to lie within half a step of it (moments of the truncated normal; Johnson, Kotz and Balakrishnan 1994,
/// Continuous Univariate Distributions 1, ch. 13, from memory).
/// </summary>
/// <param name="LogLikelihood">Logarithm of the probability over the step: the density where the step is small.</param>
/// <param name="Mean">Mean given what is shown.</param>
/// <param name="Variance">Variance given what is shown.</param>
internal readonly record struct Rounded(double LogLikelihood, double Mean, double Variance)
{
    private const double LogRoot2Pi = 0.9189385332046727;

    public static Rounded Of(double shown, double step, double mean, double deviation)
    {
        double at = (shown - mean) / deviation;
        double half = step / 2 / deviation;
        // A step this small: the density serves, and differences of the distribution would cancel.
        if (half < 1e-3)
            return new Rounded(-at * at / 2 - Portable.Log(deviation) - LogRoot2Pi, shown, step * step / 12);

        // Mirrored to the side below the mean, where small probabilities keep their digits.
        double sign = at > 0 ? -1 : 1;
        double high = -Math.Abs(at) + half;
        double low = -Math.Abs(at) - half;
        double within = Portable.NormalCdf(high) - Portable.NormalCdf(low);
        if (high < -30 || !(within > 0))
        {
            // So far out that the density falls off exponentially from the near edge, at this rate (Mills' ratio); the step cuts it off.
            double rate = -high;
            double width = 2 * half;
            double cut = Portable.Exp(-rate * width);
            double logWithin = -high * high / 2 - LogRoot2Pi - Portable.Log(rate) + Portable.Log(1 - cut);
            double inwards = 1 / rate - width * cut / (1 - cut);
            double spread = 1 / (rate * rate) - width * width * cut / ((1 - cut) * (1 - cut));
            return new Rounded(
                logWithin - Portable.Log(step),
                mean + sign * (high - inwards) * deviation,
                Math.Max(0, spread) * deviation * deviation);
        }

        double densityHigh = Density(high);
        double densityLow = Density(low);
        double shift = (densityLow - densityHigh) / within;
        double left = 1 + (low * densityLow - high * densityHigh) / within - shift * shift;
        double limit = Math.Min(1, half * half);
        return new Rounded(
            Portable.Log(within) - Portable.Log(step),
            mean + sign * shift * deviation,
            Math.Clamp(left, 0, limit) * deviation * deviation);
    }

    private static double Density(double z) => Portable.Exp(-z * z / 2 - LogRoot2Pi);
}
