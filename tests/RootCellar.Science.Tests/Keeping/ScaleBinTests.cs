using RootCellar.Science.Keeping;

namespace RootCellar.Science.Tests.Keeping;

/// <summary>
/// The filter of one bin against the textbook's, in full matrices (Kalman 1960; Joseph's form is not needed at these sizes).
/// </summary>
public sealed class ScaleBinTests
{
    private static readonly BinStart Start = new("b", 20, 1);

    [Theory]
    [InlineData(1.5, 1.5)]
    [InlineData(1.5, 2.5)]
    [InlineData(0, 2.5)]
    public void Another_tare_is_another_error_that_nothing_was_learned_of(double tare, double then)
    {
        // Weighed twice with one empty weight: start and tare are then told apart badly, and only their sum is known well.
        (double Day, double Tare, double Net)[] weighings = [(0, tare, 20.6), (10, tare, 20.3), (20, then, 19.7), (40, then, 19.4)];
        ScaleBin? bin = null;
        var x = new double[3];
        var p = new double[3, 3];
        p[0, 0] = Math.Pow(Start.UncertaintyKg / Start.StartKg, 2);
        p[1, 1] = 0.25;
        (double Day, double Tare) last = (0, tare);
        foreach (var (day, empty, net) in weighings)
        {
            var weighing = new Weighing(day, net + empty, empty, 1e-9, 0.5, 0.02);
            double predicted = 20 - (0.02 * day);
            double keep = Math.Exp(-(day - last.Day) / ScaleBin.DiscrepancyDays);
            for (int i = 0; i < 3; i++)
            {
                p[i, 2] *= keep;
                p[2, i] *= keep;
            }

            x[2] *= keep;
            p[2, 2] += 1 - (keep * keep);
            if (empty != last.Tare)
            {
                for (int i = 0; i < 3; i++) p[1, i] = p[i, 1] = 0;
                x[1] = 0;
                p[1, 1] = 0.25;
            }

            double lost = (1 - (predicted / Start.StartKg)) * ScaleBin.DiscrepancyOfLoss;
            double[] h = [predicted, 1, Start.StartKg * Math.Sqrt(
                (ScaleBin.DiscrepancyOfWeight * ScaleBin.DiscrepancyOfWeight) + (lost * lost))];
            double[] gain = [.. Enumerable.Range(0, 3).Select(i => Enumerable.Range(0, 3).Sum(j => p[i, j] * h[j]))];
            double variance = Enumerable.Range(0, 3).Sum(i => h[i] * gain[i]) + (0.02 * 0.02);
            double mean = predicted + Enumerable.Range(0, 3).Sum(i => h[i] * x[i]);

            bin = (bin ?? ScaleBin.Filled(Start, weighing)).At(weighing);
            var foretold = bin.Predict(0, Start, weighing, predicted);
            foretold.Mean.Should().BeApproximately(mean, 1e-6, $"day {day}");
            foretold.Variance.Should().BeApproximately(variance, 1e-6 * variance, $"day {day}");

            double[] weights = new double[ScaleBelief.Nodes];
            double[] all = new double[ScaleBelief.Nodes];
            Array.Fill(all, predicted);
            bin = bin.Learn(Start, weighing, all, heavyTail: false, weights);
            for (int i = 0; i < 3; i++) x[i] += gain[i] / variance * (net - mean);
            var before = (double[,])p.Clone();
            for (int i = 0; i < 3; i++)
            {
                for (int j = 0; j < 3; j++) p[i, j] = before[i, j] - (gain[i] * gain[j] / variance);
            }

            last = (day, empty);
        }
    }
}
