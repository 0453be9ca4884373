using System.Text.Json;
using Microsoft.AspNetCore.Http.HttpResults;
using RootCellar.Api;
using RootCellar.Monitoring;
using RootCellar.Readings;
using RootCellar.Science.Air;
using RootCellar.Storage;
using RootCellar.Tests.Storage;

namespace RootCellar.Tests.Households;

public class CalibrationTests
{
    private const string Salts =
        """{"calibration":{"humidity":[{"standard":"NaCl","temperatureC":12,"reads":70.5},{"standard":"K2SO4","temperatureC":12,"reads":91.2}]}}""";

    [Fact]
    public async Task The_air_of_the_place_is_put_right_and_the_reading_is_kept_as_it_came()
    {
        await using var farm = await Farm.WithCellarAsync();
        await farm.SayAsync("rootcellar/cellar/door", """{"temperature_c":6,"humidity_pct":88}""");
        (await HumidityAsync(farm)).Should().Be(88);
        (await ChangeAsync(farm, Salts)).Should().BeOfType<Ok<SensorShape>>();

        // By hand: NaCl 75.66, K2SO4 98.07 at 12 C; 75.66 + (88 - 70.5) * (98.07 - 75.66) / (91.2 - 70.5) = 94.60.
        (await HumidityAsync(farm)).Should().BeApproximately(94.6, 0.02);
        await farm.SayAsync("rootcellar/cellar/door/humidity_pct", "89");
        (await HumidityAsync(farm)).Should().BeApproximately(95.69, 0.02);
        farm.Store.Text("SELECT group_concat(value) FROM (SELECT value FROM reading WHERE quantity = 2 ORDER BY seq DESC)").Should()
            .Be("88.0,89.0");
        (await farm.SeeAsync(s => s.Sensors.Single().Last.Single(r => r.Quantity == Quantity.Humidity).Value)).Should().Be(89);
    }

    [Fact]
    public async Task It_is_shown_with_its_points_and_since_when_and_stands_after_a_restart()
    {
        await using var farm = await Farm.WithCellarAsync();
        await farm.SayAsync("rootcellar/cellar/door", """{"temperature_c":6,"humidity_pct":88}""");
        await ChangeAsync(farm, Salts);
        await farm.RestartAsync(TimeSpan.FromMinutes(1));

        var shown = SensorShape.Of((await farm.SeeAsync(s => s.Sensors)).Single());
        shown.Calibration!.Temperature.Should().BeNull();
        shown.Calibration.Humidity!.Since.Should().Be(Sample.At);
        shown.Calibration.Humidity.Slope.Should().BeApproximately(1.0826, 0.001);
        shown.Calibration.Humidity.Points.Select(p => (p.Standard, p.TemperatureC, p.Reads)).Should()
            .Equal(("NaCl", 12, 70.5), ("K2SO4", 12, 91.2));
        var humidity = shown.Last.Single(r => r.Quantity == Quantity.Humidity);
        humidity.Value.Should().Be(88);
        humidity.Corrected!.Value.Should().BeApproximately(94.6, 0.02);
        humidity.Corrected.PlusOrMinus.Should().BeInRange(1, 2);
        humidity.Corrected.Extrapolated.Should().BeFalse();
        shown.Last.Single(r => r.Quantity == Quantity.Temperature).Corrected.Should().BeNull();
        (await HumidityAsync(farm)).Should().BeApproximately(94.6, 0.02);
    }

    [Fact]
    public async Task Alarms_go_by_the_corrected_value()
    {
        await using var farm = await Farm.WithCellarAsync(Farm.AtOnce());
        await farm.SayAsync("rootcellar/cellar/door/temperature_c", "6");
        // Reads 0.6 too low in ice: what it calls 9.7 is 10.3, over the potato's 50 F.
        await ChangeAsync(farm, """{"calibration":{"temperature":[{"reference":0,"reads":-0.6}]}}""");
        await farm.SayAsync("rootcellar/cellar/door/temperature_c", "9.7");
        farm.Texts.Should().ContainSingle().Which.Should().StartWith("CELLAR 1F too warm (51F) since ");
        farm.Store.Text("SELECT max(value) FROM reading").Should().Be("9.7");
    }

    [Fact]
    public async Task A_thermometer_and_a_hygrometer_are_corrected_and_let_go_apart()
    {
        await using var farm = await Farm.WithCellarAsync();
        await farm.SayAsync("rootcellar/cellar/door", """{"temperature_c":6,"humidity_pct":88,"pulp_c":5}""");
        await ChangeAsync(farm, Salts);
        await ChangeAsync(farm, """{"calibration":{"temperature":[{"reference":0,"reads":0.4}],"pulp":[{"reference":0,"reads":-0.5}]}}""");
        var air = await farm.SeeAsync(s => s.Place("cellar")!.Air!);
        await farm.SayAsync("rootcellar/cellar/door", """{"temperature_c":6,"humidity_pct":88,"pulp_c":5}""");
        air = await farm.SeeAsync(s => s.Place("cellar")!.Air!);
        (air.TemperatureC, air.PulpC).Should().Be((5.6, 5.5));
        air.RelativeHumidityPercent.Should().BeApproximately(94.6, 0.02);

        await ChangeAsync(farm, """{"calibration":{"humidity":null}}""");
        var sensor = (await farm.SeeAsync(s => s.Sensors)).Single();
        sensor.Calibrations.Select(c => c.Quantity).Should().BeEquivalentTo([Quantity.Temperature, Quantity.Pulp]);
        await ChangeAsync(farm, """{"calibration":null}""");
        await farm.RestartAsync(TimeSpan.FromMinutes(1));
        SensorShape.Of((await farm.SeeAsync(s => s.Sensors)).Single()).Calibration.Should().BeNull();
        (await HumidityAsync(farm)).Should().Be(88);
        farm.Store.Text("SELECT count(*) FROM calibration WHERE body IS NOT NULL").Should().Be("3", "what stood once can be looked up");
    }

    [Fact]
    public async Task A_change_of_place_leaves_the_calibration_alone()
    {
        await using var farm = await Farm.WithCellarAsync();
        await farm.SayAsync("rootcellar/cellar/door", """{"temperature_c":6,"humidity_pct":88}""");
        await ChangeAsync(farm, Salts);
        (await ChangeAsync(farm, """{"name":"by the door"}""")).Should()
            .BeOfType<Ok<SensorShape>>().Which.Value!.Calibration!.Humidity.Should().NotBeNull();
    }

    [Theory]
    [InlineData("""{"humidity":[{"standard":"NaCl","temperatureC":12,"reads":73.1},{"standard":"KCl","temperatureC":12,"reads":84}]}""",
        "calibration.humidity: the references 75.7 and 86.4 % RH are only 10.8 apart")]
    [InlineData("""{"humidity":[{"standard":"NaCl","temperatureC":12,"reads":55}]}""", "a broken sensor or a wrong reference")]
    [InlineData("""{"humidity":[{"standard":"LiCl","temperatureC":12,"reads":12}]}""", "LiCl changes its hydrate")]
    [InlineData("""{"humidity":[{"standard":"NaCl","temperatureC":12,"reads":73.1,"spread":2}]}""", "had not settled: it moved by 2 % RH")]
    [InlineData("""{"humidity":[{"standard":"NaCl","reads":73.1}]}""", "temperatureC is missing")]
    [InlineData("""{"humidity":[{"temperatureC":12,"reads":73.1}]}""", "standard or reference is missing")]
    [InlineData("""{"humidity":[{"standard":"NaCl","temperatureC":12}]}""", "reads is missing")]
    [InlineData("""{"humidity":[{"standard":"NaCl","temperatureC":"12","reads":73.1}]}""", "temperatureC must be a number")]
    [InlineData("""{"humidity":[{"standard":"NaCl","temperatureC":1e999,"reads":73.1}]}""", "temperatureC is too large")]
    [InlineData("""{"humidity":[{"standard":"NaCl","temperature":12,"reads":73.1}]}""", "there is no 'temperature'; known are standard")]
    [InlineData("""{"humidity":[]}""", "needs one reference or two, not 0")]
    [InlineData("""{"humidity":73}""", "a list of one or two references")]
    [InlineData("""{"temperature":[{"standard":"NaCl","temperatureC":12,"reads":73.1}]}""", "a salt is a standard of humidity only")]
    [InlineData("""{"temperature":[{"reference":0,"reads":4}]}""", "off by more than 3 C")]
    [InlineData("""{"light":[{"reference":0,"reads":4}]}""", "there is no 'light'; humidity, temperature and pulp")]
    [InlineData("3", "an object or null")]
    public async Task What_makes_no_sense_is_refused_with_the_reason_and_changes_nothing(string calibration, string reason)
    {
        await using var farm = await Farm.WithCellarAsync();
        await farm.SayAsync("rootcellar/cellar/door", """{"temperature_c":6,"humidity_pct":88}""");
        var refused = (await ChangeAsync(farm, $$"""{"name":"x","calibration":{{calibration}}}""")).Should()
            .BeOfType<ProblemHttpResult>().Which;
        refused.StatusCode.Should().Be(400);
        refused.ProblemDetails.Detail.Should().Contain(reason).And.Contain("Right: ");
        var sensor = (await farm.SeeAsync(s => s.Sensors)).Single();
        sensor.Name.Should().BeNull();
        sensor.Calibrations.Should().BeEmpty();
    }

    [Fact]
    public void The_copy_beside_the_record_has_it_and_one_without_it_is_read()
    {
        using var folder = new TempFolder();
        var asked = CalibrationBody.Read(JsonDocument.Parse(Salts).RootElement.GetProperty("calibration"), Sample.At);
        var row = new SensorRow(1, "cellar/door", "cellar", "cellar", null, Sample.At, 60, [asked.Changes.Single().Calibration!]);
        new SetUpCopy([], [row], []).Write(folder.Path);
        var kept = SetUpCopy.Read(folder.Path)!.Sensors.Single().CalibrationOf(Quantity.Humidity)!;
        kept.Correction.Should().Be(row.CalibrationOf(Quantity.Humidity)!.Correction);

        new SetUpCopy([], [row with { Calibrations = null }], []).Write(folder.Path);
        var file = Path.Combine(folder.Path, "setup-copy.json");
        File.WriteAllText(file, File.ReadAllText(file).Replace(",\"calibrations\":null", "", StringComparison.Ordinal));
        File.ReadAllText(file).Should().NotContain("calibrations");
        SetUpCopy.Read(folder.Path)!.Sensors.Single().Calibrations.Should().BeNull();
    }

    [Fact]
    public async Task The_last_one_given_stands_though_the_clock_was_set_back_meanwhile()
    {
        using var folder = new TempFolder();
        await using var store = folder.Open(new HouseTime(Sample.At));
        var first = CalibrationBody.Read(JsonDocument.Parse(Salts).RootElement.GetProperty("calibration"),
            Sample.At).Changes.Single().Calibration!;
        var second = first with { Since = Sample.At.AddDays(-1) };
        await store.WriteAsync(c => CalibrationRows.Save(c, 1, Quantity.Humidity, first.Since, first));
        await store.WriteAsync(c => CalibrationRows.Save(c, 1, Quantity.Humidity, second.Since, second));
        store.Read(CalibrationRows.InForce)[1].Should().ContainSingle().Which.Since.Should().Be(second.Since);
    }

    private static Task<double?> HumidityAsync(Farm farm)
    {
        farm.Time.Advance(TimeSpan.FromSeconds(1));
        return farm.SeeAsync(s => s.Place("cellar")!.Air!.RelativeHumidityPercent);
    }

    private static Task<Microsoft.AspNetCore.Http.IResult> ChangeAsync(Farm farm, string body) =>
        SensorsApi.ChangeAsync("cellar/door", JsonDocument.Parse(body).RootElement, farm.Pipeline, TestContext.Current.CancellationToken);
}
