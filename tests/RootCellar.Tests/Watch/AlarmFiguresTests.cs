using RootCellar.Watch;
using static RootCellar.Tests.Watch.Watching;

namespace RootCellar.Tests.Watch;

/// <summary>What an alarm says of itself: the worst so far, since when, for how long, and what of it outlives a restart.</summary>
public sealed class AlarmFiguresTests
{
    [Fact]
    public void The_worst_is_the_lowest_where_low_is_bad()
    {
        Over(AtOnce().See(Air(c: 3)).Wait(5).See(Air(c: 2)).Wait(5).See(Air(c: 2.9)).Wait(5).See(Air()), Rule.TooCold).Worst.Should().Be(2);
        Over(AtOnce().See(Air(rh: 89)).Wait(5).See(Air(rh: 85)).Wait(5).See(Air(rh: 88)).Wait(5).See(Air(rh: 93)),
            Rule.TooDry).Worst.Should().Be(85);
        // A margin to the dew point is worse the lower it is, though the alarm is about too much water.
        Over(AtOnce().See(Wet(4.4)).Wait(5).See(Wet(4)).Wait(5).See(Wet(4.3)).Wait(5).See(Wet(6)), Rule.TooWet).Worst.Should()
            .BeApproximately(-0.5, 1e-9);
    }

    [Fact]
    public void The_worst_is_that_of_the_present_run()
    {
        new Watching().Hold(Air(c: 9), 10).Wait(5).Hold(Air(), 5).Wait(5).Hold(Air(c: 8), 20).Man.Open.Single().Worst.Should().Be(8);
        new Watching().Hold(Air(c: 9), 10).Wait(5).Hold(Air(c: 8), 10).Man.Open.Single().Worst.Should().Be(9, "it was one run");
        AtOnce().Hold(Air(c: 9), 5).Hold(Air(), 5).Hold(Air(c: 8), 5).Man.Open.Single().Worst.Should().Be(8, "what was over is over");
    }

    [Fact]
    public void Frost_in_the_produce_and_in_the_air_are_one_run()
    {
        var w = AtOnce().See(Air(c: 6, pulp: -0.5, dew: -4));
        w.Man.Open.Single().Measure.Should().Be(Measure.Pulp);
        w.Wait(5).See(Air(c: -0.2, pulp: 1, dew: -4));
        var now = w.Man.Open.Single(a => a.Rule == Rule.FreezingNear);
        (now.Measure, now.Value, now.Worst).Should().Be((Measure.Air, -0.2, -0.5), "the coldest is the air now");
        Over(w.Wait(5).See(Air(c: 5, pulp: 5, dew: -4)), Rule.FreezingNear).Worst.Should().Be(-0.5);
    }

    [Fact]
    public void The_worst_is_written_down_step_by_step()
    {
        Steps(c => Air(c: c), 8, 8.4, 8.5).Should().Equal(8, 8.5);
        Steps(rh => Air(rh: rh), 89, 86.1, 86).Should().Equal(89, 86);
        Steps(lux => Air(lux: lux), 12, 16.9, 17).Should().Equal(12, 17);
        Steps(lux => Air(lux: lux), 100, 119, 120).Should().Equal(100, 120);
        Steps(ppm => Air(co2: ppm), 5100, 5599, 5600).Should().Equal(5100, 5600);

        static IEnumerable<double> Steps(Func<double, RootCellar.Places.PlaceAir> air, params double[] values)
        {
            var w = AtOnce();
            foreach (var value in values) w.See(air(value)).Wait(1);
            return w.Changes.Select(c => c.After.Worst!.Value);
        }
    }

    [Fact]
    public void Every_alarm_says_value_and_limit()
    {
        Figures(AtOnce().See(Air(c: 8)), Rule.TooWarm).Should().Be((Measure.Air, 8, 65.0 / 9));
        Figures(AtOnce().See(Air(c: 3)), Rule.TooCold).Should().Be((Measure.Air, 3, 30.0 / 9));
        Figures(AtOnce().See(Air(rh: 89)), Rule.TooDry).Should().Be((Measure.Humidity, 89, 90));
        Figures(AtOnce().See(Air(lux: 11)), Rule.LightInTheDark).Should().Be((Measure.Light, 11, 10));
        Figures(AtOnce().See(Air(co2: 5100)), Rule.Co2High).Should().Be((Measure.Co2, 5100, 5000));
        Figures(AtOnce().See(Wet(3.5)), Rule.TooWet).Should().Be((Measure.DewMargin, -1, 0));
        Figures(AtOnce().See(Air(c: 5, dew: 4.8, rh: 98.6)), Rule.TooWet).Should().Be((Measure.Humidity, 98.6, 98));
        Figures(AtOnce().See(Air(c: 4, dew: -1, rh: 74), Onion), Rule.TooWet).Should().Be((Measure.Humidity, 74, 70));

        static (Measure, double, double) Figures(Watching w, Rule rule)
        {
            var alarm = w.Man.Open.Single();
            alarm.Rule.Should().Be(rule);
            return (alarm.Measure, alarm.Value!.Value, alarm.Limit!.Value);
        }
    }

    [Fact]
    public void Since_when_and_how_long_go_by_the_beginning_of_the_run()
    {
        var w = new Watching().Wait(10).Hold(Air(c: 8), 20);
        w.Man.Open.Single().Since.Should().Be(Start.AddMinutes(10));
        w.Wait(10);
        var id = w.Man.Open.Single().Id;
        w.Man.Acknowledge(id, "Ann", w.Mono, w.Wall)!.Lasted.Should().Be(TimeSpan.FromMinutes(30));
        w.Man.Acknowledge(id, "Bo", w.Mono, w.Wall).Should().BeNull("it is acknowledged");
        w.Man.Shelve(id, w.Wall, w.Mono, w.Wall).Should().BeNull("that time is over");
        w.Man.Unshelve(id, w.Mono, w.Wall).Should().BeNull("it is not shelved");
        w.Man.Shelve(id, w.Wall.AddHours(1), w.Mono, w.Wall)!.Lasted.Should().Be(TimeSpan.FromMinutes(30));
        var unshelved = w.Wait(5).Man.Unshelve(id, w.Mono, w.Wall)!;
        (unshelved.Tell, unshelved.Lasted, unshelved.After.State).Should()
            .Be((Telling.Raised, TimeSpan.FromMinutes(35), AlarmState.Unacknowledged));
        w.Changes.Clear();
        w.Tick().Changes.Should().BeEmpty("what was done by hand was answered and comes no second time");
    }

    [Fact]
    public void Raised_again_it_says_since_when_it_is_so_again()
    {
        var w = new Watching().Hold(Air(c: 8), 20).Wait(5).Hold(Air(), 20).Wait(5).Hold(Air(c: 8), 20);
        (w.Man.Open.Single().Since, w.Man.Open.Single().Count).Should().Be((Start.AddMinutes(50), 2));
    }

    [Fact]
    public void Taken_from_the_shelf_what_is_over_or_said_by_a_greater_trouble_is_not_told()
    {
        var over = AtOnce().See(Air(c: 8));
        var id = over.Man.Open.Single().Id;
        over.Man.Shelve(id, over.Wall.AddHours(8), over.Mono, over.Wall);
        over.Wait(5).See(Air());
        var after = over.Man.Unshelve(id, over.Mono, over.Wall)!;
        (after.Tell, after.After.State).Should().Be((Telling.None, AlarmState.Normal));

        var frost = AtOnce().See(Air(c: 2));
        id = frost.Man.Open.Single().Id;
        frost.Man.Shelve(id, frost.Wall.AddHours(8), frost.Mono, frost.Wall);
        frost.Wait(5).See(Air(c: -1, dew: -3));
        frost.Man.Unshelve(id, frost.Mono, frost.Wall)!.Tell.Should().Be(Telling.None);
    }

    [Fact]
    public void The_shelf_ends_to_the_minute()
    {
        var w = AtOnce().See(Air(c: 8));
        w.Man.Shelve(w.Man.Open.Single().Id, w.Wall.AddMinutes(5), w.Mono, w.Wall);
        w.Changes.Clear();
        w.Wait(5).See(Air(c: 8)).Tick().Told.Should().Be("raised too-warm");
    }

    [Fact]
    public void Where_nothing_is_judged_any_more_the_alarm_is_normal_and_says_why()
    {
        var w = AtOnce().Wait(10).See(Air(c: 8)).Wait(30);
        var ended = w.Man.Observe(Air(c: 8), null, w.Mono, w.Wall, WhyEnded.NothingThere).Single();
        (ended.Tell, ended.After.State, ended.After.Ended, ended.After.Active, ended.After.ReturnedAt, ended.Lasted)
            .Should().Be((Telling.Over, AlarmState.Normal, WhyEnded.NothingThere, false, w.Wall, TimeSpan.FromMinutes(30)));
        w.Tick().Wait(5).Tick().Man.Open.Should().BeEmpty();

        w = AtOnce().See(Air(c: 8)).Wait(5).See(Air()).Wait(60);
        var before = w.Man.Observe(Air(), null, w.Mono, w.Wall).Single();
        before.After.ReturnedAt.Should().Be(Start.AddMinutes(5), "it was over then");
        (before.Tell, before.After.Ended).Should().Be((Telling.None, null), "that it was over has been told");
    }

    [Fact]
    public void A_place_that_is_no_more_takes_its_alarms_along()
    {
        var w = AtOnce().See(Air(c: 8)).See(Air(c: 8, place: "loft"));
        w.Man.PlaceGone("loft", w.Mono, w.Wall).Single().After.Place.Should().Be("loft");
        w.Man.PlaceGone("barn", w.Mono, w.Wall).Should().BeEmpty();
        w.Man.Open.Single().Place.Should().Be("cellar");
    }

    [Fact]
    public void A_restart_forgets_neither_the_worst_nor_the_hour_of_the_last_text()
    {
        Over(AtOnce().See(Air(c: 9)).Restart().See(Air(c: 8)).Wait(5).See(Air()), Rule.TooWarm).Worst.Should().Be(9);
        AtOnce().See(Air(c: 9)).Wait(5).See(Air()).Restart().See(Air(c: 8)).Man.Open.Single().Worst.Should().Be(8, "that run was over");

        // The restart takes an hour. The first reminder is due four hours after the text, the next one four hours after that.
        var first = AtOnce().See(Air(c: 8)).Restart();
        first.Changes.Clear();
        first.Hold(Air(c: 8), 175).Told.Should().BeEmpty();
        first.Hold(Air(c: 8), 10).Told.Should().Be("reminder too-warm");

        var second = AtOnce().Hold(Air(c: 8), 4 * 60);
        second.Told.Should().Be("raised too-warm, reminder too-warm");
        second.StepClock(second.Mono).Restart().Hold(Air(c: 8), 175).Told.Should().BeEmpty();
        second.Hold(Air(c: 8), 10).Told.Should().Be("reminder too-warm");
    }

    [Fact]
    public void A_shelf_goes_on_over_a_restart()
    {
        var w = AtOnce().See(Air(c: 8));
        w.Man.Shelve(w.Man.Open.Single().Id, w.Wall.AddHours(8), w.Mono, w.Wall);
        w.Restart();
        w.Changes.Clear();
        w.Hold(Air(c: 8), 6 * 60 + 55).Told.Should().BeEmpty();
        w.Hold(Air(c: 8), 10).Told.Should().Be("raised too-warm");
    }

    [Fact]
    public void A_clock_that_came_back_earlier_makes_no_time_less_than_nothing()
    {
        var w = AtOnce().See(Air(c: 8)).StepClock(TimeSpan.FromHours(-10)).Restart().See(Air(c: 8)).Wait(10);
        w.Changes.Clear();
        w.See(Air());
        w.Changes.Single(c => c.Tell == Telling.Over).Lasted.Should().BeCloseTo(TimeSpan.FromMinutes(10), TimeSpan.FromSeconds(5));
    }

    [Fact]
    public void An_id_is_never_used_twice()
    {
        var w = AtOnce();
        w.Man.Restore([], w.Mono, w.Wall, 41);
        w.See(Air(c: 8)).Man.Open.Single().Id.Should().Be("cellar-too-warm-42");
        w.Changes.AddRange(w.Man.ClockStepped(TimeSpan.FromMinutes(-2), w.Mono, w.Wall));
        var clock = w.Man.Open.Single(a => a.Rule == Rule.ClockStepped);
        (clock.Id, clock.Place).Should().Be(("house-clock-stepped-43", ""));

        w.Restart();
        w.Man.ClockStepped(TimeSpan.FromHours(1), w.Mono, w.Wall).Single().After.Count.Should().Be(2, "it is the same alarm");
    }

    [Theory]
    [InlineData(0)]
    [InlineData(1000)]
    public void How_often_it_is_told_does_not_go_by_how_long_the_program_has_run(double minutes)
    {
        var w = new Watching().Wait(minutes);
        for (var minute = 0; minute < 5 * 24 * 60; minute += 2)
        {
            w.Changes.AddRange(w.Man.ClockStepped(TimeSpan.FromHours(1), w.Wait(2).Mono, w.Wall));
            w.Tick();
        }

        var told = w.Changes.Where(c => c.Tell != Telling.None).Select(c => (c.After.ToldAt!.Value - Start).TotalHours - (minutes / 60))
            .ToList();
        told.Zip(told.Skip(1), (a, b) => b - a).Should().AllSatisfy(gap => gap.Should().BeLessThanOrEqualTo(24.1));
        told.Should().HaveCount(12, "a quarter of an hour, then twice as long each time, then once a day");

        var warm = new Watching().Wait(minutes).Hold(Air(c: 9), 4 * 24 * 60);
        warm.Changes.Where(c => c.Tell == Telling.Reminder)
            .Select(c => Math.Round((c.After.ToldAt!.Value - Start).TotalHours - (minutes / 60), 1))
            .Should().Equal(4.3, 8.7, 17.3, 34.7, 58.7, 82.7);
        warm.Changes.First(c => c.Tell == Telling.Reminder).Lasted.Should().BeCloseTo(TimeSpan.FromMinutes(260), TimeSpan.FromMinutes(1));
    }

    private static RootCellar.Places.PlaceAir Wet(double pulp) => Air(c: 5, dew: 4.5, pulp: pulp);

    private static Alarm Over(Watching w, Rule rule) => w.Changes.Single(c => c.Tell == Telling.Over && c.After.Rule == rule).After;
}
