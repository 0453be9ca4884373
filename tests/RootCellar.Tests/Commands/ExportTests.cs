using System.Globalization;
using CsvHelper;
using RootCellar.Commands;
using RootCellar.Entry;
using RootCellar.Places;
using RootCellar.Readings;
using RootCellar.Storage;
using RootCellar.Tests.Ledger;
using RootCellar.Tests.Storage;

namespace RootCellar.Tests.Commands;

/// <summary>What is taken out of a record by command, beside readings and ledger; and days as lists say them.</summary>
public sealed class ExportTests
{
    [Fact]
    public async Task Air_is_every_sample_of_every_place_in_si_for_any_time()
    {
        await using var books = new Bookkeeping();
        foreach (var place in new[] { "=root", "curing" })
        {
            for (var step = 0; step < 3; step++)
            {
                var air = new PlaceAir(place, Sample.At.AddMinutes(5 * step), 4.125 + step, 91.5, 2.75, 77, step == 1 ? null : 4.5, 4.25,
                    0.5, 612, AirQuality.Thin);
                await books.Store.WriteAsync(c => PlaceRows.SaveAir(c, air));
            }
        }

        var all = await RowsAsync(books, "--what", "air", "--for", "import");
        all.Should().HaveCount(6);
        all.Select(r => r["place"]).Should().Equal("=root", "=root", "=root", "curing", "curing", "curing");
        var second = all[1];
        DateTimeOffset.Parse(second["at"], CultureInfo.InvariantCulture).Should().Be(Sample.At.AddMinutes(5));
        second.Where(f => f.Key != "at").Should().BeEquivalentTo(new Dictionary<string, string>
        {
            ["place"] = "=root",
            ["temperature_c"] = "5.125",
            ["humidity_pct"] = "91.5",
            ["dew_point_c"] = "2.75",
            ["vapour_pressure_deficit_pa"] = "77",
            ["pulp_c"] = "",
            ["coldest_pulp_c"] = "4.25",
            ["light_lx"] = "0.5",
            ["co2_ppm"] = "612",
            ["quality"] = "Thin",
        });

        var part = await RowsAsync(books, "--what", "air", "--from", Sample.At.AddMinutes(5).ToString("O"), "--to",
            Sample.At.AddMinutes(10).ToString("O"));
        part.Select(r => r["place"]).Should().Equal("'=root", "curing");
        (await RowsAsync(books, "--what", "air", "--from", "2030-01-01")).Should().BeEmpty();
    }

    [Fact]
    public async Task Summaries_are_what_housekeeping_left_of_old_readings_and_with_the_readings_they_are_all_of_it()
    {
        await using var books = new Bookkeeping();
        await books.Store.WriteAsync(
            c => SensorRows.Save(c, new SensorRow(1, "cellar/door", "cellar", "cellar", null, Sample.At, null), Sample.At));
        await books.Store.AppendAsync(
            [.. new[] { (0, 4.0), (1, 5.5), (2, 9.25), (6, 6.0), (60, 7.0) }.Select(
                r => Sample.Reading(r.Item2, Sample.At.AddMinutes(r.Item1)))], urgent: true);
        while (await books.Store.WriteAsync(c => Housekeeping.SummariseSome(c, Sample.At.AddMinutes(30), 5)) > 0)
        {
        }

        var summaries = await RowsAsync(books, "--what", "summaries");
        summaries.Select(r => string.Join(' ', r.Where(f => f.Key is not ("at" or "sensor_name" or "spreadsheet")).Select(f => f.Value)))
            .Should().Equal("cellar/door temperature_c 4 6.25 9.25 3", "cellar/door temperature_c 6 6 6 1");
        DateTimeOffset.Parse(summaries[1]["at"], CultureInfo.InvariantCulture).Should().Be(Sample.At.AddMinutes(5));
        var readings = await RowsAsync(books, "--what", "readings");
        (readings.Count + summaries.Sum(r => int.Parse(r["readings"], CultureInfo.InvariantCulture))).Should().Be(5);
        (await RowsAsync(books, "--what", "summaries", "--to", Sample.At.AddMinutes(5).ToString("O"))).Should().ContainSingle();
    }

    [Fact]
    public async Task A_lot_that_cannot_be_worked_out_is_named_and_the_others_are_in_the_file()
    {
        await using var books = await Bookkeeping.WithTwoBinsAsync();
        await books.KeepAsync(
            """
            [{"event":"dug","at":"2025-10-01T08:00:00Z","lot":"BAD","crop":"potato","weightKg":100},
             {"event":"filled","at":"2025-10-01T09:00:00Z","bin":"X1","lot":"BAD","weightKg":20,"place":"cellar"}]
            """);
        for (var at = new DateTimeOffset(2025, 10, 1, 0, 0, 0, TimeSpan.Zero); at < Sample.At; at = at.AddMinutes(5))
        {
            foreach (var place in new[] { "curing", "cellar" })
                await books.Store.WriteAsync(
                    c => PlaceRows.SaveAir(c, new PlaceAir(place, at, 15, 90, 13, 170, null, null, null, null, AirQuality.Good)));
        }

        var whole = await RunAsync("export", "--what", "estimates", "--data", books.Folder.Path);
        whole.Exit.Should().Be(0, whole.Error);
        whole.Output.Should().Contain("X1").And.Contain("B1");

        // The air of one place cannot be read: a sum that is larger than SQLite counts.
        await books.Store.WriteAsync(c => c.Execute(
            """
            ALTER TABLE air RENAME TO air_kept;
            CREATE VIEW air AS SELECT place, at_ms, CASE WHEN place = 'cellar' THEN abs(-9223372036854775808) ELSE temperature_c END AS temperature_c,
                humidity_pct, dew_point_c, deficit_pa, pulp_c, coldest_pulp_c, light_lx, co2_ppm, quality FROM air_kept;
            """));
        var (exit, output, error) = await RunAsync("export", "--what", "estimates", "--data", books.Folder.Path);
        exit.Should().Be(1);
        output.Should().NotContain("X1").And.Contain("B1").And.Contain("B2");
        error.Trim().Should().StartWith("Lot BAD cannot be worked out and is not in the file").And.NotContain("\n").And.NotContain("R1");
    }

    [Fact]
    public async Task What_is_no_kind_of_export_is_told_all_kinds()
    {
        using var folder = new TempFolder();
        var (exit, _, error) = await RunAsync("export", "--what", "everything", "--data", folder.Path);
        exit.Should().Be(2);
        error.Should().Contain("readings, air, summaries, alarms, ledger, estimates");
    }

    [Theory]
    [InlineData("America/New_York", "2025-10-03", "2025-10-04")]
    [InlineData("Pacific/Auckland", "2025-10-04", "2025-10-05")]
    public async Task Lists_of_tokens_and_helpers_say_the_households_days(string zone, string made, string seen)
    {
        using var folder = new TempFolder();
        await File.WriteAllTextAsync(Path.Combine(folder.Path, "rootcellar.json"), $$$"""{"Household":{"TimeZone":"{{{zone}}}"}}""",
            TestContext.Current.CancellationToken);
        var at = new DateTimeOffset(2025, 10, 4, 2, 30, 0, TimeSpan.Zero);
        await using (var store = folder.Open(TimeProvider.System))
        {
            await store.WriteAsync(c => Tokens.Add(c, "kitchen", at, Tokens.MayAll));
            await store.WriteAsync(c => Helpers.Add(c, "Sam", "482915", at));
            await store.WriteAsync(
                c => c.Execute("UPDATE helper SET last_seen_ms = $at", ("$at", at.AddHours(14).ToUnixTimeMilliseconds())));
        }

        (await RunAsync("token", "list", "--data", folder.Path)).Output.Should().Contain($"kitchen\tsince {made}");
        (await RunAsync("helper", "list", "--data", folder.Path)).Output.Should().Contain($"Sam\tsince {made}\tlast signed in {seen}");
    }

    private static async Task<List<Dictionary<string, string>>> RowsAsync(Bookkeeping books, params string[] what)
    {
        var (exit, output, error) = await RunAsync(["export", .. what, "--data", books.Folder.Path]);
        exit.Should().Be(0, error);
        using var csv = new CsvReader(new StringReader(output), CultureInfo.InvariantCulture);
        csv.Read();
        csv.ReadHeader();
        var rows = new List<Dictionary<string, string>>();
        while (csv.Read()) rows.Add(csv.HeaderRecord!.ToDictionary(h => h, h => csv.GetField(h)!, StringComparer.Ordinal));
        return rows;
    }

    private static async Task<(int Exit, string Output, string Error)> RunAsync(params string[] args)
    {
        using var output = new StringWriter { NewLine = "\n" };
        using var error = new StringWriter { NewLine = "\n" };
        var exit = await CommandLine.RunAsync(args, output, error, TestContext.Current.CancellationToken);
        return (exit, output.ToString(), error.ToString());
    }
}
