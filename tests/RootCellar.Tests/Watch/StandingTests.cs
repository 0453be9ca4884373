using RootCellar.Tests.Tell;
using RootCellar.Watch;
using static RootCellar.Tests.Watch.Watching;

namespace RootCellar.Tests.Watch;

/// <summary>What a limit that is broken now is shown as: how far it is on its way to an alarm or back, since when and until when.</summary>
public sealed class StandingTests
{
    private static readonly TimeSpan On = new WatchOptions().OnDelay;
    private static readonly TimeSpan Off = new WatchOptions().OffDelay;

    [Fact]
    public void A_limit_knows_how_long_is_left_to_the_alarm_and_to_its_end()
    {
        var limit = new Limit(Side.Above, 2, TimeSpan.FromMinutes(20), TimeSpan.FromMinutes(15));
        limit.Left.Should().BeNull("nothing was seen yet");
        Left(61, 0).Should().Be(20);
        Left(61, 5).Should().Be(15);
        Left(59, 6).Should().BeNull();
        Left(61, 10).Should().Be(20);
        limit.Observe(null, 60, TimeSpan.FromMinutes(11));
        limit.Left.Should().BeNull("nobody sees it");
        Left(61, 12).Should().Be(20);
        Left(61, 32).Should().BeNull("it is raised, and not on its way back");
        Left(58, 40).Should().Be(15);
        Left(58, 50).Should().Be(5);
        Left(59, 51).Should().BeNull();

        double? Left(double value, int minute)
        {
            limit.Observe(value, 60, TimeSpan.FromMinutes(minute));
            return limit.Left?.TotalMinutes;
        }
    }

    [Fact]
    public void A_little_by_a_sensor_that_is_not_sure_takes_longer()
    {
        // Half a degree by one good to 2: four on-delays.
        var limit = new Limit(Side.Above, 2, TimeSpan.FromMinutes(20), TimeSpan.FromMinutes(15));
        limit.Observe(60.5, 60, TimeSpan.Zero, 2);
        limit.Left.Should().Be(TimeSpan.FromMinutes(80));
        limit.Observe(60.5, 60, TimeSpan.FromMinutes(10), 2);
        limit.Left.Should().Be(TimeSpan.FromMinutes(70));
        limit.Observe(64, 60, TimeSpan.FromMinutes(10), 2);
        limit.Left.Should().Be(TimeSpan.FromMinutes(10), "four degrees make up for it, and half the time is over");
        limit.Observe(60.000000001, 60, TimeSpan.FromMinutes(11), 2);
        limit.Left.Should().Be(TimeSpan.FromSeconds(1e9), "no longer than a clock can say");
    }

    [Fact]
    public void On_its_way_in_alarm_on_its_way_back()
    {
        var w = new Watching().See(Air(c: 9));
        var began = w.Wall;
        Now(w).Should().Match<StandingLimit>(s => s.Rule == Rule.TooWarm && s.State == StandingState.Pending && s.Shown.Value == 9
            && s.Since == began && s.Until == began + On && s.Alarm == null);
        Now(w.Wait(5).See(Air(c: 9))).Should().Match<StandingLimit>(s => s.Since == began && s.Until == began + On);

        Now(w.Wait(5).Hold(Air(c: 9), On.TotalMinutes)).Should().Match<StandingLimit>(
            s => s.State == StandingState.Alarm && s.Since == began && s.Until == null && s.Alarm == w.Man.Open.Single().Id);

        Now(w.Wait(5).See(Air(c: 7))).Should().Match<StandingLimit>(
            s => s.State == StandingState.Returning && s.Until == null && s.Alarm != null, "inside, though not by the deadband");
        Now(w.Wait(5).See(Air(c: 5))).Should().Match<StandingLimit>(s => s.State == StandingState.Returning && s.Until == w.Wall + Off);

        w.Man.Standing("barn", w.Mono, w.Wall).Should().BeEmpty();
    }

    [Fact]
    public void So_little_that_it_would_take_days_has_no_hour() => Now(new Watching().See(Air(c: 7.223))).Should().Match<StandingLimit>(
        s => s.State == StandingState.Pending && s.Until == null);

    [Fact]
    public void What_freezes_is_not_also_too_cold() => new Watching().See(Air(c: -3, pulp: -3)).Man
        .Standing("cellar", TimeSpan.Zero, Start).Select(s => s.Rule).Should().Equal(Rule.FreezingNear);

    [Fact]
    public void Of_dew_and_damp_air_the_dew_leads()
    {
        var w = new Watching().See(Air(c: 3, rh: 80, dew: 1), Onion);
        var damp = w.Wall;
        Now(w).Should().Match<StandingLimit>(s => s.Rule == Rule.TooWet && s.Since == damp && s.Shown.Limit == 70);
        w.Wait(5).See(Air(c: 3, rh: 80, dew: 3.5, pulp: 3), Onion);
        Now(w).Should().Match<StandingLimit>(s => s.Rule == Rule.TooWet && s.Since == w.Wall && s.Shown.Measure == Measure.DewMargin);
        w.Wait(5).Hold(Air(c: 3, rh: 80, dew: 3.5, pulp: 3), On.TotalMinutes + 5, Onion);
        Now(w).State.Should().Be(StandingState.Alarm);
        w.Wait(5).See(Air(c: 3, rh: 80, dew: 1, pulp: 3), Onion);
        Now(w).State.Should().Be(StandingState.Alarm, "the dew is gone, the air is damp still");
    }

    [Fact]
    public void The_limits_of_a_band_figure_by_figure()
    {
        LimitsOf.Humidity(Potato).Should().Be((90, double.PositiveInfinity), "roots can hardly have too much");
        LimitsOf.Humidity(Onion).Should().Be((65, 70));
        LimitsOf.Light(Potato).Should().Be((double.NegativeInfinity, 10));
        LimitsOf.Light(Onion).Should().Be((double.NegativeInfinity, double.PositiveInfinity));
    }

    [Theory]
    [InlineData(AlarmState.Unacknowledged, AlarmPriority.High, true)]
    [InlineData(AlarmState.Unacknowledged, AlarmPriority.Urgent, true)]
    [InlineData(AlarmState.Unacknowledged, AlarmPriority.Low, false)]
    [InlineData(AlarmState.ReturnedUnacknowledged, AlarmPriority.Urgent, false)]
    internal void What_nobody_has_seen_and_cannot_wait_calls_for_someone(AlarmState state, AlarmPriority priority, bool calls) =>
        (Messages.Change(Rule.TooWarm, Telling.Raised, 5).After with { State = state, Priority = priority }).CallsForSomeone.Should()
            .Be(calls);

    [Fact]
    public void An_alarm_that_is_over_says_how_many_seconds_it_lasted()
    {
        var alarm = Messages.Change(Rule.TooWarm, Telling.Raised, 5).After;
        OccurrenceShape.Seconds(alarm).Should().BeNull();
        OccurrenceShape.Seconds(alarm with { Active = false, ReturnedAt = alarm.Since.AddSeconds(90.6) }).Should().Be(91);
        OccurrenceShape.Seconds(alarm with { Active = false, ReturnedAt = null }).Should().Be(0);
    }

    private static StandingLimit Now(Watching w) => w.Man.Standing("cellar", w.Mono, w.Wall).Should().ContainSingle().Subject;
}
