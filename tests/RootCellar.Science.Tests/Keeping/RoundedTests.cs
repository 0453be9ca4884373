using CsCheck;
using RootCellar.Science.Keeping;

namespace RootCellar.Science.Tests.Keeping;

/// <summary>The closed formulas against summing up the same integrals.</summary>
public sealed class RoundedTests
{
    [Fact]
    public void Probability_mean_and_variance_are_those_of_the_sum_over_the_step() =>
        Gen.Select(Gen.Double[-6, 6], Gen.Double[0.05, 8]).Sample((at, step) =>
        {
            var ours = Rounded.Of(shown: 20 + at, step, mean: 20, deviation: 1);
            const int parts = 4000;
            double sum = 0;
            double first = 0;
            double second = 0;
            for (int i = 0; i < parts; i++)
            {
                double z = at - step / 2 + step * (i + 0.5) / parts;
                double p = Math.Exp(-z * z / 2) / Math.Sqrt(2 * Math.PI) * step / parts;
                sum += p;
                first += p * z;
                second += p * z * z;
            }

            double mean = first / sum;
            double variance = second / sum - mean * mean;
            Math.Abs(ours.LogLikelihood - Math.Log(sum / step)).Should().BeLessThan(1e-4);
            Math.Abs(ours.Mean - 20 - mean).Should().BeLessThan(1e-4);
            Math.Abs(ours.Variance - variance).Should().BeLessThan(1e-4);
        });

    [Fact]
    public void However_far_out_it_stays_a_figure() =>
        Gen.Select(Gen.Double[-1e6, 1e6], Gen.Double[0, 10], Gen.Double[1e-4, 10]).Sample((shown, step, deviation) =>
        {
            var ours = Rounded.Of(shown, step, 20, deviation);
            return double.IsFinite(ours.LogLikelihood) && double.IsFinite(ours.Mean) && ours.Variance >= 0
                && ours.Variance <= deviation * deviation * (1 + 1e-12)
                && Math.Abs(ours.Mean - shown) <= step / 2 + 1e-9 * (1 + Math.Abs(shown));
        });

    [Fact]
    public void The_formulas_meet_where_they_change()
    {
        foreach (double at in (double[])[0, 1.5, -4, 29.4, 30.6])
        {
            var narrow = Rounded.Of(20 + at, 0.001999, 20, 1);
            var wide = Rounded.Of(20 + at, 0.002001, 20, 1);
            narrow.LogLikelihood.Should().BeApproximately(wide.LogLikelihood, 0.01 + Math.Abs(at) * 0.002);
            narrow.Mean.Should().BeApproximately(wide.Mean, 0.002);
        }

        foreach (double step in (double[])[0.01, 0.3, 2])
        {
            // The near edge at 30 standard deviations, from either side.
            var inside = Rounded.Of(20 - 29.999 - step / 2, step, 20, 1);
            var outside = Rounded.Of(20 - 30.001 - step / 2, step, 20, 1);
            inside.LogLikelihood.Should().BeApproximately(outside.LogLikelihood, 0.07, $"step {step}");
            inside.Mean.Should().BeApproximately(outside.Mean, 0.003, $"step {step}");
            inside.Variance.Should().BeApproximately(outside.Variance, 1e-4, $"step {step}");
        }
    }
}
