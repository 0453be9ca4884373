using RootCellar.Science.Crops;
using RootCellar.Science.Keeping;

namespace RootCellar.Science.Tests.Keeping;

public sealed class SproutBeliefTests
{
    private static readonly Crop Potato = CropTable.Default.Find("potato")!;

    [Fact]
    public void Before_anybody_looks_nine_lots_in_ten_lie_within_the_factor()
    {
        var belief = SproutBelief.Before(1.5);
        belief.Quantile(0.5).Should().BeApproximately(1, 1e-3);
        belief.Quantile(0.95).Should().BeApproximately(1.5, 0.01);
        belief.Quantile(0.05).Should().BeApproximately(1 / 1.5, 0.01);
    }

    [Fact]
    public void No_sprouts_when_they_were_due_makes_the_rest_longer_and_most_makes_it_shorter()
    {
        double[] shares = Shares(120, 140);
        var before = SproutBelief.Before(1.5);
        before.After(SproutsSeen.None, shares).Quantile(0.5).Should().BeGreaterThan(1.1);
        before.After(SproutsSeen.Most, shares).Quantile(0.5).Should().BeLessThan(1);
    }

    [Fact]
    public void One_look_at_the_wrong_bin_is_mended_by_two_at_the_right_one()
    {
        var belief = SproutBelief.Before(1.5).After(SproutsSeen.Most, Shares(120, 40));
        belief = belief.After(SproutsSeen.None, Shares(120, 80)).After(SproutsSeen.None, Shares(120, 100));
        belief.Quantile(0.5).Should().BeInRange(0.9, 1.5);
    }

    /// <summary>Simulated lots: rest drawn from the prior, looked into every three weeks with the assumed blur.</summary>
    [Fact]
    public void Intervals_hold_nine_lots_in_ten_and_looks_narrow_them()
    {
        const int lots = 1000;
        var random = new Random(20261125);
        double[][] byLook = [.. new[] { 90, 110, 130, 150 }.Select(day => Shares(120, day))];
        var truths = SproutBelief.Multipliers.ToArray();
        int inside = 0;
        double width = 0;
        for (int lot = 0; lot < lots; lot++)
        {
            double z = Portable.NormalQuantile((random.NextDouble() * 0.9998) + 0.0001);
            double truth = Math.Exp(z * Math.Log(1.5) / 1.6449);
            var belief = SproutBelief.Before(1.5);
            int node = Enumerable.Range(0, truths.Length).MinBy(i => Math.Abs(Math.Log(truths[i] / truth)));
            foreach (double[] shares in byLook)
            {
                double share = Math.Clamp(shares[node], 1e-4, 1 - 1e-4);
                double seen = Math.Log(share / (1 - share)) + (0.8 * Portable.NormalQuantile((random.NextDouble() * 0.9998) + 0.0001));
                double said = 1 / (1 + Math.Exp(-seen));
                belief = belief.After(said < 0.02 ? SproutsSeen.None : said < 0.25 ? SproutsSeen.Few : said < 0.75 ? SproutsSeen.Half : SproutsSeen.Most, shares);
            }

            inside += truth >= belief.Quantile(0.05) && truth <= belief.Quantile(0.95) ? 1 : 0;
            width += Math.Log(belief.Quantile(0.95) / belief.Quantile(0.05)) / lots;
        }

        (inside / (double)lots).Should().BeInRange(0.87, 0.94);
        width.Should().BeLessThan(0.5 * 2 * Math.Log(1.5));
    }

    [Fact]
    public void Shares_that_cannot_be_are_refused()
    {
        var belief = SproutBelief.Before(1.5);
        FluentActions.Invoking(() => belief.After(SproutsSeen.Few, [0.5])).Should().Throw<ArgumentException>();
        double[] wrong = Shares(120, 100);
        wrong[3] = double.NaN;
        FluentActions.Invoking(() => belief.After(SproutsSeen.Few, wrong)).Should().Throw<ArgumentException>();
        FluentActions.Invoking(() => SproutBelief.Before(0.5)).Should().Throw<ArgumentOutOfRangeException>();
    }

    /// <summary>Share of tubers with sprouts to be seen at a day, for each multiplier, held at 7.2 C.</summary>
    private static double[] Shares(double sproutedAfter, int day)
    {
        double rest = Dormancy.RestDaysAt10C(sproutedAfter, 7.2);
        return [.. SproutBelief.Multipliers.ToArray().Select(m =>
        {
            var lot = LotState.Dug(new LotTraits(Potato, restDaysAt10C: rest * m));
            for (int d = 0; d < day; d++)
                lot = lot.Advance(new LotAir(7.0, 95), 24);
            return Dormancy.ShareLongerThan(SproutBelief.VisibleMm, lot.SproutMm);
        })];
    }
}
