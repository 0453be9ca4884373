using RootCellar.Places;
using RootCellar.Readings;
using RootCellar.Tests.Storage;

namespace RootCellar.Tests.Places;

public class PlaceTests
{
    private static readonly TimeSpan Begin = TimeSpan.FromHours(1);
    private readonly PlaceState place = new(new Place("cellar", "Cellar", Purpose.Storage, null, ["potato"]));

    [Theory]
    [InlineData(new[] { 5.0 }, 5.0)]
    [InlineData(new[] { 9.0, 5 }, 7.0)]
    [InlineData(new[] { 30.0, 5, 6 }, 6.0)]
    [InlineData(new[] { 4.0, 30, 5, 6 }, 5.5)]
    public void The_air_is_the_median_across_sensors(double[] values, double median)
    {
        foreach (var value in values) Sensor((Quantity.Temperature, value));
        Observe().TemperatureC.Should().Be(median);
    }

    [Fact]
    public void Dew_point_and_deficit_come_from_the_medians()
    {
        Sensor((Quantity.Temperature, 20), (Quantity.Humidity, 50));
        var air = Observe();
        // ASHRAE Fundamentals 2017, chapter 1 table 3: saturation at 20 C is 2.3389 kPa; half of it is saturation at 9.27 C (from memory).
        air.DewPointC.Should().BeApproximately(9.27, 0.05);
        air.VapourPressureDeficitPa.Should().BeApproximately(2338.9 / 2, 3);
    }

    [Fact]
    public void Fog_has_no_deficit_dry_air_no_dew_point_and_half_a_measurement_neither()
    {
        var sensor = Sensor((Quantity.Temperature, 5), (Quantity.Humidity, 101));
        Observe().VapourPressureDeficitPa.Should().Be(0);
        Give(sensor, Quantity.Humidity, 0, Begin);
        Observe().DewPointC.Should().BeNull();
        var other = new PlaceState(place.Place);
        var alone = New();
        other.Add(alone);
        Give(alone, Quantity.Humidity, 90, Begin);
        other.Observe(Begin, Sample.At).Should().Match<PlaceAir>(
            a => a.DewPointC == null && a.VapourPressureDeficitPa == null && a.Quality == AirQuality.Thin);
    }

    [Fact]
    public void The_coldest_produce_is_known_beside_its_median()
    {
        foreach (var pulp in new[] { 6.0, 2.0, 5.0 }) Sensor((Quantity.Pulp, pulp));
        Observe().Should().Match<PlaceAir>(a => a.PulpC == 5 && a.ColdestPulpC == 2 && a.TemperatureC == null
            && a.Quality == AirQuality.Good);
    }

    [Fact]
    public void What_is_old_or_of_a_silent_sensor_or_not_believed_does_not_count()
    {
        Observe().Quality.Should().Be(AirQuality.None);
        var one = Sensor((Quantity.Temperature, 5));
        var two = Sensor((Quantity.Temperature, 9));
        Observe().Should().Match<PlaceAir>(a => a.TemperatureC == 7 && a.Quality == AirQuality.Good);
        two.Take(Reading(Quantity.Temperature, 85, Quality.KnownFault), Begin).Should().BeFalse();
        Observe().Quality.Should().Be(AirQuality.Thin);
        two.Silent = true;
        Observe().Should().Match<PlaceAir>(a => a.TemperatureC == 5 && a.Quality == AirQuality.Thin);
        Observe(one.Rhythm.SilentAfter).TemperatureC.Should().Be(5);
        Observe(one.Rhythm.SilentAfter + TimeSpan.FromSeconds(1)).Quality.Should().Be(AirQuality.None);
        place.Remove(one);
        place.Sensors.Should().ContainSingle();
    }

    [Fact]
    public async Task History_is_in_steps_with_minimum_mean_and_maximum()
    {
        using var folder = new TempFolder();
        await using var store = folder.Open(new HouseTime(Sample.At));
        foreach (var (minute, c) in new[] { (0, 4.0), (5, 6.0), (59, 8.0), (60, 10.0), (120, 12.0) })
        {
            await store.WriteAsync(
                k => PlaceRows.SaveAir(
                    k, new PlaceAir("cellar", Sample.At.AddMinutes(minute), c, 90, 3, 80, null, null, 0, null, AirQuality.Good)));
        }

        await store.WriteAsync(
            k => PlaceRows.SaveAir(k, new PlaceAir("loft", Sample.At, 30, 50, 3, 80, null, null, 0, null, AirQuality.Good)));
        var steps = store.Read(k => PlaceRows.History(k, "cellar", Sample.At, Sample.At.AddHours(2), TimeSpan.FromHours(1)));
        steps.Should().HaveCount(2, "the end is not part of it");
        steps[0].At.Should().Be(Sample.At);
        steps[0].TemperatureC.Should().Be(new Spread(4, 6, 8));
        steps[1].TemperatureC.Should().Be(new Spread(10, 10, 10));
        steps[0].PulpC.Should().BeNull();
        var humidity = store.Read(
            k => PlaceRows.History(k, "cellar", Sample.At, Sample.At.AddDays(9), TimeSpan.FromMinutes(30), "humidity_pct"));
        humidity.Select(s => (s.At - Sample.At).TotalMinutes).Should().Equal(0, 30, 60, 120);
        humidity.Should().OnlyContain(s => s.RelativeHumidityPercent == new Spread(90, 90, 90) && s.TemperatureC == null);
        store.Read(k => PlaceRows.History(k, "cellar", Sample.At.AddMinutes(1), Sample.At.AddMinutes(5), TimeSpan.FromHours(1))).Should()
            .BeEmpty();
        store.Read(k => PlaceRows.Air(k, "cellar", Sample.At, Sample.At.AddHours(1))).Should().HaveCount(3);
    }

    [Theory]
    [InlineData("cellar", "storage", null, "potato", null)]
    [InlineData(" cellar ", "Curing", 12.0, "potato", null)]
    [InlineData("a/b", "storage", null, "potato", "without / + #")]
    [InlineData("", "storage", null, "potato", "cannot be used in an MQTT topic")]
    [InlineData("out", "storage", null, "potato", "Take another name")]
    [InlineData("..", "storage", null, "potato", "it reads like a path. Right: letters and digits, such as curing-room")]
    [InlineData("a\\b", "storage", null, "potato", "it reads like a path. Right: letters and digits, such as ab")]
    [InlineData("\u200B", "storage", null, "potato", "(U+200B)' cannot be a name: it has a character that is not seen")]
    [InlineData("cel\u00ADlar", "storage", null, "potato", "such as cellar")]
    [InlineData("\u3164", "storage", null, "potato", "(U+3164)")]
    [InlineData("cellar", "keeping", null, "potato", "curing, storage, outdoors")]
    [InlineData("cellar", null, null, "potato", "curing, storage, outdoors")]
    [InlineData("cellar", "storage", 0.0, "potato", "cubic metres")]
    [InlineData("cellar", "storage", double.NaN, "potato", "cubic metres")]
    [InlineData("cellar", "storage", null, "potatoe", "Did you mean potato?")]
    public void What_a_place_may_be(string id, string? purpose, double? volume, string crop, string? problem)
    {
        var said = PlaceRules.Read(id, null, purpose, volume, [crop], out var read)?.Text;
        if (problem is null)
        {
            said.Should().BeNull();
            read!.Id.Should().Be("cellar");
            read.Name.Should().Be("cellar");
        }
        else
        {
            said.Should().Contain(problem);
            read.Should().BeNull();
        }
    }

    [Theory]
    [InlineData("..")]
    [InlineData("\u2060\u2060")]
    [InlineData("Cel\u200Blar")]
    public void A_name_nobody_can_tell_from_another_is_refused_and_one_that_is_there_already_can_be_put_right(string name)
    {
        PlaceRules.Read("cellar", name, "storage", null, null, out _)!.Text.Should().StartWith("name: '").And.Contain("cannot be a name");
        var old = new Place("..", name, Purpose.Storage, null, ["potato"]);
        PlaceRules.Read("..", name, "storage", 12, null, out var same, old).Should().BeNull("it is in the record");
        same!.VolumeM3.Should().Be(12);
        PlaceRules.Read("..", " Cellar / north ", "storage", null, null, out var better, old).Should().BeNull();
        better!.Name.Should().Be("Cellar / north");
        PlaceRules.Read("cellar", "...", "storage", null, null, out _, old).Should().NotBeNull();
    }

    private static SensorState New() => new(new SensorRow(1, "a/b", "cellar", "cellar", null, Sample.At, null), SensorRhythm.Fresh(Begin));

    private static Reading Reading(Quantity quantity, double value, Quality quality = Quality.Good) =>
        new("a/b", quantity, value, Sample.At, Sample.At, TimeSource.Arrival, quality, null);

    private static void Give(SensorState sensor, Quantity quantity, double value, TimeSpan mono) =>
        sensor.Take(Reading(quantity, value), mono);

    private SensorState Sensor(params (Quantity Quantity, double Value)[] values)
    {
        var sensor = New();
        foreach (var (quantity, value) in values) Give(sensor, quantity, value, Begin);
        place.Add(sensor);
        return sensor;
    }

    private PlaceAir Observe(TimeSpan after = default) => place.Observe(Begin + after, Sample.At + after);
}
