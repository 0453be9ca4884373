using System.Collections.Immutable;

namespace RootCellar.Science.Keeping;

/// <summary>
/// How far the zero of a scale stands off from one day of weighing to the next, learned from how the weighings themselves scatter:
/// Bayes over
/// a few levels, in steps of its display. What is between two weighings besides (drying, rot, what was taken out) is each weighing's own
/// likelihood (<see cref="ScaleAnswer.LogLikelihood"/>). Never changes; docs/science/scale.md has the formulas.
/// </summary>
public sealed class ScaleZero
{
    /// <summary>
    /// What else is in a reading, in steps: its rounding and half a step of repeatability. The width of the mixture is told beside it.
    /// </summary>
    private const double BesideSteps = 0.5773502691896258;

    private const double Z90 = 1.6448536269514722;

    /// <summary>Levels: one standard deviation of the zero from day to day, in steps of the display.</summary>
    public static readonly ImmutableArray<double> LevelSteps = [0, 1, 2, 4, 8];

    // Most scales are set to zero before they are used; each doubling is about half as likely (assumed).
    private static readonly double[] Prior = [0.6, 0.2, 0.1, 0.06, 0.04];

    /// <summary>Before anything was weighed.</summary>
    public static readonly ScaleZero Unknown = new(Array.ConvertAll(Prior, Portable.Log));

    private readonly double[] _logWeights;

    private ScaleZero(double[] logWeights)
    {
        _logWeights = logWeights;
        SdSteps = Spread(logWeights);
    }

    /// <summary>
    /// One standard deviation, in steps, of the normal whose middle nine in ten are as wide as those of all levels together.
    /// </summary>
    public double SdSteps { get; }

    /// <summary>Takes in what weighings said of each level.</summary>
    /// <param name="logLikelihoods">One a level, as <see cref="LevelSteps"/>.</param>
    /// <exception cref="ArgumentException">Not one a level, or one that is no number.</exception>
    public ScaleZero After(IReadOnlyList<double> logLikelihoods)
    {
        ArgumentNullException.ThrowIfNull(logLikelihoods);
        if (logLikelihoods.Count != _logWeights.Length || logLikelihoods.Any(l => !double.IsFinite(l)))
            throw new ArgumentException(
                $"One finite logarithm for each of the {_logWeights.Length} levels is wanted.", nameof(logLikelihoods));
        return new ScaleZero([.. _logWeights.Select((w, i) => w + logLikelihoods[i])]);
    }

    private static double Spread(double[] logWeights)
    {
        double top = logWeights.Max(), sum = logWeights.Sum(w => Portable.Exp(w - top));
        double low = 0, high = 2 * Z90 * LevelSteps[^1];
        // By halving: it cannot fail to close in.
        for (int i = 0; i < 40; i++)
        {
            double middle = (low + high) / 2, outside = 0;
            for (int l = 0; l < logWeights.Length; l++)
            {
                double sd = Math.Sqrt((BesideSteps * BesideSteps) + (LevelSteps[l] * LevelSteps[l]));
                outside += 2 * Portable.NormalCdf(-middle / sd) * Portable.Exp(logWeights[l] - top) / sum;
            }

            if (outside > 0.1) low = middle;
            else high = middle;
        }

        double all = high / Z90;
        return Math.Sqrt(Math.Max(0, (all * all) - (BesideSteps * BesideSteps)));
    }
}
