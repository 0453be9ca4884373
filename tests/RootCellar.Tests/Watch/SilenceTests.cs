using RootCellar.Watch;
using static RootCellar.Tests.Watch.Watching;

namespace RootCellar.Tests.Watch;

/// <summary>Sensors that fall silent one after the other, move, or are taken away.</summary>
public sealed class SilenceTests
{
    [Fact]
    public void Sensors_without_a_place_are_no_place()
    {
        var w = new Watching().Silent(false, "cellar/a");
        foreach (var sensor in (string[])["x", "y"]) w.Man.SensorSilent(sensor, "", true, TimeSpan.FromMinutes(3), w.Mono, w.Wall);
        w.Ticks(30).Told.Should().Be("raised sensor-silent, raised sensor-silent");
    }

    [Fact]
    public void All_silent_is_the_greatest_of_the_three_and_says_when_the_last_one_spoke()
    {
        var w = new Watching().Silent(false, "cellar/a", "cellar/b", "curing/a").Ticks(1).Silent(true, "cellar/a").Ticks(30);
        w.Told.Should().Be("raised sensor-silent");
        w.Silent(true, "cellar/b").Ticks(5).Silent(true, "curing/a").Tick();
        var all = w.Man.Open.Single(a => a.Rule == Rule.AllSilent);
        (all.Place, all.Id, all.Since).Should().Be(("", $"house-all-silent-{all.Sequence}", w.Wall.AddMinutes(-3)));
        w.Man.Open.Single(a => a.Rule == Rule.SensorSilent).MutedBy.Should().Be(Rule.AllSilent);
    }

    [Fact]
    public void While_one_of_a_place_is_not_known_yet_only_the_other_is_told() =>
        new Watching().Silent(true, "cellar/a").Silent(null, "cellar/b").Ticks(60).Told.Should().Be("raised sensor-silent");

    [Fact]
    public void An_alarm_of_a_sensor_names_it()
    {
        var w = new Watching().Silent(false, "cellar/b").Silent(true, "cellar/a").Ticks(30);
        var alarm = w.Man.Open.Single();
        (alarm.Sensor, alarm.Place, alarm.Value).Should().Be(("cellar/a", "cellar", null));
    }

    [Fact]
    public void A_sensor_carried_to_another_place_is_told_there_but_an_open_alarm_stays_one()
    {
        var fresh = new Watching().Silent(false, "cellar/a", "cellar/b");
        Carried(fresh, true);
        fresh.Silent(false, "loft/b").Ticks(30);
        fresh.Man.Open.Single().Place.Should().Be("loft");

        var open = new Watching().Silent(false, "cellar/b").Silent(true, "cellar/a").Ticks(30);
        open.Told.Should().Be("raised sensor-silent");
        Carried(open, false);
        open.Ticks(30).Told.Should().Be("over sensor-silent");

        var doubted = new Watching(new WatchOptions { OnDelaySeconds = 0, OffDelaySeconds = 0 }).Silent(false, "cellar/b");
        doubted.Changes.AddRange(doubted.Man.SensorUnbelievable("cellar/a", "cellar", "stuck", doubted.Mono, doubted.Wall));
        doubted.Changes.AddRange(doubted.Man.SensorUnbelievable("cellar/a", "loft", null, doubted.Wait(5).Mono, doubted.Wall));
        doubted.Told.Should().Be("raised sensor-not-believable, over sensor-not-believable");

        static void Carried(Watching w, bool silent) =>
            w.Man.SensorSilent("cellar/a", "loft", silent, TimeSpan.FromMinutes(3), w.Mono, w.Wall);
    }

    [Fact]
    public void The_last_sensor_of_a_place_and_of_the_house_takes_their_alarms_along()
    {
        var place = new Watching().Silent(false, "curing/a").Silent(true, "cellar/a", "cellar/b").Ticks(30);
        place.Told.Should().Be("raised place-silent");
        Gone(place, "cellar/a");
        place.Man.Open.Should().ContainSingle("the other one is there still");
        Gone(place, "cellar/b");
        place.Man.Open.Should().BeEmpty();

        var house = new Watching().Silent(true, "cellar/a").Ticks(30);
        house.Told.Should().Be("raised all-silent");
        Gone(house, "cellar/a");
        house.Told.Should().Be("over all-silent");
        house.Man.Open.Should().BeEmpty();
        house.Silent(true, "cellar/c").Ticks(10).Told.Should().BeEmpty("the delay begins anew");

        var doubted = AtOnce().Silent(false, "cellar/b");
        doubted.Man.SensorUnbelievable("cellar/a", "cellar", "stuck", doubted.Mono, doubted.Wall);
        Gone(doubted, "cellar/a");
        doubted.Man.Open.Should().BeEmpty();

        static void Gone(Watching w, string sensor) => w.Changes.AddRange(w.Man.SensorGone(sensor, w.Mono, w.Wall));
    }
}
