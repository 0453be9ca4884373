using RootCellar.Watch;
using static RootCellar.Tests.Watch.Watching;

namespace RootCellar.Tests.Watch;

public sealed class WatchmanTests
{
    [Fact]
    public void Good_air_is_not_worth_a_word() => new Watching().Hold(Air(), 600).Changes.Should().BeEmpty();

    [Fact]
    public void Each_rule_fires_on_its_own_trouble()
    {
        AtOnce().See(Air(c: 8)).Told.Should().Be("raised too-warm");
        AtOnce().See(Air(c: 3)).Told.Should().Be("raised too-cold");
        AtOnce().See(Air(c: 5, pulp: -0.1, dew: -4)).Told.Should().Be("raised freezing-near");
        AtOnce().See(Air(rh: 89)).Told.Should().Be("raised too-dry");
        AtOnce().See(Air(c: 5, dew: 4.5, pulp: 4.4)).Told.Should().Be("raised too-wet");
        AtOnce().See(Air(c: 5, dew: 4.8, rh: 98.6)).Told.Should().Be("raised too-wet");
        AtOnce().See(Air(c: 4, dew: -1, rh: 74), Onion).Told.Should().Be("raised too-wet");
        AtOnce().See(Air(lux: 11)).Told.Should().Be("raised light-in-the-dark");
        AtOnce().See(Air(co2: 5100)).Told.Should().Be("raised co2-high");
    }

    [Fact]
    public void Light_is_nobodys_business_where_nothing_greens() => AtOnce().See(Air(c: 4, dew: -1, rh: 68, lux: 500), Onion).Told.Should()
        .BeEmpty();

    [Fact]
    public void The_text_comes_after_the_delay_and_again_when_it_is_over()
    {
        var w = new Watching().Hold(Air(c: 8), 15);
        w.Told.Should().BeEmpty();
        w.Wait(5).See(Air(c: 8.4));
        var raised = w.Changes.Single();
        (raised.Tell, raised.Lasted, raised.After.Since).Should().Be((Telling.Raised, TimeSpan.FromMinutes(20), Start));
        w.Told.Should().Be("raised too-warm");

        w.Wait(5).Hold(Air(c: 6.5), 15);
        var over = w.Changes.Single(c => c.Tell == Telling.Over);
        (over.Lasted, over.After.Value, over.After.Worst, over.After.State).Should()
            .Be((TimeSpan.FromMinutes(25), 6.5, 8.4, AlarmState.ReturnedUnacknowledged));
    }

    [Fact]
    public void A_tick_ends_a_delay_between_two_air_records()
    {
        var w = new Watching(new WatchOptions { OnDelaySeconds = 120 }).See(Air(c: 8)).Ticks(1);
        w.Told.Should().BeEmpty();
        w.Ticks(1).Told.Should().Be("raised too-warm");
    }

    [Fact]
    public void Old_air_raises_nothing() => new Watching().See(Air(c: 8)).Ticks(60).Told.Should().BeEmpty();

    [Fact]
    public void Missing_air_neither_raises_nor_ends_an_alarm()
    {
        var w = AtOnce().See(Air(c: 8));
        w.Told.Should().Be("raised too-warm");
        w.Wait(5).Hold(Air(c: null, rh: null, dew: null, lux: null), 180).Told.Should().BeEmpty();
        w.Man.Open.Should().ContainSingle();
        w.Wait(5).See(Air()).Told.Should().Be("over too-warm");
    }

    [Fact]
    public void Freezing_comes_after_5_minutes_and_mutes_too_cold()
    {
        var w = new Watching().Hold(Air(c: -1, pulp: -0.2, dew: -3), 60);
        w.Told.Should().Be("raised freezing-near");
        w.Wait(5).Hold(Air(c: 2, pulp: 1, dew: -1), 60).Told.Should().Be("over freezing-near, raised too-cold");
    }

    [Fact]
    public void An_open_too_cold_is_muted_by_freezing_and_ends_without_a_text_of_its_own()
    {
        var w = AtOnce().See(Air(c: 2));
        w.Told.Should().Be("raised too-cold");
        w.Wait(5).See(Air(c: -1, dew: -3)).Told.Should().Be("raised freezing-near");
        w.Man.Open.Single(a => a.Rule == Rule.TooCold).MutedBy.Should().Be(Rule.FreezingNear);
        w.Wait(300).See(Air(c: -1, dew: -3)).Tick().Told.Should().Be("reminder freezing-near");
        w.Wait(5).See(Air(c: 5)).Told.Should().StartWith("over freezing-near");
    }

    [Fact]
    public void What_a_probe_in_the_bin_raised_the_air_does_not_end()
    {
        var w = AtOnce().See(Air(c: 6, pulp: -0.5, dew: -4));
        w.Told.Should().Be("raised freezing-near");
        w.Wait(5).Hold(Air(c: 6, pulp: null), 120).Told.Should().BeEmpty();
        w.Wait(5).Hold(Air(c: 6, pulp: null), 300).Told.Should().Contain("over freezing-near");
    }

    [Fact]
    public void An_unacknowledged_alarm_is_told_again_every_four_hours_until_someone_acknowledges()
    {
        var w = AtOnce().Hold(Air(c: 8), 60 * 9);
        w.Told.Should().Be("raised too-warm, reminder too-warm, reminder too-warm");
        w.Man.Acknowledge(w.Man.Open[0].Id, "Ann", w.Mono, w.Wall)!.After.State.Should().Be(AlarmState.Acknowledged);
        w.Hold(Air(c: 8), 60 * 9).Told.Should().BeEmpty();
        w.Wait(5).See(Air()).Told.Should().Be("over too-warm");
        w.Man.Open.Should().BeEmpty();
    }

    [Fact]
    public void Raised_again_before_anyone_acknowledged_it_is_one_alarm()
    {
        var w = AtOnce().See(Air(c: 8)).Wait(5).See(Air()).Wait(5).See(Air(c: 8));
        w.Told.Should().Be("raised too-warm, over too-warm, raised too-warm");
        w.Man.Open.Single().Count.Should().Be(2);
    }

    [Fact]
    public void After_it_was_acknowledged_and_over_a_new_cause_is_a_new_alarm()
    {
        var w = AtOnce().See(Air(c: 8)).Wait(5).See(Air());
        var first = w.Man.Open.Single().Id;
        w.Man.Acknowledge(first, "Ann", w.Mono, w.Wall);
        w.Man.Acknowledge(first, "Ann", w.Mono, w.Wall).Should().BeNull();
        w.See(Air(c: 8)).Man.Open.Single().Id.Should().NotBe(first);
    }

    [Fact]
    public void Shelved_it_is_mute_and_at_the_end_of_its_time_what_still_holds_is_told()
    {
        var w = AtOnce().See(Air(c: 8));
        w.Man.Shelve(w.Man.Open[0].Id, w.Wall.AddHours(8), w.Mono, w.Wall)!.After.State.Should().Be(AlarmState.Shelved);
        w.Changes.Clear();
        w.Wait(5).See(Air()).Wait(5).Hold(Air(c: 8), 60 * 7).Told.Should().BeEmpty();
        w.Wait(5).Hold(Air(c: 8), 60).Told.Should().Be("raised too-warm");
        w.Man.Open.Single().State.Should().Be(AlarmState.Unacknowledged);
    }

    [Fact]
    public void A_clock_step_neither_ends_shelving_nor_fires_nor_clears()
    {
        var w = new Watching().Hold(Air(c: 8), 20).Hold(Air(c: 8, lux: 50), 10);
        w.Told.Should().Be("raised too-warm");
        w.Man.Shelve(w.Man.Open[0].Id, w.Wall.AddHours(8), w.Mono, w.Wall);
        w.StepClock(TimeSpan.FromDays(400)).Hold(Air(c: 8, lux: 50), 5).Told.Should().BeEmpty();
        w.StepClock(TimeSpan.FromDays(-9000)).Hold(Air(c: 8, lux: 50), 5).Told.Should().Be("raised light-in-the-dark");
    }

    [Fact]
    public void A_stepped_clock_is_told_and_waits_to_be_acknowledged()
    {
        var w = new Watching();
        w.Changes.AddRange(w.Man.ClockStepped(TimeSpan.FromSeconds(40), w.Mono, w.Wall));
        w.Told.Should().BeEmpty("that is a clock being kept right");
        w.Changes.AddRange(w.Man.ClockStepped(TimeSpan.FromHours(3), w.Mono, w.Wall));
        w.Told.Should().Be("raised clock-stepped");
        w.Man.Open.Single().State.Should().Be(AlarmState.ReturnedUnacknowledged);
    }

    [Fact]
    public void Of_five_clock_steps_in_a_row_the_first_is_told_at_once_and_the_others_in_one_text_that_counts()
    {
        var w = new Watching();
        for (var i = 0; i < 5; i++) w.Changes.AddRange(w.Man.ClockStepped(TimeSpan.FromHours(i % 2 == 0 ? 3 : -2), w.Wait(1).Mono, w.Wall));
        w.Told.Should().Be("raised clock-stepped");
        w.Ticks(30);
        var told = w.Changes.Single(c => c.Tell != Telling.None).After;
        (told.Count, told.Value, told.State).Should().Be((5, 3 * 3600, AlarmState.ReturnedUnacknowledged));
        w.Changes.Clear();
        w.Ticks(120).Told.Should().BeEmpty("all five are told");

        w.Changes.AddRange(w.Man.ClockStepped(TimeSpan.FromHours(1), w.Mono, w.Wall));
        w.Told.Should().Be("raised clock-stepped", "the last text is long ago");
    }

    [Fact]
    public void A_clock_that_steps_all_day_is_told_ever_less_often()
    {
        var w = new Watching();
        for (var minute = 0; minute < 24 * 60; minute += 2)
        {
            w.Changes.AddRange(w.Man.ClockStepped(TimeSpan.FromHours(1), w.Wait(2).Mono, w.Wall));
            w.Tick();
        }

        w.Changes.Count(c => c.Tell != Telling.None).Should().BeInRange(4, 9);
        w.Man.Acknowledge(w.Man.Open.Single().Id, "Nell", w.Mono, w.Wall).Should().NotBeNull();
        w.Changes.Clear();
        w.Ticks(60 * 24).Told.Should().BeEmpty("whoever acknowledged it has seen the count");
        w.Changes.AddRange(w.Man.ClockStepped(TimeSpan.FromHours(1), w.Mono, w.Wall));
        w.Told.Should().Be("raised clock-stepped");
    }

    [Fact]
    public void Without_a_band_nothing_is_judged_and_who_was_told_is_told_that_it_ended()
    {
        var w = AtOnce().See(Air(c: 8));
        w.Changes.Clear();
        w.Changes.AddRange(w.Man.Observe(Air(c: 30), null, w.Mono, w.Wall));
        w.Told.Should().Be("over too-warm");
        w.Man.Open.Should().BeEmpty();
    }

    [Fact]
    public void After_a_restart_an_alarm_goes_on_under_its_name()
    {
        var w = AtOnce().See(Air(c: 8, pulp: 2, dew: 2.5)).Silent(true, "cellar/a").Tick();
        w.Told.Should().Be("raised too-warm, raised too-wet, raised all-silent");
        var before = w.Man.Open;

        w.Restart();
        w.Man.Open.Should().BeEquivalentTo(before);
        w.See(Air(c: 8, pulp: 2, dew: 2.5)).Silent(null, "cellar/a").Tick().Told.Should().BeEmpty();
        w.Wait(5).See(Air(c: 5, pulp: 5, dew: 3)).Silent(false, "cellar/a").Tick();
        w.Changes.Single(c => c.After.Rule == Rule.TooWarm).Lasted.Should().BeCloseTo(TimeSpan.FromMinutes(65), TimeSpan.FromMinutes(1));
        w.Told.Should().Be("over too-warm, over too-wet, over all-silent");
        w.See(Air(c: 8, place: "loft")).Man.Open[^1].Id.Should().Be("loft-too-warm-4");
    }

    [Fact]
    public void Bad_readings_for_the_delay_without_a_good_one_make_a_sensor_unbelievable()
    {
        var w = new Watching();
        Reads("85.0, its power-on value").Wait(19);
        Reads("85.0, its power-on value").Ticks(120).Told.Should().BeEmpty("one hour of nothing is not a bad reading");
        Reads(null).Wait(1);
        Reads("99.9 flat").Wait(10);
        Reads("99.9 flat").Wait(10);
        Reads("99.9 flat").Changes.Single().After.Detail.Should().Be("99.9 flat");
        w.Told.Should().Be("raised sensor-not-believable");
        Reads(null).Wait(15);
        Reads(null).Told.Should().Be("over sensor-not-believable");

        Watching Reads(string? reason)
        {
            w.Changes.AddRange(w.Man.SensorUnbelievable("cellar/a", "cellar", reason, w.Mono, w.Wall));
            return w;
        }
    }

    [Fact]
    public void Reminders_come_ever_less_often_down_to_once_a_day()
    {
        var watch = new Watching().Hold(Watching.Air(c: 9), 4 * 24 * 60);

        watch.Changes.Where(c => c.Tell == Telling.Reminder).Select(c => Math.Round((c.After.ToldAt!.Value - Watching.Start).TotalHours, 1))
            .Should().Equal(4.3, 8.7, 17.3, 34.7, 58.7, 82.7);
    }

    [Fact]
    public void What_can_wait_until_tomorrow_is_told_once()
    {
        new Watching().Hold(Watching.Air(rh: 80), 3 * 24 * 60).Told.Should().Be("raised too-dry");
    }
}
