using RootCellar.Science.Keeping;

namespace RootCellar.Science.Tests.Keeping;

/// <summary>What days without a weighing do to the belief, worked out by hand: a scale that tells nothing leaves only them.</summary>
public sealed class ScaleWanderTests
{
    private const double Z90 = 1.6448536269514722;

    /// <summary>A standard deviation of a ton: whatever it shows, every multiplier foretold it as well as every other.</summary>
    private static readonly Weighing Blind = new(0, 20, 0, 0, 0, 1000);

    private static ScaleBelief After(double median, double factor, params double[] days)
    {
        var belief = ScaleBelief.Prior(median, factor);
        double[] predicted = [.. Enumerable.Repeat(20.0, ScaleBelief.Nodes)];
        foreach (double day in days) belief = belief.Observe(new BinStart("a", 20, 0.1), Blind with { Day = day }, predicted).Belief;
        return belief;
    }

    [Theory]
    [InlineData(1, 2)]
    [InlineData(1.3, 1.7)]
    [InlineData(0.6, 1.3)]
    public void Before_any_weighing_the_logarithm_is_the_normal_it_was_given(double median, double factor)
    {
        foreach (var belief in new[] { ScaleBelief.Prior(median, factor), After(median, factor, 0), After(median, factor, 300) })
        {
            belief.Log.Mean.Should().BeApproximately(Math.Log(median), 1e-4);
            belief.Log.Variance.Should().BeApproximately(Math.Pow(Math.Log(factor) / Z90, 2), 1e-3);
        }
    }

    /// <summary>A tenth in thirty days, as variance; a leap in two hundred days, which brings back what nobody knew.</summary>
    [Theory]
    [InlineData(1)]
    [InlineData(4)]
    [InlineData(8)]
    [InlineData(30)]
    [InlineData(120)]
    public void From_one_weighing_to_the_next_it_wanders_by_the_days_between(double days)
    {
        double prior = Math.Pow(Math.Log(1.3) / Z90, 2), leap = 1 - Math.Exp(-days / 200);
        var belief = After(1, 1.3, 10, 10 + days);
        belief.Log.Mean.Should().BeApproximately(0, 1e-9);
        belief.Log.Variance.Should().BeApproximately(prior + ((1 - leap) * 0.01 * days / 30), 1e-4);
        After(1, 1.3, 10, 10, 10).Log.Variance.Should().BeApproximately(prior, 1e-6, "no days have gone by");
    }

    [Fact]
    public void At_the_end_of_the_grid_it_stays_within()
    {
        var belief = After(5, 4, 0, 3000, 3999);
        belief.Quantile(0.9999).Should().BeLessThanOrEqualTo(12.0001);
        Enumerable.Range(1, 99).Select(i => belief.Quantile(i / 100.0)).Should().BeInAscendingOrder();
        ScaleBelief.Prior(5, 4).Quantile(1 - 1e-9).Should().BeApproximately(12, 0.01, "the last node is the end");
        ScaleBelief.Prior(0.2, 4).Quantile(1e-9).Should().BeApproximately(1 / 12.0, 1e-4);
    }

    /// <summary>Nodes are 6 % apart: between them a normal is still one where its sides are as near.</summary>
    [Theory]
    [InlineData(1.1, 0.0005)]
    [InlineData(1.2, 0.0002)]
    [InlineData(2, 0.0002)]
    public void A_narrow_belief_is_not_widened_by_the_grid(double factor, double within)
    {
        var known = ScaleBelief.Prior(1, factor).Interval90;
        (known.High / factor).Should().BeApproximately(1, within);
        (known.Low * factor).Should().BeApproximately(1, within);
        known.Value.Should().BeApproximately(1, within);
    }

    [Fact]
    public void A_probability_lies_between_0_and_1()
    {
        foreach (double p in (double[])[0, 1, -0.1, 1.1, double.NaN])
            FluentActions.Invoking(() => ScaleBelief.Prior().Quantile(p)).Should().Throw<ArgumentOutOfRangeException>().WithParameterName("p")
                .WithMessage("A probability must lie between 0 and 1, the ends left out.*");
    }

    [Theory]
    [InlineData(0.19, 2, "median")]
    [InlineData(5.1, 2, "median")]
    [InlineData(1, 1.04, "factor90")]
    [InlineData(1, 4.1, "factor90")]
    public void A_belief_nobody_can_hold_is_refused(double median, double factor, string name) =>
        FluentActions.Invoking(() => ScaleBelief.Prior(median, factor)).Should().Throw<ArgumentOutOfRangeException>().WithParameterName(name);
}
