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

    [Fact]
    public void What_no_look_can_be_is_refused()
    {
        var (belief, shares) = (SproutBelief.Before(1.5), Shares(120, 100));
        FluentActions.Invoking(() => belief.After(SproutsSeen.Few, shares.AsSpan(1))).Should().Throw<ArgumentException>()
            .WithMessage($"There must be {shares.Length} shares, one for each multiplier.*").WithParameterName("shareVisible");
        FluentActions.Invoking(() => belief.After((SproutsSeen)9, shares)).Should().Throw<ArgumentOutOfRangeException>()
            .WithMessage("Unknown share.*");
        foreach (double wrong in (double[])[-0.01, 1.01, double.NaN])
        {
            double[] others = [.. shares];
            others[3] = wrong;
            FluentActions.Invoking(() => belief.After(SproutsSeen.Few, others)).Should().Throw<ArgumentException>()
                .WithMessage("Share 3 must lie between 0 and 1.*");
        }

        foreach (double factor in (double[])[1, 3.001])
            FluentActions.Invoking(() => SproutBelief.Before(factor))
                .Should().Throw<ArgumentOutOfRangeException>().WithParameterName("factor");
    }

    [Fact]
    public void Where_every_rest_would_show_the_same_a_look_says_nothing()
    {
        foreach (double share in (double[])[0, 1])
        {
            double[] same = [.. Enumerable.Repeat(share, SproutBelief.Multipliers.Length)];
            foreach (var seen in Enum.GetValues<SproutsSeen>())
                SproutBelief.Before(1.5).After(seen, same).Quantile(0.95)
                    .Should().BeApproximately(SproutBelief.Before(1.5).Quantile(0.95), 1e-6);
        }
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
                belief = belief.After(said < 0.02 ? SproutsSeen.None : said < 0.25 ? SproutsSeen.Few : said < 0.75 ? SproutsSeen.Half
                    : SproutsSeen.Most, shares);
            }

            inside += truth >= belief.Quantile(0.05) && truth <= belief.Quantile(0.95) ? 1 : 0;
            width += Math.Log(belief.Quantile(0.95) / belief.Quantile(0.05)) / lots;
        }

        (inside / (double)lots).Should().BeInRange(0.87, 0.94);
        width.Should().BeLessThan(0.5 * 2 * Math.Log(1.5));
    }

    [Fact]
    public void The_more_sprouts_are_seen_the_shorter_the_rest_is_believed()
    {
        double[] shares = Visible(1);
        double[] middles = [.. Enum.GetValues<SproutsSeen>().Select(seen => SproutBelief.Before(1.5).After(seen, shares).Quantile(0.5))];
        middles.Should().BeInDescendingOrder().And.OnlyHaveUniqueItems();
        middles[(int)SproutsSeen.Half].Should().BeApproximately(1, 0.05, "half of them show at the usual rest");
    }

    [Fact]
    public void What_every_rest_would_show_teaches_nothing_and_nor_does_what_none_would()
    {
        var before = SproutBelief.Before(1.5);
        var none = new double[SproutBelief.Multipliers.Length];
        double[] all = [.. none.Select(_ => 1.0)];
        foreach (var after in (SproutBelief[])[before.After(SproutsSeen.None, none), before.After(SproutsSeen.Most, all),
            before.After(SproutsSeen.Most, none), before.After(SproutsSeen.Few, all)])
        {
            foreach (double p in (double[])[0.05, 0.5, 0.95])
                after.Quantile(p).Should().BeApproximately(before.Quantile(p), 1e-9);
        }
    }

    [Fact]
    public void No_number_of_glances_makes_a_season_more_certain_than_5_percent_either_way()
    {
        var belief = SproutBelief.Before(1.5);
        for (int look = 0; look < 200; look++)
            belief = belief.After(look % 2 == 0 ? SproutsSeen.Few : SproutsSeen.Half, Visible(1));
        var known = belief.Sides90;
        (known.High / known.Value).Should().BeApproximately(1.05, 1e-9);
        (known.Value / known.Low).Should().BeApproximately(1.05, 1e-9);
        SproutBelief.Before(1.5).Sides90.High.Should().Be(SproutBelief.Before(1.5).Quantile(0.95), "what is known worse is left as it is");
        SproutBelief.Before(1.5).Sides90.Low.Should().Be(SproutBelief.Before(1.5).Quantile(0.05));
    }

    [Fact]
    public void A_lot_far_beyond_the_factor_is_believed_once_it_is_seen_often_enough()
    {
        // One lot in twenty is an odd one, of any rest from an eighth to eight times the usual.
        var belief = SproutBelief.Before(1.3);
        for (int look = 0; look < 12; look++)
            belief = belief.After(SproutsSeen.Half, Visible(4));
        belief.Quantile(0.5).Should().BeApproximately(4, 0.3);
    }

    [Fact]
    public void Of_late_tubers_with_2_mm_four_in_five_show_and_without_sprouts_none()
    {
        SproutBelief.ShareVisible(100, _ => Dormancy.VisibleMm).Should().BeApproximately(0.8, 1e-6);
        SproutBelief.ShareVisible(100, _ => 0).Should().Be(0);
        // Tubers of one lot differ by 4 % in their rest, and the figure is that of the late ones: some peep days before.
        SproutBelief.ShareVisible(100, rest => rest < 98 ? Dormancy.VisibleMm : 0).Should().BeInRange(0.3, 0.6);
        SproutBelief.ShareVisible(100, rest => rest < 80 ? Dormancy.VisibleMm : 0).Should().Be(0);
    }

    [Fact]
    public void Quantiles_rise_and_have_no_ends()
    {
        var belief = SproutBelief.Before(1.5).After(SproutsSeen.Few, Visible(1));
        Enumerable.Range(1, 999).Select(i => belief.Quantile(i / 1000.0)).Should().BeInAscendingOrder();
        foreach (double p in (double[])[0, 1, -0.1, 1.1, double.NaN])
            FluentActions.Invoking(() => belief.Quantile(p)).Should().Throw<ArgumentOutOfRangeException>()
                .WithMessage("A probability must lie between*");
    }

    [Fact]
    public void The_multipliers_go_from_an_eighth_to_eight_in_even_steps()
    {
        double[] grid = SproutBelief.Multipliers.ToArray();
        grid[0].Should().BeApproximately(1 / 8.0, 1e-12);
        grid[^1].Should().BeApproximately(8, 1e-9);
        grid[64].Should().Be(1);
        grid.Zip(grid.Skip(1), (a, b) => b / a).Should().AllSatisfy(step => step.Should().BeApproximately(Math.Pow(64, 1 / 128.0), 1e-9));
    }

    [Fact]
    public void Shares_that_cannot_be_are_refused()
    {
        var belief = SproutBelief.Before(1.5);
        FluentActions.Invoking(() => belief.After(SproutsSeen.Few, [0.5])).Should().Throw<ArgumentException>();
        double[] wrong = Shares(120, 100);
        wrong[3] = double.NaN;
        FluentActions.Invoking(() => belief.After(SproutsSeen.Few, wrong)).Should().Throw<ArgumentException>();
        wrong[3] = 1.01;
        FluentActions.Invoking(() => belief.After(SproutsSeen.Few, wrong)).Should().Throw<ArgumentException>()
            .WithMessage("Share 3 must lie between 0 and 1.*");
        wrong[3] = -0.01;
        FluentActions.Invoking(() => belief.After(SproutsSeen.Few, wrong)).Should().Throw<ArgumentException>();
        FluentActions.Invoking(() => belief.After((SproutsSeen)4, Shares(120, 100))).Should().Throw<ArgumentOutOfRangeException>();
        foreach (double factor in (double[])[0.5, 1, 3.01, double.NaN])
            FluentActions.Invoking(() => SproutBelief.Before(factor)).Should().Throw<ArgumentOutOfRangeException>()
                .WithParameterName("factor");
        SproutBelief.Before(3).Quantile(0.95).Should().BeApproximately(3, 0.05);
    }

    /// <summary>Shares of tubers with sprouts that fall as the rest grows, half of them at one multiplier of it.</summary>
    private static double[] Visible(double halfAt) =>
        [.. SproutBelief.Multipliers.ToArray().Select(m => 1 / (1 + Math.Pow(m / halfAt, 20)))];

    /// <summary>Share of tubers with sprouts to be seen at a day, for each multiplier, held at 7.2 C.</summary>
    private static double[] Shares(double sproutedAfter, int day)
    {
        double rest = Dormancy.RestDaysAt10C(sproutedAfter, 7.2);
        return [.. SproutBelief.Multipliers.ToArray().Select(m =>
        {
            var lot = LotState.Dug(new LotTraits(Potato, restDaysAt10C: rest * m));
            for (int d = 0; d < day; d++)
                lot = lot.Advance(new LotAir(7.0, 95), 24);
            return Dormancy.ShareLongerThan(Dormancy.VisibleMm, lot.SproutMm);
        })];
    }
}
