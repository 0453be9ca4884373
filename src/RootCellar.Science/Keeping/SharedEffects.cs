namespace RootCellar.Science.Keeping;

/// <summary>What a bin's loss shares with that of others: one effect, and how much of it.</summary>
/// <param name="Effect">Its number.</param>
/// <param name="Share">How much of it the bin has: 1 for all.</param>
public readonly record struct EffectShare(int Effect, double Share);

/// <summary>What the weigh-ins of one bin say by themselves of how fast it loses.</summary>
/// <param name="LogMean">The logarithm of its multiplier.</param>
/// <param name="Variance">The variance of that, above 0.</param>
/// <param name="Shares">What it has in common with others.</param>
public readonly record struct BinSaying(double LogMean, double Variance, IReadOnlyList<EffectShare> Shares);

/// <summary>The bins of one lot that were weighed.</summary>
/// <param name="OwnVariance">How far lots lie apart that have everything else in common, as variance of the logarithm.</param>
/// <param name="Bins">What each of its bins says.</param>
public sealed record LotSaying(double OwnVariance, IReadOnlyList<BinSaying> Bins);

/// <summary>
/// What many weighed bins say of that which they share: their house, the place they stood in and its sensor, how they lie, their variety. A
/// linear mixed model with normal effects (Henderson 1975, Biometrics 31:423, from memory): the logarithm of a bin's multiplier is the sum
/// of its shares of all effects, of its lot's own part, and of an error. How far lots lie apart is learned beside it, over six scales of
/// what is assumed. Solved in closed form; never changes. docs/science/scale.md.
/// </summary>
public sealed class SharedEffects
{
    /// <summary>What is assumed of the scatter of lots counts as much as this many lots (assumed).</summary>
    public const double AssumedLots = 4;

    /// <summary>
    /// The scatter of lots may be so many times what is assumed, as variance, and how likely that is before anything is said, as a logarithm:
    /// a scaled inverse chi squared, over the logarithm of the scale. In the mean it is once.
    /// </summary>
    private static readonly (double Scale, double LogAssumed)[] Scales = MakeScales();

    private readonly double[] _mean;
    private readonly double[] _covariance;

    private SharedEffects(double[] mean, double[] covariance, double ownScale) =>
        (_mean, _covariance, OwnScale) = (mean, covariance, ownScale);

    /// <summary>How many times what was assumed of the variance between lots has come to be believed.</summary>
    public double OwnScale { get; }

    /// <summary>Learns the effects.</summary>
    /// <param name="variances">What is assumed of each effect: normal about nought with this variance, above 0.</param>
    /// <param name="lots">What the weighed lots say.</param>
    public static SharedEffects Learn(IReadOnlyList<double> variances, IReadOnlyList<LotSaying> lots)
    {
        ArgumentNullException.ThrowIfNull(variances);
        ArgumentNullException.ThrowIfNull(lots);
        int n = variances.Count;
        var solved = Array.ConvertAll(Scales, s => Solve(variances, lots, s.Scale));
        double[] log = [.. solved.Zip(Scales, (s, a) => s.LogLikelihood + a.LogAssumed)];
        double top = log.Max();
        double[] believed = Array.ConvertAll(log, l => Portable.Exp(l - top));
        double all = believed.Sum();
        var (mean, covariance) = (new double[n], new double[n * n]);
        double scale = 0;
        for (int s = 0; s < solved.Length; s++)
        {
            double share = believed[s] / all;
            scale += share * Scales[s].Scale;
            for (int i = 0; i < n; i++) mean[i] += share * solved[s].Mean[i];
        }

        for (int s = 0; s < solved.Length; s++)
        {
            double share = believed[s] / all;
            for (int i = 0; i < n; i++)
            {
                for (int j = 0; j < n; j++)
                {
                    double apart = (solved[s].Mean[i] - mean[i]) * (solved[s].Mean[j] - mean[j]);
                    covariance[(i * n) + j] += share * (solved[s].Covariance[(i * n) + j] + apart);
                }
            }
        }

        return new SharedEffects(mean, covariance, scale);
    }

    /// <summary>Mean and variance of a sum of effects.</summary>
    /// <param name="shares">Which, and how much of each.</param>
    public (double Mean, double Variance) Of(IReadOnlyList<EffectShare> shares)
    {
        ArgumentNullException.ThrowIfNull(shares);
        double sum = 0, variance = 0;
        foreach (var (a, share) in shares)
        {
            sum += share * _mean[a];
            foreach (var (b, other) in shares) variance += share * other * _covariance[(a * _mean.Length) + b];
        }

        return (sum, Math.Max(0, variance));
    }

    /// <summary>The effects, if the variance between lots were so many times what is assumed, and how likely what was said is then.</summary>
    private static (double[] Mean, double[] Covariance, double LogLikelihood) Solve(
        IReadOnlyList<double> variances, IReadOnlyList<LotSaying> lots, double scale)
    {
        int n = variances.Count;
        var (precision, sum) = (new double[n * n], new double[n]);
        double logDeterminant = 0, square = 0;
        for (int i = 0; i < n; i++)
        {
            precision[(i * n) + i] = 1 / variances[i];
            logDeterminant += Portable.Log(variances[i]);
        }

        var common = new double[n];
        foreach (var lot in lots)
        {
            Array.Clear(common);
            double weights = 0, said = 0;
            foreach (var bin in lot.Bins)
            {
                double weight = 1 / bin.Variance;
                weights += weight;
                said += weight * bin.LogMean;
                square += weight * bin.LogMean * bin.LogMean;
                logDeterminant += Portable.Log(bin.Variance);
                foreach (var (a, share) in bin.Shares)
                {
                    common[a] += weight * share;
                    sum[a] += weight * share * bin.LogMean;
                    foreach (var (b, other) in bin.Shares) precision[(a * n) + b] += weight * share * other;
                }
            }

            // The lot's own part is in all its bins: integrated out, it takes away what they say together (a rank-one update).
            double own = scale * lot.OwnVariance, less = own / (1 + (own * weights));
            logDeterminant += Portable.Log(1 + (own * weights));
            square -= less * said * said;
            for (int i = 0; i < n; i++)
            {
                sum[i] -= less * common[i] * said;
                for (int j = 0; j < n; j++) precision[(i * n) + j] -= less * common[i] * common[j];
            }
        }

        var covariance = Invert(precision, n, out double logPrecision);
        var mean = new double[n];
        for (int i = 0; i < n; i++)
        {
            for (int j = 0; j < n; j++) mean[i] += covariance[(i * n) + j] * sum[j];
            square -= mean[i] * sum[i];
        }

        return (mean, covariance, -(logDeterminant + logPrecision + square) / 2);
    }

    private static (double Scale, double LogAssumed)[] MakeScales()
    {
        double[] scales = [0.25, 0.5, 1, 2, 4, 8];
        double[] log = Array.ConvertAll(scales, s => -AssumedLots / 2 * (Portable.Log(s) + (1 / s)));
        double[] likely = Array.ConvertAll(log, Portable.Exp);
        double mean = scales.Zip(likely, (s, l) => s * l).Sum() / likely.Sum();
        return [.. scales.Zip(log, (s, l) => (s / mean, l))];
    }

    /// <summary>The inverse of a symmetric matrix that is positive definite, and the logarithm of its determinant (Cholesky).</summary>
    private static double[] Invert(double[] matrix, int n, out double logDeterminant)
    {
        var lower = new double[n * n];
        logDeterminant = 0;
        for (int j = 0; j < n; j++)
        {
            for (int i = j; i < n; i++)
            {
                double left = matrix[(i * n) + j];
                for (int k = 0; k < j; k++) left -= lower[(i * n) + k] * lower[(j * n) + k];
                lower[(i * n) + j] = i == j ? Math.Sqrt(Math.Max(1e-300, left)) : left / lower[(j * n) + j];
            }

            logDeterminant += 2 * Portable.Log(lower[(j * n) + j]);
        }

        var inverse = new double[n * n];
        var column = new double[n];
        for (int c = 0; c < n; c++)
        {
            for (int i = 0; i < n; i++)
            {
                double left = i == c ? 1 : 0;
                for (int k = c; k < i; k++) left -= lower[(i * n) + k] * column[k];
                column[i] = i < c ? 0 : left / lower[(i * n) + i];
            }

            for (int i = n - 1; i >= 0; i--)
            {
                double left = column[i];
                for (int k = i + 1; k < n; k++) left -= lower[(k * n) + i] * inverse[(k * n) + c];
                inverse[(i * n) + c] = left / lower[(i * n) + i];
            }
        }

        return inverse;
    }
}
