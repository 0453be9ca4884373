using Microsoft.Data.Sqlite;
using RootCellar.Places;
using RootCellar.Readings;
using RootCellar.Science.Air;
using RootCellar.Storage;
using RootCellar.Tests.Storage;

namespace RootCellar.Tests.Households;

/// <summary>Readings carried into another record bring the air of their places with them: charts and lots live on it.</summary>
public sealed class ImportedAirTests
{
    private static readonly Place Cellar = new("cellar", "cellar", Purpose.Storage, null, ["potato"]);

    [Fact]
    public async Task Readings_from_a_file_make_the_air_that_was_sampled_when_they_came()
    {
        await using var farm = await Farm.WithCellarAsync();
        // Off the five minutes, so that no reading and sample fall on one moment.
        for (var second = 0; second < 20; second++) farm.Time.Advance(TimeSpan.FromSeconds(1));
        var minute = 0;
        await farm.GoAsync(50, 5.5, () => FormattableString.Invariant($",\"pulp_c\":{5 + (0.01 * minute++)}"));
        await farm.AskAsync(h => h.SaveCalibration("cellar/door", Quantity.Temperature, Colder, farm.Time.GetUtcNow()));
        await farm.GoAsync(20, 6.5);
        await farm.GoAsync(30, 7.5, sensor: "cellar/shelf");
        // What nobody believes, and a silence.
        await farm.GoAsync(10, 85, sensor: "cellar/shelf");
        await farm.GoAsync(60, null);
        await farm.GoAsync(14, 6);
        // An alarm that begins or ends samples beside the five minutes; the file knows of no alarms.
        var sampled = Air(farm).FindAll(a => a.At.Ticks % TimeSpan.FromMinutes(5).Ticks == 0);
        sampled.Should().HaveCountGreaterThan(20).And.HaveCountLessThan(38, "the place was in the dark for a while");

        using var folder = new TempFolder();
        using var other = StoreFile.OpenForWriting($"Data Source={folder.File};Pooling=False", folder.File);
        PlaceRows.Save(other, Cellar);
        SensorRows.Save(other, new SensorRow(1, "cellar/door", "cellar", "cellar", null, Sample.At, null));
        foreach (var (_, quantity, since, calibration) in farm.Store.Read(CalibrationRows.All))
            CalibrationRows.Save(other, 1, quantity, since, calibration);
        var csv = Csv(farm);
        ImportedAir.Add(other, ReadingCsv.Import(other, new StringReader(csv))).Should().Be(sampled.Count);
        Rows(other).Should().Equal(sampled);
        ImportedAir.Add(other, ReadingCsv.Import(other, new StringReader(csv))).Should().Be(0, "air that is there stays");
    }

    [Fact]
    public async Task Air_that_was_sampled_is_not_made_anew()
    {
        await using var farm = await Farm.WithCellarAsync();
        await farm.GoAsync(30, 5.5);
        var sampled = Air(farm);
        await farm.Store.WriteAsync(c => ImportedAir.Add(c, ReadingCsv.Import(c, new StringReader(
            "sensor,quantity,at,value\n" + string.Concat(
                Enumerable.Range(-12, 18)
                    .Select(i => FormattableString.Invariant($"cellar/shelf,temperature_c,{Sample.At.AddMinutes(5 * i):O},20\n"))))))
            .Should().Be(13, "an hour before the first sample, and its own five minutes"));
        Air(farm).Should().HaveCount(sampled.Count + 13).And.Contain(sampled);
    }

    [Fact]
    public async Task The_command_says_what_has_no_place_yet_and_takes_it_at_the_second_import()
    {
        using var folder = new TempFolder();
        var file = Path.Combine(folder.Path, "readings.csv");
        await File.WriteAllTextAsync(
            file, "sensor,quantity,at,value\ncellar/door,temperature_c,2025-10-04T06:00:00Z,5\ncellar/door,humidity_pct,2025-10-04T06:00:00Z,92\n", TestContext.Current.CancellationToken);
        (await RunAsync(folder, file)).Should().Be("2 readings taken.\n0 five minutes of air of places made from them.\n"
            + "No place yet, and so no air: cellar/door. Give them a place on the Set-up or Sensors page and import the file again.\n");
        await using (var store = folder.Open(new HouseTime(Sample.At)))
        {
            await store.WriteAsync(c =>
            {
                PlaceRows.Save(c, Cellar);
                SensorRows.Save(c, new SensorRow(1, "cellar/door", "cellar", "cellar", null, Sample.At, null));
            });
        }

        (await RunAsync(folder, file)).Should().Be("0 readings taken.\n1 five minutes of air of places made from them.\n");
        await using var after = folder.Open(new HouseTime(Sample.At));
        after.Text("SELECT temperature_c || ' ' || humidity_pct FROM air").Should().Be("5.0 92.0");
    }

    private static Calibration Colder =>
        new(Quantity.Temperature, default, [], SensorCorrection.Fit(
            SensorCorrection.Temperature, [new ReferencePoint(0, SensorCorrection.IceBathPlusOrMinusC, 0.5)]).Correction!);

    private static async Task<string> RunAsync(TempFolder folder, string file)
    {
        using var output = new StringWriter();
        using var error = new StringWriter();
        var code = await RootCellar.Commands.CommandLine.RunAsync(
            ["import", "--what", "readings", file, "--data", folder.Path], output, error, TestContext.Current.CancellationToken);
        (code, error.ToString()).Should().Be((0, ""));
        return output.ToString();
    }

    private static string Csv(Farm farm)
    {
        using var output = new StringWriter();
        farm.Store.Read(c => ReadingCsv.Export(c, output, DateTimeOffset.UnixEpoch, DateTimeOffset.MaxValue));
        return output.ToString();
    }

    private static List<PlaceAir> Air(Farm farm) => farm.Store.Read(Rows);

    private static List<PlaceAir> Rows(SqliteConnection connection) =>
        [.. PlaceRows.Air(connection, "cellar", DateTimeOffset.UnixEpoch, DateTimeOffset.MaxValue)];
}
