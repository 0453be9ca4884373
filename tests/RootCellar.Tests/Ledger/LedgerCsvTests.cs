using CsCheck;
using Microsoft.Data.Sqlite;
using RootCellar.Household;
using RootCellar.Ledger;
using RootCellar.Readings;
using RootCellar.Storage;
using RootCellar.Tests.Storage;

namespace RootCellar.Tests.Ledger;

public sealed class LedgerCsvTests
{
    private static readonly Gen<char> Letter = Gen.OneOf(Gen.Char[' ', '~'], Gen.Int[0, 8].Select(i => "\n\",é=-@粉\t"[i]));

    private static readonly Gen<string?> Words = Letter.Array[0, 12]
        .Select(letters => new string(letters).Trim() is { Length: > 0 } text ? text : null);

    [Fact]
    public void What_was_exported_comes_back_the_same() => Gen.Select(BookProperties.Events, Words, Words, Gen.Int[-14 * 60, 14 * 60])
        .Sample((entries, by, note, offset) =>
    {
        using var first = Empty();
        foreach (var entry in entries)
        {
            var kept = entry with { By = by, Note = entry.Id % 2 == 0 ? note : null, At = entry.At.ToOffset(TimeSpan.FromMinutes(offset)) };
            LedgerRows.Add(first, new LedgerRow(kept, entry.Id % 3 == 0 ? $"k{entry.Id}" : null, entry.Id % 3 == 0 ? 0 : null, "ab"));
        }

        var csv = Export(first);
        using var second = Empty();
        LedgerCsv.Import(second, new StringReader(csv), Sample.At.AddDays(30), RootCellar.Household.HouseholdCalendar.Utc, looked: true)
            .Should().Be(entries.Count);
        Export(second).Should().Be(csv);
        Table(second, "ledger").Should().Equal(Table(first, "ledger"));
        BookProperties.Says(BookProperties.Make(LedgerRows.After(second, 0).Select(r => r.Entry))).Should()
            .Be(BookProperties.Says(BookProperties.Make(LedgerRows.After(first, 0).Select(r => r.Entry))));
        LedgerCsv.Import(second, new StringReader(csv), Sample.At.AddDays(30), RootCellar.Household.HouseholdCalendar.Utc, looked: true)
            .Should().Be(0, "what is there is not taken twice");
    }, iter: 60);

    [Fact]
    public void Readings_come_back_the_same() => Gen.Select(
        Gen.Int[1, 3], Gen.Int[1, 10], Gen.Long[0, 4_000_000_000_000], Gen.OneOf(Gen.Double, Gen.Const(double.NaN)), Gen.Enum<Quality>(),
        Gen.Enum<TimeSource>()).Array[0, 40].Sample(readings =>
    {
        using var first = Empty();
        for (var i = 1; i <= 3; i++) SensorRows.Save(first, new SensorRow(i, $"cellar/s{i}", null, "cellar", null, Sample.At, null));
        using (var writer = new ReadingWriter(first, TimeProvider.System))
        {
            writer.Write([.. readings.Select(
                r => new StoredReading(
                    r.Item1, new Reading("", (Quantity)r.Item2, r.Item4, DateTimeOffset.FromUnixTimeMilliseconds(r.Item3), Sample.At,
                        r.Item6, r.Item5, r.Item5 == Quality.Good ? null : "why, \"so\"")))]);
        }

        var csv = ExportReadings(first);
        using var second = Empty();
        ReadingCsv.Import(second, new StringReader(csv)).Added.Should().Be(Table(first, "reading").Count);
        ExportReadings(second).Should().Be(csv);
        ReadingCsv.Import(second, new StringReader(csv)).Added.Should().Be(0);
    }, iter: 60);

    [Theory]
    [InlineData("", "The file is empty. Its first line would be id,event")]
    [InlineData("id,event\n1,dug\n", "Line 1: the column at is missing")]
    [InlineData(Header + Good + "2,fill,2025-10-04T06:00:00Z,2025-10-04T06:00:00Z,,,,,{},,,\n", "Line 3: event: 'fill' is not one of")]
    [InlineData(Header + Good + "2,moved,yesterday,2025-10-04T06:00:00Z,,,,,{},,,\n", "Line 3: at: 'yesterday' is not a time")]
    [InlineData(Header + Good + "2,moved,2025-10-04T06:00:00Z,2025-10-04T06:00:00Z,,,,,{bin},,,\n", "Line 3: fields: they are not JSON")]
    [InlineData(Header + Good + "2,moved,2025-10-04T06:00:00Z,2025-10-04T06:00:00Z,,,,,\"{\"\"bin\"\":\"\"B1\"\"}\",,,\n",
        "Line 3: fields: place: it is missing")]
    [InlineData(Header + Good + "1,eaten,2025-10-04T06:00:00Z,2025-10-04T06:00:00Z,,,,,\"{\"\"bin\"\":\"\"B1\"\",\"\"weightKg\"\":1}\",,,\n", "Line 3: id 1 is another entry")]
    [InlineData(Header + Good + "2,correction,2025-10-04T06:00:00Z,2025-10-04T06:00:00Z,,,7,,\"{\"\"weightKg\"\":1}\",,,\n",
        "Line 3: of 7: there is no such entry")]
    [InlineData(Header + Good + "x,moved,2025-10-04T06:00:00Z,2025-10-04T06:00:00Z,,,,,{},,,\n", "Line 3: id: 'x' is not a whole number")]
    [InlineData(Header + Good + "2,eaten,2025-10-04T06:00:00Z,2025-10-04T06:00:00Z,,,,,\"{\"\"bin\"\":\"\"B1\"\",\"\"weightKg\"\":1e400}\",,,\n", "Line 3: fields: 1e400 is larger than any number that can be kept")]
    [InlineData(Header + Good + "2,correction,2025-10-04T06:00:00Z,2025-10-04T06:00:00Z,,,1,,\"{\"\"weightKg\"\":1e400}\",,,\n",
        "Line 3: fields: 1e400 is larger than any number that can be kept")]
    [InlineData(Header + Good + "2,moved,2025-10-04T06:00:00Z,2025-10-04T06:00:00Z,,,,,\"{\"\"bin\"\":\"\"B1\"\",\"\"bin\"\":\"\"B2\"\"}\",,,\n", "Line 3: fields: bin is there twice")]
    [InlineData(Header + Good + "2,moved,2025-10-04T06:00:00Z,2025-10-04T06:00:00Z,,,,,\"{\"\"bin\"\":\"\"B1\"\",\"\"note\"\":\"\"x\"\"}\",,,\n", "Line 3: fields: note is no field of an event; it has a column of its own")]
    [InlineData(Header + Good + "2,moved,10/04/2025 06:00,2025-10-04T06:00:00Z,,,,,{},,,\n",
        "Line 3: at: '10/04/2025 06:00' is not a time")]
    [InlineData(Header + Good + "2,moved,2025-10-04T06:00:00Z\n",
        "Line 3: there are 3 cells, and the first line has 12; is the end of the line cut off")]
    [InlineData(Header + Good + "2,moved,2025-10-04T06:00:00Z,2025-10-04T06:00:00Z,,wet, soft,,,{},,,\n", "Line 3: there are 13 cells")]
    [InlineData(Header + Good + "2,moved,2025-10-04T06:00:00Z,2025-10-04T06:00:00Z,,\"wet,,,{},,,\n",
        "Line 3: there are 6 cells, and the first line has 12; is the end of the line cut off, or a quotation mark not closed")]
    public async Task A_bad_ledger_changes_nothing_and_the_line_is_said(string csv, string expected) =>
        await RefusedAsync("ledger", csv, expected);

    /// <summary>What comes after the first entry, and what is said of it.</summary>
    [Theory]
    [InlineData("0,moved,T,T,,,,,{},,,", "Line 3: id: '0' is not the number of an entry")]
    [InlineData(",moved,T,T,,,,,{},,,", "Line 3: id: '' is not the number of an entry")]
    [InlineData("3,eaten,T,T,,,,,F,,,|2,eaten,T,T,,,,,F,,,", "Line 4: id 2 comes after 3; the rows must be in the order of their ids")]
    [InlineData("2,,T,T,,,,,{},,,", "Line 3: event: '' is not one of dug, filled")]
    [InlineData("2,eatn,T,T,,,,,{},,,", "Line 3: event: 'eatn' is not one of dug", "correction. Did you mean eaten?")]
    [InlineData("2,correction,T,T,,,,,{},,,", "Line 3: of: it is missing from a correction")]
    [InlineData("2,eaten,T,T,,,1,,F,,,", "Line 3: of: it is for a correction only")]
    [InlineData("2,eaten,T,T,,,,,[1],,,", "Line 3: fields: they are not a JSON object")]
    [InlineData("2,eaten,T,T,,,,,,,,", "Line 3: fields: they are not JSON")]
    [InlineData("2,eaten,T,T,,,,,F,k1,0,|3,eaten,T,T,,,,,F,k1,0,", "Line 4: key 'k1' belongs to another entry already")]
    [InlineData("2,eaten,2101-01-01T00:00:00Z,T,,,,,F,,,", "Line 3: at: '2101-01-01' is of the year 2101, which cannot be")]
    [InlineData("2,eaten,T,2101-01-01T00:00:00Z,,,,,F,,,", "Line 3: recorded_at: '2101-01-01' is of the year 2101, which cannot be")]
    [InlineData("2,dug,T,T,,,,,\"{\"\"lot\"\":\"\"R2\"\",\"\"crop\"\":\"\"potato\"\",\"\"plantedOn\"\":\"\"1901-05-01\"\"}\",,,",
        "Line 3: fields: plantedOn: '1901-05-01' is of the year 1901, which cannot be")]
    [InlineData("2,eaten,T,2025-10-04T06:11:00Z,,,,,F,,,", "Line 3: recorded_at: 2025-10-04T06:11:00.000+00:00 is still to come. If it is so, say so with --checked")]
    [InlineData("2,eaten,2025-10-04T06:11:00Z,T,,,,,F,,,", "Line 3: at: 2025-10-04T06:11:00.000+00:00 was to come when it was written down. If")]
    [InlineData("2,eaten,2023-10-03T00:00:00Z,T,,,,,F,,,", "Line 3: at: 2023-10-03 is more than 2 years before it was written down. Is the year right? If it is so")]
    [InlineData("2,eaten,T,T,,,,,\"{\"\"bin\"\":\"\"../B\"\",\"\"weightKg\"\":1}\",,,", "Line 3: bin: '../B' cannot be a name: it reads like a path", "--checked")]
    [InlineData("2,eaten,1970-01-01T05:00:00+14:00,T,,,,,F,,,", "Line 3: at: '1969-12-31' is of the year 1969, which cannot be")]
    [InlineData("2,eaten,T,1970-01-01T05:00:00+14:00,,,,,F,,,", "Line 3: recorded_at: '1969-12-31' is of the year 1969, which cannot be")]
    [InlineData("1000000000001,eaten,T,T,,,,,F,,,", "Line 3: id: '1000000000001' is not the number of an entry")]
    [InlineData("2,eaten,T,T,,,,,F,k1,-1,", "Line 3: key_index: '-1' is not which of the entries of one sending it was; right would be 0 or more")]
    [InlineData("2,eaten,T,T,,,,,F,k1,4294967296,", "Line 3: key_index: '4294967296' is not which of the entries")]
    [InlineData("1,dug,2025-10-04T07:00:00+01:00,T,,,,,G,,,", "Line 3: id 1 is another entry in this ledger (dug,")]
    [InlineData("1,dug,T,T,,,,,\"{\"\"lot\"\":\"\"R2\"\",\"\"crop\"\":\"\"potato\"\"}\",,,", "Line 3: id 1 is another entry in this ledger (dug,")]
    [InlineData("2,eaten,1990-10-04T06:00:00Z,T,,,,,\"{\"\"bin\"\":\"\"B1\"\",\"\"weightKg\"\":1,\"\"checked\"\":false}\",,,", "Line 3: at: 1990-10-04 is more than 2 years")]
    [InlineData("2,correction,T,T,,,1,,\"{\"\"into\"\":[{\"\"bin\"\":\"\"B2\"\",\"\"weightKg\"\":1e400}]}\",,,", "Line 3: fields: 1e400 is larger than any number")]
    [InlineData("2,correction,T,T,,,1,,\"{\"\"measure\"\":{\"\"amount\"\":1e400,\"\"unit\"\":\"\"lb\"\"}}\",,,", "Line 3: fields: 1e400 is larger than any number")]
    [InlineData("2,correction,T,T,,,1,,\"{\"\"weightKg\"\":10000000000000000000000000000000000000000000000000000000000000000000000e400}\",,,", "0... is larger than any number that can be kept")]
    [InlineData("1,dug,T,T,Ann,,,,G,,,", "Line 3: id 1 is another entry in this ledger (dug, 2025-10-04T06:00:00.000+00:00). The ledger is never overwritten")]
    public void A_row_that_cannot_be_taken_is_named(string rows, params string[] says)
    {
        const string fields = "\"{\"\"bin\"\":\"\"B1\"\",\"\"weightKg\"\":1}\"", dug = "\"{\"\"lot\"\":\"\"R1\"\",\"\"crop\"\":\"\"potato\"\"}\"";
        var lines = rows.Split('|').Select(r => r.Replace(",T", ",2025-10-04T06:00:00Z", StringComparison.Ordinal)
            .Replace(",F,", $",{fields},", StringComparison.Ordinal).Replace(",G,", $",{dug},", StringComparison.Ordinal));
        using var ledger = Empty();
        using var csv = new StringReader(Header + Good + string.Join('\n', lines) + "\n");
        var refused = FluentActions.Invoking(() => LedgerCsv.Import(ledger, csv, Sample.At,
            RootCellar.Household.HouseholdCalendar.Utc, looked: false)).Should()
            .Throw<CsvProblemException>().Which;
        refused.Message.Should().ContainAll(says);
    }

    [Theory]
    [InlineData("2,eaten,T,2025-10-04T06:10:00Z,,,,,F,,,")]
    [InlineData("2,eaten,2025-10-04T06:10:00Z,T,,,,,F,,,")]
    [InlineData("2,eaten,2023-10-04T06:00:00Z,T,,,,,F,,,")]
    [InlineData("2,eaten,1990-10-04T06:00:00Z,T,,,,why?,F,,,")]
    [InlineData("2,eaten,1990-10-04T06:00:00Z,T,,,,,C,,,")]
    public void What_is_not_to_be_asked_about_or_was_asked_already_is_taken(string row)
    {
        const string fields = "\"{\"\"bin\"\":\"\"B1\"\",\"\"weightKg\"\":1}\"";
        row = row.Replace(",T", ",2025-10-04T06:00:00Z", StringComparison.Ordinal).Replace(",F,", $",{fields},", StringComparison.Ordinal)
            .Replace(",C,", $",{fields.Replace(":1}", ":1,\"\"checked\"\":true}", StringComparison.Ordinal)},", StringComparison.Ordinal);
        using var ledger = Empty();
        using var csv = new StringReader(Header + Good + row + "\n");
        LedgerCsv.Import(ledger, csv, Sample.At, RootCellar.Household.HouseholdCalendar.Utc, looked: false).Should().Be(2);
    }

    [Theory]
    [InlineData(20_000, null)]
    [InlineData(20_001, "Line 3: question: it has 20001 letters; at most 20000 can be.")]
    public void A_question_and_fields_are_as_long_as_the_book_writes_them(int letters, string? says)
    {
        var into = string.Join(',', Enumerable.Range(0, 100).Select(i => $"{{\"\"bin\"\":\"\"S{i}\"\",\"\"weightKg\"\":0.1}}"));
        using var ledger = Empty();
        var took = () => Take(ledger, $"2,sorted,T,T,,,,{new string('w', letters)},\"{{\"\"bin\"\":\"\"B1\"\",\"\"into\"\":[{into}]}}\",,,\n");
        if (says is null) took().Should().Be(2);
        else took.Should().Throw<CsvProblemException>().WithMessage(says);
    }

    [Fact]
    public void What_a_start_would_set_aside_is_refused_on_the_way_in()
    {
        using var ledger = Empty();
        var chain = string.Concat(Enumerable.Range(2, 201).Select(id => $"{id},correction,T,T,,,{id - 1},,\"{{\"\"rightNote\"\":\"\"n\"\"}}\",,,\n"));
        FluentActions.Invoking(() => Take(ledger, chain)).Should().Throw<CsvProblemException>()
            .WithMessage("id 202: it is a correction of a correction, 201 deep.");
    }

    [Fact]
    public void A_moment_is_kept_to_the_millisecond_and_the_same_file_is_the_same_again()
    {
        using var ledger = Empty();
        const string row = "2,eaten,2025-10-04T06:00:00.0012345Z,2025-10-04T06:00:00.0067891Z,,,,,\"{\"\"bin\"\":\"\"B1\"\",\"\"weightKg\"\":1}\",,,\n";
        (Take(ledger, row), Take(ledger, row)).Should().Be((2, 0));
        using var until = new StringWriter();
        LedgerCsv.Export(ledger, until, DateTimeOffset.UnixEpoch, Sample.At).Should().Be(0, "an end is not of what it ends");
        LedgerCsv.Export(ledger, until, Sample.At, Sample.At.AddMilliseconds(1)).Should().Be(1);
    }

    [Fact]
    public void A_disk_that_is_full_is_not_taken_for_a_key_that_is_taken()
    {
        using var ledger = Empty();
        ledger.Execute($"PRAGMA max_page_count={ledger.Scalar("PRAGMA page_count")}");
        var rows = string.Concat(Enumerable.Range(2, 400).Select(id => $"{id},eaten,T,T,,{new string('n', 2_000)},,,\"{{\"\"bin\"\":\"\"B1\"\",\"\"weightKg\"\":1}}\",,,\n"));
        FluentActions.Invoking(() => Take(ledger, rows)).Should().Throw<SqliteException>().Which.SqliteErrorCode.Should().Be(13);
    }

    private static int Take(SqliteConnection ledger, string rows)
    {
        using var csv = new StringReader(Header + Good + rows.Replace(",T", ",2025-10-04T06:00:00Z", StringComparison.Ordinal));
        return LedgerCsv.Import(ledger, csv, Sample.At, HouseholdCalendar.Utc, looked: false);
    }

    [Fact]
    public void Two_readings_of_one_moment_are_told_apart_by_their_rows_where_the_file_has_no_numbers()
    {
        using var record = Empty();
        const string csv = "sensor,quantity,at,value\ncellar/a,temperature_c,2025-10-04T06:00:00Z,5\ncellar/a,temperature_c,2025-10-04T06:00:00Z,6\n";
        ReadingCsv.Import(record, new StringReader(csv), Sample.At).Added.Should().Be(2, "and now is not in the future");
        ReadingCsv.Import(record, new StringReader(csv), Sample.At).Added.Should().Be(0);
    }

    [Theory]
    [InlineData("sensor,quantity,at,value\ncellar/a,temperature_c,2025-10-04T06:00:00Z,5\ncellar/a,temperature,2025-10-04T06:00:00Z,5\n",
        "Line 3: quantity: 'temperature' is not one of temperature_c")]
    [InlineData("sensor,quantity,at,value\ncellar/a,temperature_c,2025-10-04T06:00:00Z,warm\n", "Line 2: value: 'warm' is not a number")]
    [InlineData("sensor,quantity,at,value\n,temperature_c,2025-10-04T06:00:00Z,5\n", "Line 2: sensor: it is missing")]
    [InlineData("sensor,value\n", "Line 1: the column quantity is missing")]
    [InlineData("sensor,quantity,at,value\ncellar/a,temperature_c,2025-10-04T06:00:00Z,1e400\n",
        "Line 2: value: '1e400' is larger than any number that can be kept")]
    [InlineData("sensor,quantity,at,value\ncellar/a,temperature_c,2925-10-04T06:00:00Z,5\n",
        "Line 2: at: 2925-10-04T06:00:00.000+00:00 is in the future")]
    [InlineData("sensor,quantity,at,value\ncellar/a,temperature_c,1925-10-04T06:00:00Z,5\n",
        "Line 2: at: '1925-10-04T06:00:00Z' is not a time")]
    [InlineData("sensor;quantity;at;value\ncellar/a;temperature_c;2025-10-04T06:00:00Z;5\n",
        "Line 1: the column sensor is missing. Its columns are kept apart by semicolons; right would be commas.")]
    public async Task Bad_readings_change_nothing_and_the_line_is_said(string csv, string expected) =>
        await RefusedAsync("readings", csv, expected);

    [Theory]
    [InlineData("readings",
        "sensor,quantity,at,value,reason\ncellar/a,temperature_c,2025-10-04T06:00:00Z,5,\ncellar/a,temperature_c,2025-10-04T06:01:00Z,5,caf\u00E9\n", "Line 3: it is not UTF-8")]
    [InlineData("ledger",
        Header + Good + "2,eaten,2025-10-04T06:00:00Z,2025-10-04T06:00:00Z,,caf\u00E9,,,\"{\"\"bin\"\":\"\"B1\"\",\"\"weightKg\"\":1}\",,,\n", "Line 3: it is not UTF-8")]
    public async Task A_file_in_another_encoding_is_refused_on_its_line(string what, string csv, string expected)
    {
        await RefusedAsync(what, System.Text.Encoding.Latin1.GetBytes(csv), expected);
        await RefusedAsync(what, [.. System.Text.Encoding.Unicode.Preamble, .. System.Text.Encoding.Unicode.GetBytes(csv)],
            "Line 1: it is not UTF-8");
    }

    [Theory]
    [InlineData(3_000, "Line 3: note: it has 3000 letters; at most 2000 can be")]
    [InlineData(20_000_000, "Line 3: a cell has more than 1000000 letters")]
    public async Task A_note_that_fills_the_disk_is_refused_on_its_line(int letters, string expected) => await RefusedAsync(
        "ledger", Header + Good + "2,eaten,2025-10-04T06:00:00Z,2025-10-04T06:00:00Z,," + new string(
            'x', letters) + ",,,\"{\"\"bin\"\":\"\"B1\"\",\"\"weightKg\"\":1}\",,,\n", expected);

    [Fact]
    public async Task A_file_that_an_editor_gave_other_line_ends_and_a_byte_order_mark_is_the_same_file()
    {
        await using var books = await Bookkeeping.WithTwoBinsAsync();
        await books.KeepAsync("""{"event":"eaten","bin":"B1","weightKg":1,"note":"wet\nand soft"}""");
        var (_, csv, _) = await RunAsync("export", "--what", "ledger", "--for", "import", "--data", books.Folder.Path);
        using var other = new TempFolder();
        var file = Path.Combine(other.Path, "ledger.csv");
        await File.WriteAllTextAsync(file, csv.Replace("\n", "\r\n", StringComparison.Ordinal),
            new System.Text.UTF8Encoding(encoderShouldEmitUTF8Identifier: true), TestContext.Current.CancellationToken);
        (await RunAsync("import", "--what", "ledger", file, "--data", other.Path)).Should().Be((0, "4 entries taken.\n", ""));
        (await RunAsync("export", "--what", "ledger", "--for", "import", "--data", other.Path)).Output.Should().Be(csv);

        await File.WriteAllTextAsync(file, "sensor,quantity,at,value\r\ncellar/a,temperature_c,2025-10-04T06:00:00Z,5.5\r\n",
            TestContext.Current.CancellationToken);
        (await RunAsync("import", "--what", "readings", file, "--data", other.Path)).Output.Should().StartWith("1 reading taken.");
    }

    [Fact]
    public async Task The_commands_carry_a_ledger_from_one_folder_into_another_while_the_service_writes()
    {
        await using var books = await Bookkeeping.WithTwoBinsAsync();
        var (code, csv, error) = await RunAsync("export", "--what", "ledger", "--for", "import", "--data", books.Folder.Path);
        (code, error).Should().Be((0, ""));
        csv.Split('\n').Should().HaveCount(5).And.Subject.First().Should().Be(Header.TrimEnd());
        (await RunAsync("export", "--what", "ledger", "--for", "import", "--from", "2025-10-01T09:30:00Z", "--data",
            books.Folder.Path)).Output.Split('\n').Should().HaveCount(3);

        using var other = new TempFolder();
        var file = Path.Combine(other.Path, "ledger.csv");
        await File.WriteAllTextAsync(file, csv, TestContext.Current.CancellationToken);
        (await RunAsync("import", "--what", "ledger", file, "--data", other.Path)).Should().Be((0, "3 entries taken.\n", ""));
        (await RunAsync("import", "--what", "ledger", file, "--data", other.Path)).Should().Be((0, "0 entries taken.\n", ""));
        (await RunAsync("export", "--what", "ledger", "--for", "import", "--data", other.Path)).Output.Should().Be(csv);

        // Into the service's own, and it goes on from there.
        await books.KeepAsync("""{"event":"eaten","bin":"B1","weightKg":1}""");
        await using var store = other.Open(new HouseTime(Sample.At));
        using var door = new LedgerDoor(store, new HouseTime(Sample.At), new HouseholdOptions(), new LimitOptions(),
            Microsoft.Extensions.Logging.Abstractions.NullLogger<LedgerDoor>.Instance);
        door.Load();
        door.Book.Bins["B1"].Grams.Should().Be(20_000);
        await File.WriteAllTextAsync(
            file, (await RunAsync("export", "--what", "ledger", "--for", "import", "--data", books.Folder.Path)).Output,
            TestContext.Current.CancellationToken);
        (await RunAsync("import", "--what", "ledger", file, "--data", other.Path)).Output.Should().Be("1 entry taken.\n");
        var answer = await door.TakeAsync(Bookkeeping.Read("""{"event":"eaten","bin":"B1","weightKg":2}""", Sample.At), null, "test");
        answer.Should().BeOfType<LedgerAnswer.Kept>().Which.Entries[0].Id.Should().Be(5);
        door.Book.Bins["B1"].Grams.Should().Be(17_000);
    }

    [Theory]
    [InlineData("export --what books", "--what: 'books' is not one of readings, air, summaries, alarms, ledger, estimates.")]
    [InlineData("export --what ledger --from soon", "--from: 'soon' is not a time")]
    [InlineData("export --what ledger --data /nowhere/at/all", "there is no record in /nowhere/at/all")]
    [InlineData("import --what ledger no-such-file.csv", "there is no file no-such-file.csv")]
    [InlineData("import --what ledger", "Required argument 'FILE' missing")]
    public async Task Wrong_usage_is_one_line(string line, string expected)
    {
        var (code, output, error) = await RunAsync(line.Split(' '));
        (code, output).Should().Be((2, ""));
        error.Should().Contain(expected);
        error.TrimEnd('\n').Should().NotContain("\n");
    }

    private const string Header = "id,event,at,recorded_at,by,note,of,question,fields,key,key_index,print\n";
    private const string Good =
        "1,dug,2025-10-04T06:00:00Z,2025-10-04T06:00:00Z,,,,,\"{\"\"lot\"\":\"\"R1\"\",\"\"crop\"\":\"\"potato\"\"}\",,,\n";

    private static Task RefusedAsync(string what, string csv, string expected) =>
        RefusedAsync(what, System.Text.Encoding.UTF8.GetBytes(csv), expected);

    private static async Task RefusedAsync(string what, byte[] csv, string expected)
    {
        using var folder = new TempFolder();
        var file = Path.Combine(folder.Path, "bad.csv");
        await File.WriteAllBytesAsync(file, csv, TestContext.Current.CancellationToken);
        var (code, output, error) = await RunAsync("import", "--what", what, file, "--data", folder.Path);
        (code, output).Should().Be((2, ""));
        error.Should().Contain(expected).And.Contain("Nothing was taken.");
        await using var store = folder.Open(new HouseTime(Sample.At));
        store.Text("SELECT (SELECT count(*) FROM ledger) + (SELECT count(*) FROM reading) + (SELECT count(*) FROM sensor)").Should()
            .Be("0");
    }

    private static async Task<(int Code, string Output, string Error)> RunAsync(params string[] args)
    {
        using var output = new StringWriter();
        using var error = new StringWriter();
        var code = await RootCellar.Commands.CommandLine.RunAsync(args, output, error, TestContext.Current.CancellationToken);
        return (code, output.ToString(), error.ToString());
    }

    internal static SqliteConnection Empty() => StoreFile.OpenForWriting("Data Source=:memory:", "memory");

    internal static string Export(SqliteConnection connection)
    {
        using var output = new StringWriter();
        LedgerCsv.Export(connection, output, DateTimeOffset.UnixEpoch, DateTimeOffset.MaxValue);
        return output.ToString();
    }

    private static string ExportReadings(SqliteConnection connection)
    {
        using var output = new StringWriter();
        ReadingCsv.Export(connection, output, DateTimeOffset.UnixEpoch, DateTimeOffset.MaxValue);
        return output.ToString();
    }

    private static List<string> Table(SqliteConnection connection, string table) => connection.Query($"SELECT * FROM {table}", row =>
    {
        var values = new object[row.FieldCount];
        row.GetValues(values);
        return string.Join('|', values);
    });
}
