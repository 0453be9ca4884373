using System.Net;
using Microsoft.Data.Sqlite;
using Microsoft.Extensions.DependencyInjection;
using RootCellar.Household;
using RootCellar.Ledger;
using RootCellar.Storage;
using RootCellar.Tests.Entry;
using RootCellar.Tests.Households;
using RootCellar.Tests.Pages;
using RootCellar.Tests.Storage;

namespace RootCellar.Tests.Ledger;

/// <summary>Rows of the ledger that were damaged before a start: set aside, shown and said; everything else goes on.</summary>
public sealed class DamagedLedgerTests
{
    // The table without its guards, as a repaired or rewritten one may be. The bin of entry 2 is filled, the rest of the book stands.
    private const string Loose =
        """
        DROP TRIGGER ledger_stands; DROP TRIGGER ledger_stays; DROP TRIGGER ledger_once; DROP INDEX ledger_by_key;
        ALTER TABLE ledger RENAME TO strict_ledger;
        CREATE TABLE ledger (id, event, at_ms, at_offset, recorded_ms, by_whom, note, body, question, of_id, idem_key, idem_index, print);
        INSERT INTO ledger SELECT * FROM strict_ledger; DROP TABLE strict_ledger;
        """;

    [Theory]
    [InlineData("UPDATE ledger SET body = '{\"bin\":<script>alert(1)</script>' WHERE id = 4", "no. 4", "body: it is not JSON",
        "<script>alert(1)</script>")]
    [InlineData("UPDATE ledger SET body = '[1]' WHERE id = 4", "no. 4", "body: it is not a JSON object", "body=[1]")]
    [InlineData("UPDATE ledger SET body = NULL WHERE id = 4", "no. 4", "body: it is missing", "event=eaten")]
    [InlineData("UPDATE ledger SET event = NULL WHERE id = 4", "no. 4", "event: it is missing", "weightKg")]
    [InlineData("UPDATE ledger SET event = 'juggled' WHERE id = 4", "no. 4", "event: 'juggled' is none this version knows",
        "event=juggled")]
    [InlineData("UPDATE ledger SET at_ms = 'noon' WHERE id = 4", "no. 4", "at_ms: 'noon' is not a number", "at_ms=noon")]
    [InlineData("UPDATE ledger SET at_ms = 9223372036854775807 WHERE id = 4", "no. 4", "at_ms: '9223372036854775807' is not a number from",
        "weightKg")]
    [InlineData("UPDATE ledger SET at_offset = 99999 WHERE id = 4", "no. 4", "at_offset: '99999' is not a number from", "weightKg")]
    [InlineData("UPDATE ledger SET recorded_ms = NULL WHERE id = 4", "no. 4", "recorded_ms: it is missing", "weightKg")]
    [InlineData("UPDATE ledger SET body = X'FF00FE' WHERE id = 4", "no. 4", "body: '0xFF00FE' is not a text", "body=0xFF00FE")]
    [InlineData("UPDATE ledger SET id = NULL WHERE id = 4", "no. ?", "id: it is missing", "weightKg")]
    [InlineData("UPDATE ledger SET id = 'four' WHERE id = 4", "no. ?", "id: 'four' is not a number", "weightKg")]
    [InlineData("UPDATE ledger SET id = 3 WHERE id = 4", "no. 3", "there is an entry 3 already", "weightKg")]
    [InlineData("UPDATE ledger SET of_id = 1 WHERE id = 4", "no. 4", "of_id: a eaten corrects nothing", "weightKg")]
    [InlineData("UPDATE ledger SET event = 'correction' WHERE id = 4", "no. 4", "of_id: a correction without what it corrects", "weightKg")]
    [InlineData("UPDATE ledger SET event = 'correction', of_id = 4 WHERE id = 4", "no. 4", "of_id: it corrects entry 4, which came later",
        "weightKg")]
    [InlineData("UPDATE ledger SET event = 'correction', of_id = 9 WHERE id = 4", "no. 4", "of_id: it corrects entry 9, which came later",
        "weightKg")]
    [InlineData("UPDATE ledger SET body = '{\"bin\":\"\\ud800\",\"weightKg\":1}' WHERE id = 4", "no. 4",
        "body: there is half a character in it", "weightKg")]
    public async Task One_damaged_row_is_set_aside_and_all_else_goes_on(string damage, string number, string why, string raw)
    {
        using var folder = new TempFolder();
        await SeasonAsync(folder);
        Damage(folder, damage);
        await using var site = await Site.OpenAsync(record: folder);
        site.Book.Bins["B1"].Grams.Should().Be(20_000, "the entry that cannot be read counts for nothing");
        site.Book.Bins["B2"].Grams.Should().Be(29_000);

        var now = await site.ReadAsync("/");
        var check = await site.ReadAsync("/log/to-check");
        Site.Words(now).Should().Contain("One entry of the book can't be read and doesn't count");
        Site.Words(check).Should().Contain("Entries that can't be read").And.Contain($"{number}: {why}").And.Contain(raw);
        check.Should().NotContain("<script>alert");
        Site.Words(await site.ReadAsync("/log")).Should().Contain("to check");
        (await site.ReadAsync("/health/ready")).Should().Contain("\"status\":\"degraded\"").And.Contain("\"ledger\":\"degraded\"");
        (await site.ReadAsync("/metrics")).Should().Contain("rootcellar_ledger_damaged_rows");
        await EveryPageAsync(site);

        // And it is written on, under a number nobody has.
        await site.LogAsync("eaten", "B1", ("amount", "1"), ("unit", "kg"));
        site.Book.Bins["B1"].Grams.Should().Be(19_000);
        using var program = await Visitor.TokenAsync(site, "write");
        (await program.JsonAsync("POST", "/api/ledger", """{"event":"eaten","bin":"B2","weightKg":1}""",
            headers: ("Idempotency-Key", "k1"))).Status.Should().Be(HttpStatusCode.Created);
        (await program.JsonAsync("POST", "/api/ledger", """{"event":"eaten","bin":"B2","weightKg":1}""",
            headers: ("Idempotency-Key", "k1"))).Status.Should().Be(HttpStatusCode.OK);
        site.Book.Entries.Select(e => e.Entry.Id).Should().OnlyHaveUniqueItems();
    }

    [Theory]
    [InlineData("body = '{\"bin\":'", "body: it is not JSON")]
    [InlineData("body = '[1]'", "body: it is not a JSON object")]
    [InlineData("body = NULL", "body: it is missing")]
    [InlineData("body = X'FF00FE'", "body: '0xFF00FE' is not a text")]
    [InlineData("body = '{\"bin\":[{\"x\":\"\\ud800\"}]}'", "body: there is half a character in it")]
    [InlineData("body = '{\"\\ud800\":1}'", "body: there is half a character in it")]
    [InlineData("body = '{\"bin\":\"\\u00e9\",\"weightKg\":1}'", null)]
    [InlineData("event = NULL", "event: it is missing")]
    [InlineData("event = 7", "event: '7' is not a text")]
    [InlineData("event = 'juggled'", "event: 'juggled' is none this version knows")]
    [InlineData("at_ms = -1", "at_ms: '-1' is not a number from 0 to 32503680000000")]
    [InlineData("at_ms = 0", null)]
    [InlineData("at_ms = 32503680000000", null)]
    [InlineData("at_ms = 32503680000001", "at_ms: '32503680000001' is not a number from 0 to 32503680000000")]
    [InlineData("at_offset = 840", null)]
    [InlineData("at_offset = -840", null)]
    [InlineData("at_offset = 841", "at_offset: '841' is not a number from -840 to 840")]
    [InlineData("at_offset = NULL", "at_offset: it is missing")]
    [InlineData("recorded_ms = 1.5", "recorded_ms: '1.5' is not a number from 0 to 32503680000000")]
    [InlineData("recorded_ms = 'now'", "recorded_ms: 'now' is not a number from 0 to 32503680000000")]
    [InlineData("by_whom = X'00'", "by_whom: '0x00' is not a text")]
    [InlineData("note = 5", "note: '5' is not a text")]
    [InlineData("question = 5", "question: '5' is not a text")]
    [InlineData("question = 'why?'", null)]
    [InlineData("idem_key = 5", "idem_key: '5' is not a text")]
    [InlineData("idem_index = -1", "idem_index: '-1' is not a number from 0 to 2147483647")]
    [InlineData("print = 5", "print: '5' is not a text")]
    [InlineData("of_id = 1", "of_id: a eaten corrects nothing")]
    [InlineData("event = 'correction'", "of_id: a correction without what it corrects")]
    [InlineData("event = 'correction', of_id = 0", "of_id: '0' is not a number from 1 to 1000000000000000")]
    [InlineData("event = 'correction', of_id = 4", "of_id: it corrects entry 4, which came later")]
    [InlineData("event = 'correction', of_id = 3", null)]
    [InlineData("id = 1000000000000000", null)]
    [InlineData("id = 1000000000000001", "id: '1000000000000001' is not a number from 1 to 1000000000000000")]
    [InlineData("id = NULL", "id: it is missing")]
    public async Task What_a_row_may_hold_and_what_is_wrong_with_another(string damage, string? why)
    {
        using var folder = new TempFolder();
        await SeasonAsync(folder);
        Damage(folder, $"UPDATE ledger SET {damage} WHERE id = 4");
        await using var store = folder.Open(new HouseTime(Sample.At));
        using var door = Door(store);
        door.Load();
        door.Damaged.Select(d => d.Why).Should().Equal(why is null ? [] : [why]);
        door.Book.Entries.Should().HaveCount(why is null ? 5 : 4);
        (await new LedgerCheck(door).CheckHealthAsync(new(), TestContext.Current.CancellationToken)).Description.Should()
            .Be(why is null ? null : "1 rows of the ledger cannot be read.");
        TestMeters.Heard(meters => _ = new LedgerMetrics(meters, door)).Should().Equal($"rootcellar.ledger.entries {(why is null ? 5 : 4)}",
            $"rootcellar.ledger.room.entries {door.Room}",
                $"rootcellar.ledger.damaged.rows {(why is null ? 0 : 1)}", "rootcellar.ledger.ok 1");
        if (why is null) return;
        var row = door.Damaged[0];
        row.Number.Should().Be(damage.StartsWith("id = ", StringComparison.Ordinal) ? damage == "id = NULL" ? "?" : damage[5..] : "4");
        row.Raw.Should().MatchRegex("^(id=\\d+ )?event=|^id=4 at_ms=").And.Contain(" by_whom=").And.NotContain(" note= ").And
            .NotContain("idem_key= ");
    }

    [Theory]
    [InlineData("id = 1000000000000001", 6)]
    [InlineData("id = 9223372036854775807", 6)]
    [InlineData("id = -7", 6)]
    [InlineData("id = 77, body = 'gone'", 78)]
    public async Task What_is_written_after_a_damaged_number_is_there_after_the_next_start(string damage, long next)
    {
        using var folder = new TempFolder();
        await SeasonAsync(folder);
        Damage(folder, $"UPDATE ledger SET {damage} WHERE id = 4");
        await using var store = folder.Open(new HouseTime(Sample.At));
        using (var door = Door(store))
        {
            door.Load();
            var sent = Bookkeeping.Read("""{"event":"eaten","bin":"B2","weightKg":1}""", Sample.At);
            (await door.TakeAsync(sent, null, "test")).Should().BeOfType<LedgerAnswer.Kept>().Which.Entries.Single().Id.Should().Be(next);
        }

        using var again = Door(store);
        again.Load();
        (again.Damaged.Count, again.Book.Entries[^1].Entry.Id, again.Book.Bins["B2"].Grams).Should().Be((1, next, 28_000));
    }

    [Fact]
    public async Task What_lies_in_a_damaged_row_is_shown_as_far_as_a_page_takes_it()
    {
        using var folder = new TempFolder();
        await SeasonAsync(folder);
        Damage(folder, $"UPDATE ledger SET body = '{new string('x', 3_000)}' WHERE id = 4; UPDATE ledger SET by_whom = zeroblob(65) WHERE id = 5");
        await using var store = folder.Open(new HouseTime(Sample.At));
        using var door = Door(store);
        door.Load();
        door.Damaged.Select(d => d.Raw.Length).Should().Equal(RowText.LongestRaw + 1, door.Damaged[1].Raw.Length);
        door.Damaged[0].Raw
            .Should().StartWith("id=4 event=eaten at_ms=1759399200000 at_offset=0 recorded_ms=1759557600000 by_whom=test body=xxx")
            .And.EndWith("x\u2026");
        door.Damaged[1].Why.Should().Be($"by_whom: '0x{new string('0', 128)}' is not a text");
    }

    [Fact]
    public async Task What_hangs_on_a_damaged_row_is_set_aside_with_it_or_asked_about()
    {
        using var folder = new TempFolder();
        await SeasonAsync(folder, """{"event":"correction","of":4,"weightKg":2}""", """{"event":"correction","of":6,"void":true}""");
        Damage(folder, "UPDATE ledger SET body = 'gone' WHERE id = 4; UPDATE ledger SET event = 'dig' WHERE id = 1");
        await using var site = await Site.OpenAsync(record: folder);
        var words = Site.Words(await site.ReadAsync("/log/to-check"));
        words.Should().ContainAll("no. 1: event: 'dig'", "no. 4: body: it is not JSON", "no. 6: it corrects entry 4, which is not there",
            "no. 7: it corrects entry 6", "There is no lot R1");
        Site.Words(await site.ReadAsync("/")).Should().Contain("4 entries of the book can't be read");
        await EveryPageAsync(site);
        // The digging is written down again, and the rest counts again.
        await site.WriteAsync("""[{"event":"dug","lot":"R1","crop":"potato","at":"2025-10-01T08:00:00Z"}]""");
        site.Book.Bins["B2"].Grams.Should().Be(29_000);
    }

    [Fact]
    public async Task A_table_that_is_gone_is_said_and_nothing_is_written_into_the_dark()
    {
        using var folder = new TempFolder();
        await SeasonAsync(folder);
        Damage(folder, "DROP TABLE ledger");
        await using var site = await Site.OpenAsync(record: folder);
        Site.Words(await site.ReadAsync("/")).Should().Contain("The book can't be opened").And.Contain("Readings and alarms go on");
        (await site.ReadAsync("/health/ready")).Should().Contain("\"ledger\":\"degraded\"");
        await EveryPageAsync(site);
        using var program = await Visitor.TokenAsync(site, "write");
        var answer = await program.JsonAsync("POST", "/api/ledger", """{"event":"eaten","bin":"B2","weightKg":1}""");
        answer.Status.Should().Be(HttpStatusCode.ServiceUnavailable);
        answer.Html.Should().Contain("It was not written down").And.Contain("Send it again later");
        var form = await site.SendAsync("/log/dug", await site.ReadAsync("/log/dug"), ("lot", "R9"), ("crop", "potato"));
        form.Status.Should().Be(HttpStatusCode.ServiceUnavailable);
    }

    [Fact]
    public async Task A_damaged_page_in_the_middle_costs_what_is_on_it()
    {
        using var folder = new TempFolder();
        await using (var store = folder.Open(new HouseTime(Sample.At)))
        {
            using var door = Door(store);
            door.Load();
            await door.TakeAsync(Bookkeeping.Read("""{"event":"dug","lot":"R1","crop":"potato"}""", Sample.At), null, "test");
            for (var i = 0; i < 6; i++)
            {
                var json = "[" + string.Join(',', Enumerable.Range(0, 100)
                    .Select(n => $$"""{"event":"filled","bin":"B{{i}}-{{n}}","lot":"R1","weightKg":1,"note":"{{new string('x', 150)}}"}""")) + "]";
                (await door.TakeAsync(Bookkeeping.Read(json, Sample.At), null, "test")).Should().BeOfType<LedgerAnswer.Kept>();
            }
        }

        SqliteConnection.ClearAllPools();
        var file = Path.Combine(folder.Path, StoreFile.Name);
        using (var connection = new SqliteConnection($"Data Source={file};Pooling=False"))
        {
            connection.Open();
            connection.Execute("PRAGMA wal_checkpoint(TRUNCATE)");
        }

        var (page, root) = Leaf(file);
        using (var stream = File.Open(file, FileMode.Open))
        {
            // One leaf of the table, not the first that a start looks at.
            stream.Seek((root - 1L) * page, SeekOrigin.Begin);
            stream.Write(new byte[page]);
        }

        await using var again = folder.Open(new HouseTime(Sample.At));
        using var after = Door(again);
        after.Load();
        after.Trouble.Should().BeNull();
        after.Damaged.Should().ContainSingle().Which.Why.Should().Contain("the file is damaged after entry");
        after.Book.Entries.Count.Should().BeInRange(560, 600, "only what lay on that page is gone");
        after.Book.Entries[^1].Entry.Id.Should().Be(601, "what lies beyond it is read from the other end");
    }

    private static LedgerDoor Door(Store store) =>
        new(store, new HouseTime(Sample.At), new HouseholdOptions { TimeZone = "UTC" }, new LimitOptions(),
            Microsoft.Extensions.Logging.Abstractions.NullLogger<LedgerDoor>.Instance);

    /// <summary>The size of a page, and a leaf from the middle of the ledger's table.</summary>
    private static (int Page, int Leaf) Leaf(string file)
    {
        using var connection = new SqliteConnection($"Data Source={file};Mode=ReadOnly;Pooling=False");
        connection.Open();
        var page = (int)(long)connection.Scalar("PRAGMA page_size")!;
        var root = (int)(long)connection.Scalar("SELECT rootpage FROM sqlite_schema WHERE name = 'ledger' AND type = 'table'")!;
        connection.Close();
        var bytes = File.ReadAllBytes(file);
        var at = (root - 1) * page;
        bytes[at].Should().Be(5, "the root of the table is an inner page");
        // File format, section 1.6: of an inner page the cells' places come after 12 bytes; a cell begins with the number of the page
        // below.
        var cells = (bytes[at + 3] << 8) | bytes[at + 4];
        var middle = at + 12 + (2 * (cells / 2));
        var cell = at + ((bytes[middle] << 8) | bytes[middle + 1]);
        return (page, (bytes[cell] << 24) | (bytes[cell + 1] << 16) | (bytes[cell + 2] << 8) | bytes[cell + 3]);
    }

    private static async Task SeasonAsync(TempFolder folder, params string[] more)
    {
        await using var store = folder.Open(new HouseTime(Sample.At));
        using var door = Door(store);
        door.Load();
        foreach (var json in (string[])
        [
            """{"event":"dug","lot":"R1","crop":"potato","at":"2025-10-01T08:00:00Z"}""",
            """{"event":"filled","bin":"B1","lot":"R1","weightKg":20,"place":"cellar","at":"2025-10-01T09:00:00Z"}""",
            """{"event":"filled","bin":"B2","lot":"R1","weightKg":30,"place":"cellar","at":"2025-10-01T10:00:00Z"}""",
            """{"event":"eaten","bin":"B1","weightKg":1,"at":"2025-10-02T10:00:00Z"}""",
            """{"event":"eaten","bin":"B2","weightKg":1,"at":"2025-10-02T11:00:00Z"}""",
            .. more,
        ])
        {
            (await door.TakeAsync(Bookkeeping.Read(json, Sample.At), null, "test")).Should().BeOfType<LedgerAnswer.Kept>(json);
        }
    }

    private static void Damage(TempFolder folder, string sql)
    {
        SqliteConnection.ClearAllPools();
        using var connection = new SqliteConnection($"Data Source={Path.Combine(folder.Path, StoreFile.Name)};Pooling=False");
        connection.Open();
        connection.Execute(Loose);
        connection.Execute(sql);
    }

    private static async Task EveryPageAsync(Site site)
    {
        foreach (var path in (string[])
        [
            "/", "/bins", "/bins/B1", "/bins/B2", "/lots/R1", "/log", "/log/to-check", "/log/dug", "/log/eaten?bin=B1", "/rows", "/stock", "/ahead",
            "/alarms", "/sensors", "/set-up", "/report", "/labels",
            "/api/ledger", "/api/lots", "/api/bins", "/api/stock", "/api/report", "/api/rows", "/api/places",
        ])
        {
            ((int)(await site.LookAsync(path)).Status).Should().BeLessThan(500, path);
        }
    }
}
