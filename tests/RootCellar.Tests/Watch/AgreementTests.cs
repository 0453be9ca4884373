using RootCellar.Places;
using RootCellar.Readings;
using RootCellar.Watch;
using static RootCellar.Tests.Watch.Watching;

namespace RootCellar.Tests.Watch;

public sealed class AgreementTests
{
    [Theory]
    [InlineData(2.4, null, null, "")]
    [InlineData(2.6, null, null, "raised sensors-disagree")]
    // Calibrated in an ice bath, each knows itself to 0.1 C: what is left is what the room may differ by.
    [InlineData(1.9, 0.1, 0.1, "raised sensors-disagree")]
    [InlineData(1.6, 0.1, 0.1, "")]
    [InlineData(2.2, 0.1, null, "raised sensors-disagree")]
    public void How_far_apart_is_too_far_goes_by_the_accuracy_of_the_two(double apart, double? one, double? other, string told) =>
        AtOnce().See(Between(("a", 5, one), ("b", 5 + apart, other))).Told.Should().Be(told);

    [Fact]
    public void Of_many_the_two_that_are_furthest_apart_are_named()
    {
        var w = AtOnce().See(Between(("a", 5, null), ("b", 9, null), ("c", 5.5, null), ("d", 4.6, null)));
        var alarm = w.Man.Open.Single(a => a.Rule == Rule.SensorsDisagree);
        (alarm.Sensor, alarm.Other).Should().Be(("d", "b"));
        alarm.Value.Should().BeApproximately(4.4, 1e-9);
        alarm.Limit.Should().Be(2.5);
    }

    [Fact]
    public void A_sensor_that_hardly_knows_itself_disagrees_with_nobody() =>
        AtOnce().See(Between(("a", 5, 0.1), ("b", 9, 4))).Told.Should().BeEmpty();

    [Fact]
    public void Alone_a_sensor_has_nobody_to_agree_with()
    {
        var w = AtOnce().See(Between(("a", 4, null), ("b", 7, null)));
        w.Told.Should().Be("raised sensors-disagree");
        w.Wait(5).Hold(Between(("a", 4, null)), 300).Told.Should().BeEmpty();
        w.Man.Open.Should().ContainSingle();
        w.Wait(5).Hold(Between(("a", 4, null)), 120);
        w.Changes[^1].After.Ended.Should().Be(WhyEnded.OneSensorLeft, "nothing is over; it is just not known any more");
        w.Told.Should().Be("over sensors-disagree");
        w.Man.Open.Should().BeEmpty();
    }

    [Fact]
    public void A_sensor_carried_away_takes_the_disagreement_with_it()
    {
        var w = AtOnce().See(Between(("a", 4, null), ("b", 7, null)));
        w.Told.Should().Be("raised sensors-disagree");
        w.Changes.AddRange(w.Man.SensorGone("b", w.Mono, w.Wall));
        w.Told.Should().Be("over sensors-disagree");
        w.Man.Open.Should().BeEmpty();
    }

    [Fact]
    public void How_even_a_room_is_can_be_said() =>
        new Watching(new WatchOptions { OnDelaySeconds = 0, RoomSpreadC = 5 }).See(Between(("a", 4, null), ("b", 7, null))).Told.Should()
            .BeEmpty();

    [Fact]
    public void Water_settles_where_the_coldest_produce_is_and_the_alarm_names_its_probe()
    {
        var w = AtOnce().See(Air(c: 5, dew: 4.5, pulp: 4.4) with
        {
            Sensors = [new SensorValue("cellar/k1", Quantity.Pulp, 4.4, null), new SensorValue("cellar/k2", Quantity.Pulp, 5, null),
                new SensorValue("cellar/door", Quantity.Temperature, 5, null)],
        });
        var alarm = w.Man.Open.Single(a => a.Rule == Rule.TooWet);
        (alarm.Sensor, alarm.Measure).Should().Be(("cellar/k1", Measure.DewMargin));
    }

    private static PlaceAir Between(params (string Sensor, double C, double? PlusOrMinus)[] sensors) =>
        Air() with { Sensors = [.. sensors.Select(s => new SensorValue(s.Sensor, Quantity.Temperature, s.C, s.PlusOrMinus))] };
}
