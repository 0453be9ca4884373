using RootCellar.Science.Crops;
using RootCellar.Science.Keeping;

namespace RootCellar.Science.Tests.Keeping;

public sealed class OutlookTests
{
    private static readonly LotPrior Potatoes = LotPrior.Of(CropTable.Default.Find("potato")!);

    [Fact]
    public void There_is_a_row_for_every_whole_day_and_one_for_the_end()
    {
        Outlook.Run(Potatoes, [AirSpan.Hold(10, 90, 2.5)]).Days.Select(day => day.Day).Should().Equal(0, 1, 2, 2.5);
        Outlook.Run(Potatoes, [AirSpan.Hold(10, 90, 1), AirSpan.Hold(5, 90, 1)]).Days.Select(day => day.Day).Should().Equal(0, 1, 2);
        Outlook.Run(Potatoes, [AirSpan.Hold(10, 90, 0.25)]).Days.Select(day => day.Day).Should().Equal(0, 0.25);
    }

    [Fact]
    public void The_middle_is_what_the_fold_makes_of_the_same_air()
    {
        var ahead = Outlook.Run(Potatoes, [AirSpan.Hold(8, 85, 3)]).Days[^1];
        var lot = LotState.Dug(Potatoes.Middle());
        for (int hour = 0; hour < 72; hour++)
            lot = lot.Advance(new LotAir(8, 85), 1);
        (ahead.State.WaterLost, ahead.State.HealedDays, ahead.State.PulpC).Should().Be((lot.WaterLost, lot.HealedDays, lot.PulpC));
        ahead.Lost.Value.Should().Be(lot.Lost);
        ahead.RestUsed.Value.Should().Be(lot.RestUsed);
        ahead.Lost.Low.Should().BeInRange(0.3 * lot.Lost, 0.8 * lot.Lost);
        ahead.Lost.High.Should().BeInRange(1.3 * lot.Lost, 3 * lot.Lost);
    }

    [Fact]
    public void Wounds_close_in_two_days_of_20_C_with_a_factor_of_1_3_to_either_side()
    {
        var milestones = Outlook.Run(Potatoes, [AirSpan.Hold(18.5, 95, 15)]).Milestones;
        // Crates stand 0.5 C above the air at most; the rate is three times that of 10 C at 20 C.
        double perDay = WoundHealing.TemperatureRate(18.5 + Potatoes.Middle().WarmerC);
        foreach (var (what, days) in ((Milestone, double)[])[(Milestone.Sealed, 2), (Milestone.Adequate, 5), (Milestone.Healed, 6.9)])
        {
            var reached = milestones.Single(milestone => milestone.What == what);
            reached.Likely!.Value.Should().BeApproximately(days / perDay, 0.01);
            (reached.Late!.Value / reached.Likely.Value).Should().BeApproximately(1.3, 0.02);
            (reached.Likely.Value / reached.Early!.Value).Should().BeApproximately(1.3, 0.02);
        }
    }

    [Fact]
    public void What_is_not_reached_in_that_time_is_not_listed_and_what_only_some_reach_has_no_late_day()
    {
        Outlook.Run(Potatoes, [AirSpan.Hold(4, 95, 4)]).Milestones.Should().BeEmpty();
        var sealing = Outlook.Run(Potatoes, [AirSpan.Hold(18.5, 95, 2)]).Milestones.Single();
        sealing.What.Should().Be(Milestone.Sealed);
        sealing.Early.Should().NotBeNull();
        sealing.Late.Should().BeNull();
    }

    /// <summary>The 5th in a hundred of 64 lies between the third and the fourth: three that get there say nothing yet.</summary>
    [Fact]
    public void An_early_day_is_known_from_the_fourth_member_on()
    {
        double perDay = WoundHealing.TemperatureRate(18.5 + Potatoes.Middle().WarmerC);
        double[] days = [.. Enumerable.Range(0, LotPrior.Members).Select(i => 2 * Potatoes.Member(i).HealingMultiplier / perDay).Order()];
        Outlook.Run(Potatoes, [AirSpan.Hold(18.5, 95, (days[2] + days[3]) / 2)]).Milestones.Should().BeEmpty();
        var sealing = Outlook.Run(Potatoes, [AirSpan.Hold(18.5, 95, (days[3] + days[4]) / 2)]).Milestones.Single();
        sealing.Early!.Value.Should().BeApproximately(days[2] + (0.7 * (days[3] - days[2])), 0.005);
    }

    [Fact]
    public void Sprouts_show_once_the_rest_is_used_up_and_2_mm_have_grown_and_those_of_5_mm_come_after()
    {
        var ahead = Outlook.Run(Potatoes, [AirSpan.Hold(10, 90, 250)]);
        var peeping = ahead.Milestones.Single(milestone => milestone.What == Milestone.Peeping);
        var sprouted = ahead.Milestones.Single(milestone => milestone.What == Milestone.Sprouted);
        var traits = Potatoes.Middle();
        double pulp = 10 + traits.WarmerC;
        peeping.Likely!.Value.Should().BeApproximately(
            (traits.RestDaysAt10C / Dormancy.TemperatureFactor(pulp)) + (2 / Dormancy.SproutMmPerDay(pulp)), 0.1);
        (sprouted.Likely!.Value - peeping.Likely.Value).Should().BeApproximately((5 - 2) / Dormancy.SproutMmPerDay(pulp), 0.1);
        foreach (var milestone in ahead.Milestones)
            (milestone.Early <= milestone.Likely && milestone.Likely <= milestone.Late).Should().BeTrue($"{milestone}");
    }

    [Fact]
    public void Air_goes_straight_from_one_end_of_a_span_to_the_other_and_what_one_end_does_not_know_the_other_stands_for()
    {
        var span = new AirSpan(24, new LotAir(10, 80, double.NaN, 100, 500), new LotAir(6, 90, 4, double.NaN, 900));
        span.At(0.25).Should().Be(new LotAir(9, 82.5, 4, 100, 600));
        // A quarter of the way is a quarter of the time: the same loss as by four spans laid end to end.
        double whole = Outlook.Run(Potatoes, [span with { Hours = 96 }]).Days[^1].State.WaterLost;
        double quarters = Outlook.Run(
            Potatoes, [.. Enumerable.Range(0, 4)
                .Select(i => new AirSpan(24, (span with { Hours = 96 }).At(i / 4.0), (span with { Hours = 96 })
                    .At((i + 1) / 4.0)))]).Days[^1].State.WaterLost;
        quarters.Should().BeApproximately(whole, 1e-9);
    }

    [Fact]
    public void A_span_is_gone_through_hour_by_hour_each_in_the_air_of_its_middle()
    {
        var span = new AirSpan(2.5, new LotAir(20, 90), new LotAir(5, 60));
        var lot = LotState.Dug(Potatoes.Middle());
        foreach (var (at, hours) in ((double, double)[])[(0.2, 1), (0.6, 1), (0.9, 0.5)]) lot = lot.Advance(span.At(at), hours);
        var ahead = Outlook.Run(Potatoes, [span]).Days[^1].State;
        (ahead.WaterLost, ahead.PulpC, ahead.AgeDays).Should().Be((lot.WaterLost, lot.PulpC, lot.AgeDays));
        var second = Outlook.Run(Potatoes, [span, AirSpan.Hold(5, 60, 0.5 / 24)]).Days[^1].State;
        second.WaterLost.Should().Be(lot.Advance(new LotAir(5, 60), 0.5).WaterLost);
    }

    [Fact]
    public void A_lot_of_little_rest_shows_sprouts_and_has_sprouted_on_its_days()
    {
        // At 20 C sprouts grow 0.75 mm a day: 5 mm take six and two thirds of the twelve days at most half of which they may take.
        var lot = Potatoes with { Packing = Packing.SingleLayer, Rest = new RestPrior(12, 20) };
        var milestones = Outlook.Run(lot, [AirSpan.Hold(20 - lot.Middle().WarmerC, 90, 30)]).Milestones;
        var (peeping, sprouted) = (milestones.Single(m => m.What == Milestone.Peeping),
            milestones.Single(m => m.What == Milestone.Sprouted));
        peeping.Likely!.Value.Should().BeApproximately(6 + (2 / 0.75), 0.05);
        (sprouted.Likely!.Value - peeping.Likely.Value).Should().BeApproximately((5 - 2) / 0.75, 0.05);
        (peeping.Early < peeping.Likely && peeping.Likely < peeping.Late && sprouted.Early > peeping.Early).Should().BeTrue();
    }

    [Fact]
    public void Three_years_of_air_are_taken_and_who_asks_for_more_is_told()
    {
        var refused = FluentActions.Invoking(() => Outlook.Run(Potatoes, [AirSpan.Hold(5, 90, 1_099)])).Should()
            .Throw<ArgumentOutOfRangeException>().Which;
        refused.Message.Should().StartWith("The air must last more than no time and at most three years.");
        refused.ActualValue.Should().Be(1_099.0);
    }

    [Fact]
    public void Air_of_no_time_or_of_more_than_three_years_is_refused()
    {
        AirSpan[][] refused =
            [[], [AirSpan.Hold(5, 90, 0)], [AirSpan.Hold(5, 90, 10), AirSpan.Hold(5, 90, -1)], [AirSpan.Hold(5, 90, 10), AirSpan.Hold(5, 90, 0)], [AirSpan.Hold(5, 90, 3 * 366 + 1)],
                [AirSpan.Hold(5, 90, double.NaN)]];
        foreach (var air in refused)
            FluentActions.Invoking(() => Outlook.Run(Potatoes, air)).Should().Throw<ArgumentOutOfRangeException>().WithParameterName("air");
    }
}
