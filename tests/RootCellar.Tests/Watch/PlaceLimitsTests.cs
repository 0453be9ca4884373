using RootCellar.Places;
using RootCellar.Readings;
using RootCellar.Science.Air;
using RootCellar.Watch;
using static RootCellar.Tests.Watch.Watching;

namespace RootCellar.Tests.Watch;

/// <summary>
/// The limits of one place: where each ends, which of two measures decides, and what a change of band or a restart does to them.
/// </summary>
public sealed class PlaceLimitsTests
{
    [Fact]
    public void An_alarm_ends_a_deadband_inside_its_limit()
    {
        Ends(lux => Air(lux: lux), 11, 8.1, 8);
        Ends(ppm => Air(co2: ppm), 5100, 4501, 4500);
        Ends(c => Air(c: c), 8, 6.8, 6.7);
        Ends(rh => Air(rh: rh), 89, 92.9, 93);

        static void Ends(Func<double, PlaceAir> air, double raised, double still, double over)
        {
            var w = AtOnce().See(air(raised));
            w.Told.Should().StartWith("raised");
            w.Wait(5).See(air(still)).Told.Should().BeEmpty($"{still} is within the deadband");
            w.Wait(5).See(air(over)).Told.Should().StartWith("over");
        }
    }

    [Fact]
    public void With_a_probe_in_the_produce_dew_goes_by_the_produce_alone() => AtOnce().See(Air(c: 5, dew: 4.5, pulp: 4.6)).Told.Should()
        .BeEmpty();

    [Fact]
    public void What_the_air_raised_a_probe_in_the_bin_does_not_end()
    {
        var w = AtOnce().Wait(400).See(Air(c: 8));
        w.Told.Should().Be("raised too-warm");
        w.Wait(5).Hold(Air(c: null, dew: null, pulp: 5), 5 * 60).Told.Should().NotContain("over");
        w.Wait(5).Hold(Air(c: null, dew: null, pulp: 5), 2 * 60).Told.Should().Contain("over too-warm");
    }

    [Fact]
    public void A_frost_sensor_that_is_missing_is_waited_for_however_long_the_program_has_run()
    {
        var w = AtOnce().Wait(400).See(Air(c: 6, pulp: -0.5, dew: -4));
        w.Told.Should().Be("raised freezing-near");
        w.Wait(5).Hold(Air(c: 6), 5 * 60).Told.Should().NotContain("over freezing-near");
        w.Wait(5).Hold(Air(c: 6), 2 * 60).Told.Should().Contain("over freezing-near");
    }

    [Fact]
    public void Time_in_which_nobody_saw_the_air_counts_for_no_delay() => new Watching().See(Air(c: 8)).Ticks(60)
        .See(Air(c: 8)).Told.Should().BeEmpty();

    [Fact]
    public void While_nobody_sees_the_air_an_alarm_is_told_again() => AtOnce().See(Air(c: 8)).Ticks(5 * 60).Told.Should()
        .Be("raised too-warm, reminder too-warm");

    [Fact]
    public void Of_dew_and_damp_air_the_dew_is_shown()
    {
        var w = AtOnce().See(Air(c: 4, dew: -1, rh: 74), Onion);
        w.Man.Open.Single().Measure.Should().Be(Measure.Humidity);
        w.Wait(5).See(Air(c: 4, dew: -1, rh: 74, pulp: -1.5), Onion);
        w.Man.Open.Single(a => a.Rule == Rule.TooWet).Measure.Should().Be(Measure.DewMargin, "water on the crop is worse than damp air");
        w.Wait(5).See(Air(c: 4, dew: -1, rh: 74, pulp: 3), Onion).Tick();
        w.Man.Open.Single(a => a.Rule == Rule.TooWet).Active.Should().BeTrue("the air is damp still");
        w.Wait(5).See(Air(c: 4, dew: -1, rh: 66, pulp: 3), Onion).Told.Should().Contain("over too-wet");
    }

    [Fact]
    public void After_a_restart_the_limit_that_was_passed_holds_and_no_other()
    {
        var damp = AtOnce().See(Air(c: 4, dew: -1, rh: 74), Onion).Restart();
        damp.Changes.Clear();
        damp.See(Air(c: 4, dew: -1, rh: 69), Onion).Told.Should().BeEmpty("69 % is within the deadband of 70 %");
        damp.Wait(5).See(Air(c: 4, dew: -1, rh: 66), Onion).Told.Should().Be("over too-wet");

        var dew = AtOnce().See(Air(c: 5, dew: 4.8, rh: 98.6)).Restart();
        dew.Changes.Clear();
        dew.See(Air(c: 5, dew: 4.3)).Told.Should().BeEmpty("0.7 K over the dew point is within the deadband");
        dew.Wait(5).See(Air(c: 5, dew: 4)).Told.Should().Be("over too-wet");
    }

    [Fact]
    public void A_crop_that_likes_it_damp_ends_what_one_that_is_kept_dry_began()
    {
        var w = AtOnce().See(Air(c: 4, dew: -1, rh: 92), Onion);
        w.Told.Should().Be("raised too-wet");
        w.Wait(5).See(Air(c: 4, dew: -1, rh: 92)).Told.Should().Be("over too-wet");
        Watching.Held(new ClimateBand(0, 5, 80, 90), -1).KeptDry.Should().BeFalse("90 % is what roots want");
    }

    [Fact]
    public void Light_on_what_does_not_green_any_more_is_no_alarm_any_more()
    {
        var w = new Watching().Hold(Air(c: 4, lux: 50), 20);
        w.Told.Should().Be("raised light-in-the-dark");
        w.Wait(5).See(Air(c: 4, dew: -1, rh: 68, lux: 50), Onion).Told.Should().Be("over light-in-the-dark");
        w.Man.Open.Should().BeEmpty();
        w.Wait(5).Hold(Air(c: 4, lux: 50), 15).Told.Should().BeEmpty("the delay begins anew");
        w.Wait(5).See(Air(c: 4, lux: 50)).Told.Should().Be("raised light-in-the-dark");
    }

    [Fact]
    public void Without_a_band_for_a_while_a_limit_begins_anew()
    {
        var w = new Watching().Hold(Air(c: 8), 20);
        w.Told.Should().Be("raised too-warm");
        w.Man.Observe(Air(c: 8), null, w.Mono, w.Wall);
        w.Wait(5).Hold(Air(c: 8), 15).Told.Should().BeEmpty();
        w.Wait(5).See(Air(c: 8)).Told.Should().Be("raised too-warm");
    }

    [Theory]
    [InlineData(-0.1, "")]
    [InlineData(0.1, "raised sensors-disagree")]
    public void In_humidity_sensors_may_differ_by_what_the_room_does_too(double beyond, string told)
    {
        // 1.5 K from floor to ceiling are some 6.5 % RH each.
        var apart = (2 * Uncertainty.CheapHumidityPercent) + (1.5 * 6.5) + beyond;
        AtOnce().See(Air() with { Sensors = [Percent("a", 90), Percent("b", 90 - apart)] }).Told.Should().Be(told);

        static SensorValue Percent(string sensor, double value) => new(sensor, Quantity.Humidity, value, null);
    }

    [Fact]
    public void The_two_named_are_those_furthest_apart_beyond_what_they_may_be_off()
    {
        var w = AtOnce().See(Degrees(("a", 5, 0.1), ("b", 4.8, 2), ("c", 9, 0.1), ("d", 9.2, 2)));
        var alarm = w.Man.Open.Single(a => a.Rule == Rule.SensorsDisagree);
        (alarm.Sensor, alarm.Other).Should().Be(("a", "c"));
    }

    [Fact]
    public void Disagreement_outlives_a_restart_and_sensors_that_have_no_part_in_it()
    {
        var w = AtOnce().See(Degrees(("a", 4, null), ("b", 7, null), ("c", 5, null))).Restart();
        w.Changes.Clear();
        w.See(Degrees(("a", 4, null), ("b", 6.3, null))).Told.Should().BeEmpty("within the deadband of 2.5 K");
        w.Changes.AddRange(w.Man.SensorGone("c", w.Mono, w.Wall));
        w.Man.Open.Should().ContainSingle();
        w.Wait(5).See(Degrees(("a", 4, null), ("b", 5, null))).Told.Should().Be("over sensors-disagree");

        var ended = AtOnce().See(Degrees(("a", 4, null), ("b", 7, null)));
        ended.Man.Observe(Air(), null, ended.Mono, ended.Wall);
        ended.Man.Open.Should().BeEmpty("nothing is judged there any more");
    }

    [Fact]
    public void Nobody_is_missed_while_nobody_is_seen()
    {
        var w = AtOnce().Wait(400).See(Degrees(("a", 4, null), ("b", 7, null)));
        w.Ticks(7 * 60).Man.Open.Should().ContainSingle("of both nothing is known");
        w.See(Degrees(("a", 4, null), ("b", 7, null))).Wait(5).Hold(Degrees(("a", 4, null)), 5 * 60).Man.Open.Should()
            .ContainSingle("one is missing for five hours");
        w.Wait(5).Hold(Degrees(("a", 4, null)), 2 * 60).Man.Open.Should().BeEmpty();
    }

    private static PlaceAir Degrees(params (string Sensor, double C, double? PlusOrMinus)[] sensors) =>
        Air() with { Sensors = [.. sensors.Select(s => new SensorValue(s.Sensor, Quantity.Temperature, s.C, s.PlusOrMinus))] };
}
