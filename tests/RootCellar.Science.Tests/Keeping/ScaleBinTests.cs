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
        var x = new double[2];
        var p = new double[2, 2];
        p[0, 0] = Math.Pow(Start.UncertaintyKg, 2);
        p[1, 1] = 0.25;
        double[] h = [1, 1];
        (double Day, double Tare, double Kg) last = (0, tare, Start.StartKg);
        foreach (var (day, empty, net) in weighings)
        {
            var weighing = new Weighing(day, net + empty, empty, 1e-9, 0.5, 0.02);
            double predicted = last.Kg * (1 - (0.001 * (day - last.Day)));
            if (empty != last.Tare)
            {
                p[0, 1] = p[1, 0] = x[1] = 0;
                p[1, 1] = 0.25;
            }

            if (day > last.Day)
            {
                p[0, 0] += (Math.Pow(ScaleBin.WeightShare * last.Kg, 2) * (day - last.Day) / 30) + Math.Pow(ScaleBelief.LossShare * (last.Kg - predicted), 2);
                if (empty > 0) p[1, 1] += Math.Pow(ScaleBin.TareWanderKg, 2) * (day - last.Day) / 30;
            }

            double[] gain = [.. Enumerable.Range(0, 2).Select(i => Enumerable.Range(0, 2).Sum(j => p[i, j] * h[j]))];
            double variance = gain[0] + gain[1] + (0.02 * 0.02);
            double mean = predicted + x[0] + x[1];

            double[] all = new double[ScaleBelief.Nodes];
            Array.Fill(all, predicted);
            bin = (bin ?? ScaleBin.Filled(Start, weighing)).At(last.Kg, weighing, all);
            var foretold = bin.Predict(0, weighing, predicted, ZeroOfDay.Unknown(weighing, 0));
            foretold.Mean.Should().BeApproximately(mean, 1e-6, $"day {day}");
            foretold.Variance.Should().BeApproximately(variance, 1e-6 * variance, $"day {day}");

            bin = bin.Learn(
                weighing, all, [new ScaleBin.Happening(1, 0, 0)], new double[ScaleBelief.Nodes], ZeroOfDay.Unknown(weighing, 0)).Bin;
            for (int i = 0; i < 2; i++) x[i] += gain[i] / variance * (net - mean);
            var before = (double[,])p.Clone();
            for (int i = 0; i < 2; i++)
            {
                for (int j = 0; j < 2; j++) p[i, j] = before[i, j] - (gain[i] * gain[j] / variance);
            }

            var standing = bin.Standing(0, predicted);
            standing.Mean.Should().BeApproximately(predicted + x[0], 1e-6, $"day {day}");
            standing.Variance.Should().BeApproximately(p[0, 0], 1e-6, $"day {day}");

            // Reckoned from there on: the same knowledge about another figure.
            double kg = predicted + 0.3;
            bin = bin.From(kg, all);
            x[0] -= 0.3;
            last = (day, empty, kg);
        }
    }

    /// <summary>Filled and weighed with one empty weight, half a kilogram of which may be wrong: what was lost between is known all the same.</summary>
    [Fact]
    public void An_empty_weight_that_was_taken_off_at_filling_and_again_is_wrong_by_as_much_both_times()
    {
        (double Reading, double Net) SdOf(double tareAtFilling)
        {
            var weighing = new Weighing(20, 21.3, 1.5, 1e-9, 0.5, 0.02);
            double[] all = new double[ScaleBelief.Nodes];
            Array.Fill(all, 19.8);
            var bin = ScaleBin.Filled(new BinStart("b", 20, 0.05, TareKg: tareAtFilling), weighing);
            double reading = Math.Sqrt(bin.Predict(0, weighing, 20, ZeroOfDay.Unknown(weighing, 0)).Variance);
            bin = bin.At(20, weighing, all).Learn(
                weighing, all, [new ScaleBin.Happening(1, 0, 0)], new double[ScaleBelief.Nodes], ZeroOfDay.Unknown(weighing, 0)).Bin;
            return (reading, Math.Sqrt(bin.Standing(0, 19.8).Variance));
        }

        var (shared, other) = (SdOf(1.5), SdOf(0));
        shared.Reading.Should().BeApproximately(Math.Sqrt((0.05 * 0.05) + (0.02 * 0.02)), 1e-9, "the error is in both");
        other.Reading.Should().BeGreaterThan(0.5);
        shared.Net.Should().BeGreaterThan(0.49, "what it holds is known no better than the empty bin");
        other.Net.Should().BeLessThan(0.06);
    }

    [Fact]
    public void What_may_have_happened_besides_is_weighed_by_how_well_it_foretells()
    {
        // Two things are as likely: nothing, or that 2 kg went in or out. Checked against Bayes by hand.
        double[] all = new double[ScaleBelief.Nodes];
        Array.Fill(all, 20.0);
        foreach (double net in (double[])[20.05, 18.5, 14])
        {
            var weighing = new Weighing(0, net, 0, 1e-9, 0, 0.1);
            double[] weights = new double[ScaleBelief.Nodes];
            var bin = ScaleBin.Filled(new BinStart("b", 20, 0.2), weighing).At(20, weighing, all)
                .Learn(weighing, all, [new ScaleBin.Happening(0.5, 0, 0), new ScaleBin.Happening(0.5, 2, 0)], weights,
                    ZeroOfDay.Unknown(weighing, 0)).Bin;
            double still = Density(net - 20, 0.05) / 2, moved = Density(net - 20, 4.05) / 2, off = net - 20;
            weights[0].Should().BeApproximately(Math.Log(still + moved), 1e-6);
            double share = still / (still + moved), stillKg = off * 0.04 / 0.05, movedKg = off * 4.04 / 4.05;
            double mean = (share * stillKg) + ((1 - share) * movedKg);
            bin.Standing(0, 20).Mean.Should().BeApproximately(20 + mean, 1e-6);
            double variance = (share * (0.04 - (0.04 * 0.04 / 0.05) + Math.Pow(stillKg - mean, 2)))
                + ((1 - share) * (4.04 - (4.04 * 4.04 / 4.05) + Math.Pow(movedKg - mean, 2)));
            bin.Standing(0, 20).Variance.Should().BeApproximately(variance, 1e-6);
        }

        static double Density(double x, double variance) => Math.Exp(-x * x / (2 * variance)) / Math.Sqrt(2 * Math.PI * variance);
    }
}
