using RootCellar.Watch;
using static RootCellar.Tests.Watch.Watching;

namespace RootCellar.Tests.Watch;

public sealed class OneCauseOneAlarmTests
{
    private static readonly string[] Cellar = ["cellar/a", "cellar/b"];
    private static readonly string[] Everything = ["cellar/a", "cellar/b", "curing/a", "curing/b"];

    [Fact]
    public void One_silent_sensor_is_told_after_the_delay_with_how_long_nothing_was_heard()
    {
        var w = new Watching().Silent(false, Everything).Ticks(1).Silent(true, "cellar/a").Ticks(20);
        w.Told.Should().BeEmpty();
        w.Ticks(1);
        w.Changes.Single().Lasted.Should().Be(TimeSpan.FromMinutes(24), "3 minutes of silence before it was noted, and the ticks since");
        w.Told.Should().Be("raised sensor-silent");
    }

    [Fact]
    public void A_sensor_that_is_heard_in_time_is_not_told() =>
        new Watching().Silent(false, Everything).Ticks(1).Silent(true, "cellar/a").Ticks(15).Silent(false, "cellar/a")
            .Ticks(60).Told.Should().BeEmpty();

    [Fact]
    public void When_all_are_silent_there_is_one_alarm()
    {
        var w = new Watching().Silent(false, Everything).Ticks(1).Silent(true, Cellar).Ticks(8).Silent(true, Everything).Ticks(120);
        w.Told.Should().Be("raised all-silent");
        w.Silent(false, Everything).Ticks(30).Told.Should().Be("over all-silent");
    }

    [Fact]
    public void When_all_are_silent_at_once_with_no_delay_there_is_still_one_alarm() =>
        AtOnce().Silent(false, Everything).Tick().Silent(true, Everything).Ticks(3).Told.Should().Be("raised all-silent");

    [Fact]
    public void When_one_place_is_silent_that_place_is_told() =>
        new Watching().Silent(false, Everything).Ticks(1).Silent(true, Cellar).Ticks(60).Told.Should().Be("raised place-silent");

    [Fact]
    public void The_only_sensor_of_a_household_is_all_of_them() =>
        new Watching().Silent(true, "cellar/a").Ticks(60).Told.Should().Be("raised all-silent");

    [Fact]
    public void A_sensor_told_before_all_fell_silent_is_muted_and_comes_back_without_a_text()
    {
        var w = new Watching().Silent(false, Everything).Ticks(1).Silent(true, "cellar/a").Ticks(30).Silent(true, Everything).Ticks(300);
        w.Told.Should().Be("raised sensor-silent, raised all-silent, reminder all-silent");
        w.Man.Open.Single(a => a.Rule == Rule.SensorSilent).MutedBy.Should().NotBeNull();
        w.Silent(false, Everything).Ticks(30).Told.Should().Be("over all-silent");
    }

    [Fact]
    public void One_that_has_been_dead_for_long_does_not_take_the_delay_off_the_others()
    {
        var w = new Watching().Silent(false, Everything).Ticks(1).Silent(true, "cellar/a").Ticks(30);
        w.Told.Should().Be("raised sensor-silent");
        w.Ticks(300).Silent(true, [.. Everything.Where(s => s != "cellar/a")]).Ticks(15).Told.Should().BeEmpty("the others were silent for a quarter of an hour only");
        w.Ticks(10).Told.Should().Be("raised all-silent");
    }

    [Fact]
    public void When_some_come_back_the_others_are_told_for_themselves()
    {
        var w = new Watching().Silent(true, Everything).Ticks(60);
        w.Told.Should().Be("raised all-silent");
        w.Silent(false, "cellar/a", "cellar/b", "curing/a").Ticks(60).Told.Should().Be("over all-silent, raised sensor-silent");
    }

    [Fact]
    public void Nothing_is_said_of_sensors_not_known_yet_after_a_start() =>
        new Watching().Silent(null, Everything).Ticks(600).Told.Should().BeEmpty();

    [Fact]
    public void A_sensor_taken_away_takes_its_alarm_along()
    {
        var w = new Watching().Silent(false, Everything).Ticks(1).Silent(true, "cellar/a").Ticks(30);
        w.Told.Should().Be("raised sensor-silent");
        w.Changes.AddRange(w.Man.SensorGone("cellar/a", w.Mono, w.Wall));
        w.Changes[^1].After.Ended.Should().Be(WhyEnded.SensorGone);
        w.Told.Should().Be("over sensor-silent");
        w.Man.Open.Should().BeEmpty();
    }
}
