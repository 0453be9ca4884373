using RootCellar.Science.Keeping;

namespace RootCellar.Science.Tests.Keeping;

/// <summary>How far a scale's zero stands off from day to day is learned from how weighings scatter.</summary>
public sealed class ScaleZeroTests
{
    private static double[] Draws(int seed, int count, double sdSteps)
    {
        var random = new Random(seed);
        double Bell() => Math.Sqrt(-2 * Math.Log(1 - random.NextDouble())) * Math.Cos(2 * Math.PI * random.NextDouble());
        return [.. Enumerable.Range(0, count).Select(_ => Math.Round((sdSteps + 0.0) * Bell() + (0.5 * Bell())))];
    }

    private static ScaleZero Seen(IEnumerable<double> steps)
    {
        var zero = ScaleZero.Unknown;
        foreach (double at in steps)
        {
            // Each a weighing of what is known, in steps of the display, with half a step of repeatability.
            zero = zero.After([.. ScaleZero.LevelSteps.Select(level =>
            {
                double sd = Math.Sqrt(0.25 + (level * level));
                return Math.Log(Portable.NormalCdf((at + 0.5) / sd) - Portable.NormalCdf((at - 0.5) / sd) + 1e-300);
            })]);
        }

        return zero;
    }

    [Theory]
    [InlineData(0, 0, 0.4)]
    [InlineData(1, 0.6, 1.6)]
    [InlineData(3, 2, 4.6)]
    [InlineData(6, 4, 8.5)]
    public void Forty_days_of_weighing_tell_how_far_the_zero_stands_off(double trueSteps, double least, double most) =>
        Enumerable.Range(1, 5).Should().AllSatisfy(s => Seen(Draws(s, 40, trueSteps)).SdSteps.Should().BeInRange(least, most));

    [Fact]
    public void Before_anything_was_weighed_one_scale_in_ten_is_off_by_more_than_it_is_taken_to_be()
    {
        ScaleZero.Unknown.SdSteps.Should().BeInRange(1, 1.5);
        Action short1 = () => ScaleZero.Unknown.After([0, 0]);
        Action none = () => ScaleZero.Unknown.After([0, 0, 0, 0, double.NaN]);
        short1.Should().Throw<ArgumentException>();
        none.Should().Throw<ArgumentException>();
    }

    /// <summary>
    /// Four bins of a lot, all read 0.2 kg heavy on one day: the first is half believed, the others show that it is
    /// the scale.
    /// </summary>
    [Fact]
    public void What_all_bins_of_a_lot_show_on_one_day_is_the_scale_and_not_each_bin()
    {
        double Told(double zeroSd)
        {
            var belief = ScaleBelief.Prior();
            Span<double> predicted = stackalloc double[ScaleBelief.Nodes];
            for (int i = 0; i < predicted.Length; i++)
                predicted[i] = 20 - (0.1 * ScaleBelief.Multipliers[i] / (1 + (0.02 * ScaleBelief.Multipliers[i])));
            double kg = 0;
            foreach (string bin in "abcd".Select(c => $"{c}"))
            {
                var answer = belief.Observe(new BinStart(bin, 20, 0.05), new Weighing(10, 20.1, 0, 0.05, 0, 0.025, zeroSd), predicted);
                answer.Question.Should().BeNull();
                (belief, kg) = (answer.Belief, answer.Kg);
            }

            return kg;
        }

        Told(0.2).Should().BeLessThan(Told(0) - 0.05);
    }

    /// <summary>A bin that falls short by little and again: something goes on in it. One that falls short by much was taken from.</summary>
    [Fact]
    public void A_small_loss_of_a_bins_own_may_go_on_and_a_great_one_was_taken_out()
    {
        ScaleAnswer Weighed(double kg, bool insist, double going = 0, double goingKg = 0)
        {
            Span<double> predicted = stackalloc double[ScaleBelief.Nodes];
            for (int i = 0; i < predicted.Length; i++) predicted[i] = 20 * Math.Exp(-0.005 * ScaleBelief.Multipliers[i]);
            return ScaleBelief.Prior(1, 1.3).Observe(
                new BinStart("b", 20, 0.02), new Weighing(30, kg, 0, 0.02, 0, 0.01), predicted, insist, going, goingKg);
        }

        var (sound, little, much) = (Weighed(19.9, false), Weighed(19, true), Weighed(16, true));
        sound.OwnLossShare.Should().BeLessThan(0.02);
        little.OwnLossShare.Should().BeGreaterThan(0.3);
        little.OwnLossKg.Should().BeApproximately(0.9, 0.1);
        much.OwnLossShare.Should().BeLessThan(0.02);
        Weighed(19, false).Question.Should().NotBeNull("nobody has said that it is right");
        Weighed(19, false, 0.4, 0.8).Question.Should().BeNull("it was known to go on");
    }
}
