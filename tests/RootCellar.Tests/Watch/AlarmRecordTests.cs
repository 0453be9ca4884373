using RootCellar.Household;
using RootCellar.Tests.Storage;
using RootCellar.Watch;
using static RootCellar.Tests.Watch.Watching;

namespace RootCellar.Tests.Watch;

/// <summary>Alarms as they are kept and as they are shown, and the settings of the watch.</summary>
public sealed class AlarmRecordTests
{
    [Fact]
    public async Task What_is_asked_for_is_found_in_its_order()
    {
        using var folder = new TempFolder();
        await using var store = folder.Open(TimeProvider.System);
        var open = Raised("cellar", 1);
        var over = Raised("cellar", 2) with { Id = "over", State = AlarmState.Normal, Active = false, ReturnedAt = Start.AddDays(3) };
        var again = open with { Count = 2, RaisedAt = Start.AddDays(2.2), Since = Start.AddDays(2.2) };
        var loft = Raised("loft", 4);
        var old = Raised("cellar", -300) with { Id = "old", State = AlarmState.Normal, Active = false, ReturnedAt = Start.AddDays(-299) };
        await store.WriteAsync(c =>
        {
            foreach (var alarm in (Alarm[])[loft, over, old, open]) AlarmRows.Save(c, alarm);
            AlarmRows.Save(c, open with { Active = false, State = AlarmState.ReturnedUnacknowledged, ReturnedAt = Start.AddDays(1.5) });
            AlarmRows.Save(c, again);
        });

        store.Read(AlarmRows.Open).Select(a => (a.Id, a.Count)).Should().Equal((open.Id, 2), (loft.Id, 1));
        store.Read(c => Ids(AlarmRows.Latest(c, null, 3))).Should().Equal(loft.Id, open.Id, "over");
        store.Read(c => Ids(AlarmRows.Latest(c, "normal", 9))).Should().Equal("over", "old");
        store.Read(c => Raisings(AlarmRows.OfPlace(c, "cellar", Start.AddDays(1.2), Start.AddDays(9)))).Should()
            .Equal((open.Id, 1), ("over", 1), (open.Id, 2));
        store.Read(c => Raisings(AlarmRows.OfPlace(c, "cellar", Start.AddDays(2.5), Start.AddDays(9)))).Should()
            .Equal(("over", 1), (open.Id, 2));
        store.Read(c => Raisings(AlarmRows.OfPlace(c, "cellar", Start.AddDays(3.5), Start.AddDays(9)))).Should().Equal((open.Id, 2));
        store.Read(c => Raisings(AlarmRows.OfPlace(c, "cellar", Start, Start.AddDays(1)))).Should().BeEmpty("it was raised then");
        store.Read(c => Raisings(AlarmRows.Between(c, Start, Start.AddDays(3)))).Should().Equal((open.Id, 1), ("over", 1), (open.Id, 2));
        store.Read(c => Raisings(AlarmRows.Between(c, Start.AddDays(3), Start.AddDays(9)))).Should()
            .Equal(("over", 1), (open.Id, 2), (loft.Id, 1));
        store.Read(c => Raisings(AlarmRows.Between(c, Start.AddDays(3.1), Start.AddDays(9)))).Should().Equal((open.Id, 2), (loft.Id, 1));
        store.Read(AlarmRows.LastSequence).Should().Be(1);
        store.Read(c => AlarmRows.Latest(c, null, 1)).Single().Should().Be(loft, "all of it is kept");

        static IEnumerable<string> Ids(IReadOnlyList<Alarm> alarms) => alarms.Select(a => a.Id);

        static IEnumerable<(string, int)> Raisings(IReadOnlyList<Alarm> alarms) => alarms.Select(a => (a.Id, a.Count));

        static Alarm Raised(string place, double day) =>
            AtOnce().See(Air(c: 8, place: place)).Man.Open.Single() with { RaisedAt = Start.AddDays(day), Since = Start.AddDays(day) };
    }

    [Theory]
    [InlineData(Measure.Air, "temperatureC")]
    [InlineData(Measure.Pulp, "pulpC")]
    [InlineData(Measure.Humidity, "relativeHumidityPercent")]
    [InlineData(Measure.DewMargin, "condensationMarginC")]
    [InlineData(Measure.Light, "lightLux")]
    [InlineData(Measure.Co2, "co2Ppm")]
    [InlineData(Measure.Step, "seconds")]
    [InlineData(Measure.AirSpread, "temperatureSpreadC")]
    [InlineData(Measure.HumiditySpread, "humiditySpreadPercent")]
    [InlineData(Measure.None, "none")]
    internal void The_measure_has_its_unit_in_its_name(Measure measure, string name) =>
        AlarmShape.Of(AtOnce().See(Air(c: 8)).Man.Open.Single() with { Measure = measure }).Measure.Should().Be(name);

    [Fact]
    public void An_alarm_of_the_whole_house_has_no_place()
    {
        var alarm = AtOnce().See(Air(c: 8)).Man.Open.Single();
        var shown = AlarmShape.Of(alarm);
        (shown.Place, shown.Rule, shown.State, shown.Priority).Should().Be(("cellar", "too-warm", "unacknowledged", "high"));
        AlarmShape.Of(alarm with { Place = "" }).Place.Should().BeNull();
    }

    [Fact]
    public void Every_setting_has_its_range_and_the_ends_of_it_are_right()
    {
        (Action<WatchOptions, double> Set, double Low, double High, string Says)[] settings =
        [
            ((o, v) => o.OnDelaySeconds = (int)v, 0, 86_400, "Watch:OnDelaySeconds is {0}; it must be 0 to 86400 seconds."),
            ((o, v) => o.OffDelaySeconds = (int)v, 0, 86_400, "Watch:OffDelaySeconds is {0}; it must be 0 to 86400 seconds."),
            ((o, v) => o.FreezingOnDelaySeconds = (int)v, 0, 86_400, "Watch:FreezingOnDelaySeconds is {0}; it must be 0 to 86400 seconds."),
            ((o, v) => o.Temperature.DeadbandC = v, 0, 5, "Watch:Temperature:DeadbandC is {0}; it must be 0 to 5 degrees C."),
            ((o, v) => o.Humidity.DeadbandPercent = v, 0, 20, "Watch:Humidity:DeadbandPercent is {0}; it must be 0 to 20 percent."),
            ((o, v) => o.RoomSpreadC = v, 0, 20, "Watch:RoomSpreadC is {0}; it must be 0 to 20 degrees C."),
            ((o, v) => o.LightLux = v, 0.1, 10_000, "Watch:LightLux is {0}; it must be 0.1 to 10000 lux."),
            ((o, v) => o.Co2Ppm = v, 500, 40_000, "Watch:Co2Ppm is {0}; it must be 500 to 40000 ppm."),
            ((o, v) => o.RemindHours = (int)v, 0, 168, "Watch:RemindHours is {0}; it must be 0 to 168 hours (0: never)."),
        ];
        foreach (var (set, low, high, says) in settings)
        {
            Problems(low).Should().BeEmpty(says);
            Problems(high).Should().BeEmpty(says);
            Problems(low - 1).Should().Equal(string.Format(System.Globalization.CultureInfo.InvariantCulture, says, low - 1));
            Problems(high + 1).Should().Equal(string.Format(System.Globalization.CultureInfo.InvariantCulture, says, high + 1));

            IReadOnlyList<string> Problems(double value)
            {
                var options = new WatchOptions();
                set(options, value);
                return options.Problems();
            }
        }
    }

    [Fact]
    public void Zero_hours_is_never_told_again() =>
        new Watching(new WatchOptions { OnDelaySeconds = 0, RemindHours = 0 }).Hold(Air(c: 8), 3 * 24 * 60).Told.Should()
            .Be("raised too-warm");
}
