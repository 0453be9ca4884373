using RootCellar.Science.Cellar;
using RootCellar.Science.Tests.Published;

namespace RootCellar.Science.Tests.Cellar;

public sealed class RoomFitTests
{
    private const int Days = 8 * 288;

    [Fact]
    public void The_page_of_simulated_rooms_is_up_to_date() => GeneratedPage.MustBe("docs/science/room.md", RoomFitPage.Page());

    /// <summary>Intervals are meant to hold nine times in ten.</summary>
    [Fact]
    public void Intervals_hold_the_truth_of_rooms_built_otherwise()
    {
        foreach (var group in RoomFitPage.Scores.GroupBy(s => s.Figure))
        {
            ((double)group.Count(s => s.Within) / group.Count()).Should().BeGreaterThan(0.85, group.Key);
        }
    }

    [Fact]
    public void A_room_that_is_the_model_itself_is_found_as_it_was_made()
    {
        var fit = RoomFit.Of(Model(w: 0.12, s: 0.3, hours: 40, noise: 0));
        fit.Heat.Doubt.Should().BeNull();
        fit.Heat.AtOnce.Value.Should().BeApproximately(0.12, 0.002);
        fit.Heat.InTheLongRun.Value.Should().BeApproximately(0.12 + (0.88 * 0.3), 0.01);
        fit.Heat.SlowHours.Value.Should().BeApproximately(40, 2);
    }

    [Fact]
    public void The_same_readings_give_the_same_bits() =>
        RoomFit.Of(Model(0.12, 0.3, 40, 0.1)).Should().Be(RoomFit.Of(Model(0.12, 0.3, 40, 0.1)));

    [Fact]
    public void A_gap_of_an_hour_outdoors_is_bridged_and_one_of_a_day_ends_the_record()
    {
        var whole = Model(0.12, 0.3, 40, 0);
        whole.Hours.Should().BeApproximately(8 * 24, 0.1);
        Model(0.12, 0.3, 40, 0, gapSteps: 12).Hours.Should().BeApproximately(8 * 24, 0.1);
        Model(0.12, 0.3, 40, 0, gapSteps: 288).Hours.Should().BeApproximately(3 * 24, 0.1);
        RoomFit.Of(Model(0.12, 0.3, 40, 0, gapSteps: 12)).Heat.AtOnce.Value.Should().BeApproximately(0.12, 0.01);
    }

    [Fact]
    public void What_the_readings_do_not_tell_is_assumed_and_said_to_be()
    {
        double[] still = [.. Enumerable.Repeat(8.0, Days)], none = [.. Enumerable.Repeat(double.NaN, Days)];
        RoomFit.Of(new RoomRecord(still, none, none, none)).Heat.Doubt.Should().Be(RoomDoubt.NoOutdoorAir);
        RoomFit.Of(new RoomRecord(still[..288], still[..288], still[..288], still[..288])).Heat.Doubt.Should().Be(RoomDoubt.TooFewHours);
        RoomFit.Of(new RoomRecord(still, still, still, still)).Heat.Doubt.Should().Be(RoomDoubt.DoesNotTell);
        var dry = RoomFit.Of(Model(0.12, 0.3, 40, 0.05));
        dry.Leak.Doubt.Should().Be(RoomDoubt.NoHumidity);
        dry.Opening.Doubt.Should().Be(RoomDoubt.NeverOpened);
        // Air that does not follow outdoors at all tells nothing of how it would.
        var shut = Model(0, 0, 40, 0.2);
        RoomFit.Of(shut).Heat.Doubt.Should().Be(RoomDoubt.DoesNotTell);
        Func<RoomRecord> unequal = () => new RoomRecord(still, still[1..], still, still);
        unequal.Should().Throw<ArgumentException>();
    }

    [Fact]
    public void Assumed_figures_are_wide()
    {
        var assumed = RoomResponse.Assumed(RoomDoubt.NoOutdoorAir);
        (assumed.Heat.InTheLongRun.High / assumed.Heat.InTheLongRun.Low).Should().BeGreaterThan(4);
        (assumed.Leak.ChangesPerHour.High / assumed.Leak.ChangesPerHour.Low).Should().BeGreaterThan(4);
        (assumed.Opening.Share.High / assumed.Opening.Share.Low).Should().BeGreaterThan(4);
    }

    [Fact]
    public void Hours_without_readings_cost_no_more_than_themselves()
    {
        var whole = RoomFit.Of(Model(0.1, 0.2, 60, 0.03, door: (0.4, 8)));
        var gaps = RoomFit.Of(Model(0.1, 0.2, 60, 0.03, door: (0.4, 8), every: 7));
        gaps.Hours.Should().BeLessThan(whole.Hours - 10);
        gaps.Heat.AtOnce.Value.Should().BeApproximately(whole.Heat.AtOnce.Value, 0.01);
    }

    /// <summary>A door that is open for half an hour each evening: the air goes 40 % of the way with 8 min.</summary>
    [Fact]
    public void Openings_are_found_and_what_they_do_is_learned()
    {
        var fit = RoomFit.Of(Model(0.1, 0.2, 60, 0.03, door: (0.4, 8)));
        fit.Opening.Doubt.Should().BeNull();
        fit.Opening.Times.Should().BeInRange(6, 9);
        fit.Opening.Share.Value.Should().BeApproximately(0.4, 0.06);
        fit.Opening.Minutes.Value.Should().BeApproximately(8, 3);
    }

    /// <summary>
    /// The same room with its door open for half an hour each evening: its walls have had that air too, and left shut it follows
    /// outdoors less.
    /// </summary>
    [Fact]
    public void What_came_in_by_the_open_door_is_no_share_of_the_room_left_shut()
    {
        var (heat, door) = (RoomFit.Of(Model(0.1, 0.2, 60, 0.03)).Heat, new List<Openings.Opening>());
        for (int day = 0; day < 8; day++) door.Add(new Openings.Opening(day * 288, (day * 288) + 6, 0.4, 8));
        var shut = Openings.Shut(heat, door, 8 * 24);
        // 30 of 1,440 minutes; ties of 0.1/0.9 shut and 0.46/0.54 open.
        double shutTie = 0.1 / 0.9, mean = shutTie + (30.0 / 1440 * ((0.46 / 0.54) - shutTie)), inward = mean * (1 - 0.28) / 0.28;
        shut.InTheLongRun.Value.Should().BeApproximately(shutTie / (shutTie + inward), 0.01).And.BeLessThan(0.95 * heat.InTheLongRun.Value);
        (shut.AtOnce, shut.SlowHours).Should().Be((heat.AtOnce, heat.SlowHours));
        Openings.Shut(heat, [], 8 * 24).Should().Be(heat);
    }

    private static RoomRecord Model(
        double w, double s, double hours, double noise, int gapSteps = 0, (double Share, double Minutes)? door = null, int every = 0)
    {
        var random = new Random(7);
        double[] air = new double[Days], outside = new double[Days], none = new double[Days];
        Array.Fill(none, double.NaN);
        double ground = 9, mass = 9, open = 0;
        for (int i = 0; i < Days; i++)
        {
            double day = i / 288.0;
            outside[i] = 6 + (5 * Math.Sin(2 * Math.PI * day)) + (4 * Math.Sin(day * 1.3));
            for (int part = 0; part < 60; part++)
                mass += ((s * outside[i]) + ((1 - s) * ground) - mass) / (hours * 12 * 60);
            double closed = (w * outside[i]) + ((1 - w) * mass);
            if (door is { } d)
            {
                double to = i % 288 is >= 216 and < 222 ? d.Share : 0;
                open = to + ((open - to) * Math.Exp(-5 / d.Minutes));
            }

            air[i] = closed + (open * (outside[i] - closed)) + (noise * ((2 * random.NextDouble()) - 1));
            if (every > 0 && i % every == 0)
                air[i] = double.NaN;
        }

        // The gap lies five days in; what comes after it is three days.
        for (int i = 5 * 288 - gapSteps; i < 5 * 288; i++)
            outside[i] = double.NaN;
        return new RoomRecord(air, none, outside, none);
    }
}
