using RootCellar.Science.Keeping;

namespace RootCellar.Science.Tests.Keeping;

/// <summary>
/// What many bins share, against the same model written out in full: the covariance of all that was said, and the normal of the effects given
/// it (the conditional normal of any textbook), in place of precisions and rank-one updates.
/// </summary>
public sealed class SharedEffectsTests
{
    private static readonly double[] Variances = [0.03, 0.16, 0.16, 0.05];

    private static readonly LotSaying[] Lots =
    [
        new(0.06, [new BinSaying(0.5, 0.02, [new(0, 1), new(1, 0.5)]), new BinSaying(0.1, 0.03, [new(0, 1), new(2, 0.5)])]),
        new(0.06, [new BinSaying(0.7, 0.01, [new(0, 1), new(1, 0.3), new(2, 0.2), new(3, 1)])]),
        new(0.1, [new BinSaying(-0.6, 0.05, [new(0, 1), new(2, 1)]), new BinSaying(-0.4, 0.02, [new(0, 1), new(2, 1), new(3, 1)])]),
    ];

    [Fact]
    public void They_come_out_as_the_whole_covariance_has_them()
    {
        var learned = SharedEffects.Learn(Variances, Lots);
        var (mean, covariance, scale) = InFull();
        learned.OwnScale.Should().BeApproximately(scale, 1e-9);
        for (int i = 0; i < Variances.Length; i++)
        {
            var (m, v) = learned.Of([new(i, 1)]);
            m.Should().BeApproximately(mean[i], 1e-9);
            v.Should().BeApproximately(covariance[i, i], 1e-9);
        }

        var (sum, spread) = learned.Of([new(1, 0.5), new(2, -0.5)]);
        sum.Should().BeApproximately(0.5 * (mean[1] - mean[2]), 1e-9);
        spread.Should().BeApproximately(0.25 * (covariance[1, 1] + covariance[2, 2] - (2 * covariance[1, 2])), 1e-9);
    }

    [Fact]
    public void As_long_as_nothing_is_said_all_is_as_assumed()
    {
        var learned = SharedEffects.Learn(Variances, []);
        learned.OwnScale.Should().BeApproximately(1, 1e-12);
        learned.Of([new(0, 1), new(1, 0.5)]).Mean.Should().Be(0);
        learned.Of([new(0, 1), new(1, 0.5)]).Variance.Should().BeApproximately(0.03 + 0.04, 1e-12);
    }

    [Fact]
    public void The_same_words_give_the_same_bits()
    {
        static IEnumerable<long> Bits() => Enumerable.Range(0, 4).SelectMany(i =>
        {
            var (m, v) = SharedEffects.Learn(Variances, Lots).Of([new(i, 1)]);
            return new[] { BitConverter.DoubleToInt64Bits(m), BitConverter.DoubleToInt64Bits(v) };
        });

        Bits().Should().Equal(Bits());
    }

    private static (double[] Mean, double[,] Covariance, double Scale) InFull()
    {
        double[] scales = [0.25, 0.5, 1, 2, 4, 8], before = [.. scales.Select(s => Math.Exp(-2 * (Math.Log(s) + (1 / s))))];
        double middle = scales.Zip(before, (s, b) => s * b).Sum() / before.Sum();
        var said = Lots.SelectMany((l, lot) => l.Bins.Select(b => (Lot: lot, l.OwnVariance, Bin: b))).ToArray();
        int n = Variances.Length, k = said.Length;
        double Share(int bin, int effect) => said[bin].Bin.Shares.Where(s => s.Effect == effect).Sum(s => s.Share);
        var parts = new List<(double Weight, double[] Mean, double[,] Covariance, double Scale)>();
        foreach (var (s, b) in scales.Zip(before))
        {
            double scale = s / middle;
            var v = new double[k, k];
            for (int i = 0; i < k; i++)
            {
                for (int j = 0; j < k; j++)
                {
                    for (int e = 0; e < n; e++) v[i, j] += Share(i, e) * Share(j, e) * Variances[e];
                    if (said[i].Lot == said[j].Lot) v[i, j] += scale * said[i].OwnVariance;
                    if (i == j) v[i, j] += said[i].Bin.Variance;
                }
            }

            var (inverse, determinant) = Invert(v);
            double square = 0;
            var (mean, covariance) = (new double[n], new double[n, n]);
            for (int i = 0; i < k; i++)
            {
                for (int j = 0; j < k; j++)
                {
                    square += said[i].Bin.LogMean * inverse[i, j] * said[j].Bin.LogMean;
                    for (int e = 0; e < n; e++)
                    {
                        mean[e] += Variances[e] * Share(i, e) * inverse[i, j] * said[j].Bin.LogMean;
                        for (int f = 0; f < n; f++)
                            covariance[e, f] -= Variances[e] * Share(i, e) * inverse[i, j] * Share(j, f) * Variances[f];
                    }
                }
            }

            for (int e = 0; e < n; e++) covariance[e, e] += Variances[e];
            parts.Add((b * Math.Exp(-square / 2) / Math.Sqrt(determinant), mean, covariance, scale));
        }

        double all = parts.Sum(p => p.Weight);
        double[] told = [.. Enumerable.Range(0, n).Select(e => parts.Sum(p => p.Weight * p.Mean[e]) / all)];
        var spread = new double[n, n];
        foreach (var p in parts)
        {
            for (int e = 0; e < n; e++)
            {
                for (int f = 0; f < n; f++)
                    spread[e, f] += p.Weight / all * (p.Covariance[e, f] + ((p.Mean[e] - told[e]) * (p.Mean[f] - told[f])));
            }
        }

        return (told, spread, parts.Sum(p => p.Weight * p.Scale) / all);
    }

    /// <summary>Gauss and Jordan, for a matrix that is positive definite.</summary>
    private static (double[,] Inverse, double Determinant) Invert(double[,] of)
    {
        int n = of.GetLength(0);
        var (a, inverse, determinant) = ((double[,])of.Clone(), new double[n, n], 1.0);
        for (int i = 0; i < n; i++) inverse[i, i] = 1;
        for (int p = 0; p < n; p++)
        {
            double pivot = a[p, p];
            determinant *= pivot;
            for (int j = 0; j < n; j++) (a[p, j], inverse[p, j]) = (a[p, j] / pivot, inverse[p, j] / pivot);
            for (int i = 0; i < n; i++)
            {
                double times = a[i, p];
                if (i == p) continue;
                for (int j = 0; j < n; j++) (a[i, j], inverse[i, j]) = (a[i, j] - (times * a[p, j]), inverse[i, j] - (times * inverse[p, j]));
            }
        }

        return (inverse, determinant);
    }
}
