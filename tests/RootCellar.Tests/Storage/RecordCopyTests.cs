using Microsoft.Data.Sqlite;
using RootCellar.Commands;
using RootCellar.Readings;
using RootCellar.Storage;

namespace RootCellar.Tests.Storage;

public sealed class RecordCopyTests : IDisposable
{
    private readonly TempFolder folder = new();
    private readonly TempFolder other = new();

    public void Dispose()
    {
        folder.Dispose();
        other.Dispose();
    }

    private string Copy => Path.Combine(other.Path, "copy.db");

    [Fact]
    public async Task A_copy_taken_while_it_is_written_holds_what_was_written_by_then_and_comes_back()
    {
        await using (var store = folder.Open(new HouseTime(Sample.At)))
        {
            await store.WriteAsync(c => SensorRows.Save(c, new SensorRow(1, "cellar/door", null, null, null, Sample.At, null)));
            await AddAsync(store, 1, 500);
            using var stop = new CancellationTokenSource();
            // The writer goes on all the while.
            var writing = Task.Run(async () =>
            {
                for (int i = 501; !stop.IsCancellationRequested; i += 10) await AddAsync(store, i, 10);
            }, TestContext.Current.CancellationToken);
            try
            {
                var copied = RecordCopy.Backup(folder.File, Copy);
                copied.Readings.Should().BeGreaterThanOrEqualTo(500);
                (copied.Readings % 10).Should().Be(0, "a batch is in it whole or not at all");
                copied.Bytes.Should().Be(new FileInfo(Copy).Length);
            }
            finally
            {
                await stop.CancelAsync();
                await writing;
            }
        }

        Directory.GetFiles(other.Path).Should().Equal(Copy);
        using var fresh = new TempFolder();
        var (put, aside) = RecordCopy.Restore(Copy, fresh.File, Sample.At);
        aside.Should().BeNull();
        await using var restored = fresh.Open(new HouseTime(Sample.At));
        restored.Count().Should().Be((int)put.Readings);
        Directory.GetFiles(fresh.Path).Should().NotContain(f => f.EndsWith(".part", StringComparison.Ordinal));
    }

    [Fact]
    public async Task The_record_that_was_there_is_kept_and_texts_that_waited_are_not_sent_again()
    {
        await using (var store = folder.Open(new HouseTime(Sample.At)))
        {
            await AddAsync(store, 1, 3);
            await store.WriteAsync(c =>
            {
                foreach (var state in (string[])["Waiting", "Sending", "Sent"])
                    c.Execute($"INSERT INTO outbox (id, channel, recipient, body, state, attempts, created_ms, next_ms) VALUES ('{state}', 'post', '+1555', 'HOT', '{state}', 0, 0, 0)");
            });
        }

        RecordCopy.Backup(folder.File, Copy);
        await using (var store = folder.Open(new HouseTime(Sample.At))) await AddAsync(store, 10, 4);

        var (_, aside) = RecordCopy.Restore(Copy, folder.File, Sample.At);
        aside.Should().Be(folder.File + ".20251004-060000");
        await using var restored = folder.Open(new HouseTime(Sample.At));
        restored.Count().Should().Be(3);
        restored.Text("SELECT id || '=' || state FROM outbox ORDER BY id").Should().Be("Sending=GivenUp Sent=Sent Waiting=GivenUp");
        using var before = new SqliteConnection($"Data Source={aside};Mode=ReadOnly;Pooling=False");
        before.Open();
        before.Scalar("SELECT count(*) FROM reading").Should().Be(7L);
    }

    [Fact]
    public async Task While_the_service_has_it_open_nothing_is_put_in_its_place()
    {
        await using var store = folder.Open(new HouseTime(Sample.At));
        await AddAsync(store, 1, 3);
        RecordCopy.Backup(folder.File, Copy);
        await AddAsync(store, 10, 2);
        var (code, output, error) = await RunAsync("restore", Copy, "--data", folder.Path);
        (code, output).Should().Be((2, ""));
        error.Should().Contain("is in use. Stop the service first").And.Contain("nothing was changed");
        store.Count().Should().Be(5);
        await AddAsync(store, 20, 2);
        store.Count().Should().Be(7);
        Directory.GetFiles(folder.Path).Should().NotContain(
            f => f.Contains(".part", StringComparison.Ordinal) || f.Contains(".2", StringComparison.Ordinal));
    }

    [Fact]
    public async Task A_damaged_record_is_replaced_and_kept_for_whoever_can_mend_it()
    {
        await using (var store = folder.Open(new HouseTime(Sample.At))) await AddAsync(store, 1, 3);
        RecordCopy.Backup(folder.File, Copy);
        await File.WriteAllTextAsync(folder.File, "no record at all", TestContext.Current.CancellationToken);
        var (code, output, error) = await RunAsync("restore", Copy, "--data", folder.Path);
        (code, error).Should().Be((0, ""));
        output.Should().MatchRegex(
            @"^Restored from .*copy\.db: 0\.\d MB, 0 entries of the book, 3 readings, the last of 2025-10-04 06:00Z\. The record that was there is kept as .*rootcellar\.db\.\d{8}-\d{6}\.\n$");
        await using var restored = folder.Open(new HouseTime(Sample.At));
        restored.Count().Should().Be(3);
    }

    [Fact]
    public async Task What_root_restores_belongs_to_whom_the_folder_belongs()
    {
        Skips.Unless(OperatingSystem.IsLinux() && Environment.IsPrivilegedProcess, "Only root may give a file away.");
        await using (var store = folder.Open(new HouseTime(Sample.At))) await AddAsync(store, 1, 3);
        RecordCopy.Backup(folder.File, Copy);
        using var service = new TempFolder();
        await OwnerAsync("chown", "65534:65534", service.Path);
        RecordCopy.Restore(Copy, service.File, Sample.At);
        (await OwnerAsync("stat", "-c", "%u:%g", service.File)).Trim().Should().Be("65534:65534");
    }

    [Fact]
    public async Task What_a_restore_that_was_cut_off_left_behind_has_no_part_in_the_next()
    {
        await using (var store = folder.Open(new HouseTime(Sample.At))) await AddAsync(store, 1, 3);
        RecordCopy.Backup(folder.File, Copy);
        foreach (var left in (string[])["", "-journal", "-wal", "-shm"])
            await File.WriteAllTextAsync(Path.Combine(other.Path, StoreFile.Name) + ".part" + left, "left behind",
                TestContext.Current.CancellationToken);
        RecordCopy.Restore(Copy, other.File, Sample.At);
        Directory.GetFiles(other.Path).Should().BeEquivalentTo([Copy, other.File]);
        await using var restored = other.Open(new HouseTime(Sample.At));
        restored.Count().Should().Be(3);
        restored.Text("PRAGMA integrity_check").Should().Be("ok");
    }

    private static async Task<string> OwnerAsync(string program, params string[] arguments)
    {
        using var child = System.Diagnostics.Process.Start(
            new System.Diagnostics.ProcessStartInfo(program, arguments) { RedirectStandardOutput = true, UseShellExecute = false })!;
        var output = await child.StandardOutput.ReadToEndAsync(TestContext.Current.CancellationToken);
        await child.WaitForExitAsync(TestContext.Current.CancellationToken);
        child.ExitCode.Should().Be(0);
        return output;
    }

    [Theory]
    [InlineData("there", "is there already, and a backup does not overwrite another")]
    [InlineData("no-record", "there is no record in")]
    [InlineData("no-folder", "Check that the folder exists")]
    public async Task A_backup_that_cannot_be_says_why(string how, string expected)
    {
        await using (var store = folder.Open(new HouseTime(Sample.At))) await AddAsync(store, 1, 1);
        if (how == "there") await File.WriteAllTextAsync(Copy, "kept", TestContext.Current.CancellationToken);
        var (code, output, error) =
            await RunAsync("backup", how == "no-folder" ? Path.Combine(other.Path, "no", "copy.db") : Copy, "--data",
                how == "no-record" ? other.Path : folder.Path);
        (code, output).Should().Be((2, ""));
        error.Should().Contain(expected);
        error.TrimEnd('\n').Should().NotContain("\n");
        if (how == "there") (await File.ReadAllTextAsync(Copy, TestContext.Current.CancellationToken)).Should().Be("kept");
    }

    [Theory]
    [InlineData("missing", "there is no file")]
    [InlineData("text", "is damaged, or is not a record of rootcellar")]
    [InlineData("other", "is not a record of rootcellar")]
    [InlineData("newer", "was written by a newer rootcellar (schema 9999")]
    [InlineData("damaged", "is damaged")]
    public async Task A_file_that_is_no_whole_record_is_not_put_in(string how, string expected)
    {
        await using (var store = folder.Open(new HouseTime(Sample.At))) await AddAsync(store, 1, 2000);
        if (how == "text") await File.WriteAllTextAsync(Copy, "id,event\n", TestContext.Current.CancellationToken);
        else if (how != "missing" && how != "other") RecordCopy.Backup(folder.File, Copy);
        if (how is "other" or "newer")
        {
            using var file = new SqliteConnection($"Data Source={Copy};Pooling=False");
            file.Open();
            file.Execute(how == "other" ? "CREATE TABLE t (a); PRAGMA user_version=3" : "PRAGMA user_version=9999");
        }

        if (how == "damaged")
        {
            using var stream = new FileStream(Copy, FileMode.Open);
            stream.Seek(stream.Length / 2, SeekOrigin.Begin);
            stream.Write(Enumerable.Repeat((byte)0xA5, 16_000).ToArray());
        }

        var (code, output, error) = await RunAsync("restore", Copy, "--data", folder.Path);
        (code, output).Should().Be((2, ""));
        error.Should().Contain(expected);
        error.TrimEnd('\n').Should().NotContain("\n");
        await using var still = folder.Open(new HouseTime(Sample.At));
        still.Count().Should().Be(2000);
    }

    [Theory]
    [InlineData("CREATE TRIGGER spy AFTER INSERT ON reading BEGIN DELETE FROM meta; END",
        "it holds the trigger 'spy', which no record of schema")]
    [InlineData("CREATE VIEW all_meta AS SELECT * FROM meta", "it holds the view 'all_meta'")]
    [InlineData("CREATE TABLE extra (a)", "it holds the table 'extra'")]
    [InlineData("CREATE INDEX odd ON reading (value)", "it holds the index 'odd'")]
    [InlineData("CREATE VIRTUAL TABLE search USING fts5(word)", "it holds the virtual table 'search'")]
    [InlineData("DROP TABLE contact", "it lacks the table 'contact' of schema")]
    [InlineData("DROP TRIGGER ledger_stands", "it lacks the trigger 'ledger_stands' of schema")]
    [InlineData("DROP TRIGGER ledger_stands; CREATE TRIGGER ledger_stands BEFORE UPDATE ON ledger BEGIN SELECT 1; END",
        "its trigger 'ledger_stands' is not that of schema")]
    [InlineData("ALTER TABLE contact DROP COLUMN address", "its table 'contact' lacks address.")]
    [InlineData("ALTER TABLE contact ADD COLUMN spy TEXT", "its table 'contact' has spy, which no record has.")]
    [InlineData("DROP TABLE meta; CREATE VIEW meta AS SELECT 'passphrase_hash' AS key, 'x' AS value",
        "'meta' is a view in it; right is a table.")]
    [InlineData("PRAGMA application_id=1234", "its application_id is 1234, which is another program's; right is 0.")]
    public async Task A_record_that_somebody_has_changed_is_not_put_in_and_a_copy_of_it_says_so(string change, string expected)
    {
        await using (var store = folder.Open(new HouseTime(Sample.At))) await AddAsync(store, 1, 3);
        RecordCopy.Backup(folder.File, Copy).Foreign.Should().BeNull();
        using (var file = new SqliteConnection($"Data Source={Copy};Pooling=False"))
        {
            file.Open();
            file.Execute(change);
        }

        var (code, output, error) = await RunAsync("restore", Copy, "--data", folder.Path);

        (code, output).Should().Be((2, ""));
        error.Should().Contain(expected).And.Contain(Copy).And.Contain("nothing was changed");
        error.TrimEnd('\n').Should().NotContain("\n");
        await using (var still = folder.Open(new HouseTime(Sample.At))) still.Count().Should().Be(3);
        // The same of a record in use: it is copied, for a copy is better than none, and it is said that it will not go back in.
        using var changed = new TempFolder();
        File.Copy(Copy, changed.File);
        var again = Path.Combine(changed.Path, "again.db");
        (code, _, error) = await RunAsync("backup", again, "--data", changed.Path);
        code.Should().Be(0, error);
        error.Should().Contain("restore will not take").And.Contain(expected);
    }

    [Fact]
    public async Task Four_tables_of_the_right_names_are_no_record()
    {
        using (var fake = new SqliteConnection($"Data Source={Copy};Pooling=False"))
        {
            fake.Open();
            fake.Execute($"CREATE TABLE place (id); CREATE TABLE reading (at_ms); CREATE TABLE outbox (state, error); CREATE TABLE ledger (id); PRAGMA user_version={StoreFile.CurrentVersion}");
        }

        var (code, output, error) = await RunAsync("restore", Copy, "--data", folder.Path);

        (code, output).Should().Be((2, ""));
        error.Should().Contain("is not a record as rootcellar makes it: it lacks the");
        Directory.GetFiles(folder.Path).Select(Path.GetFileName).Should().Equal(DataFolderLock.Name);
    }

    [Fact]
    public async Task A_record_of_the_first_version_is_taken_and_brought_forward()
    {
        var (code, _, error) =
            await RunAsync("restore", Path.Combine(AppContext.BaseDirectory, "Storage", "first-version.db"), "--data", folder.Path);
        code.Should().Be(0, error);
        await using var store = folder.Open(new HouseTime(Sample.At));
        store.AnyProblem.Should().BeNull();
        store.Count().Should().Be(3);
    }

    private static Task AddAsync(Store store, int from, int count) => store.WriteAsync(c =>
    {
        using var writer = new ReadingWriter(c, TimeProvider.System);
        writer.Write([.. Enumerable.Range(from, count)
            .Select(i => Sample.Reading(i, Sample.At.AddMilliseconds(i - 1), source: TimeSource.Device))]);
    });

    private static async Task<(int Code, string Output, string Error)> RunAsync(params string[] line)
    {
        using StringWriter output = new(), error = new();
        return (await CommandLine.RunAsync(line, output, error, TestContext.Current.CancellationToken), output.ToString(),
            error.ToString());
    }
}
