using Microsoft.Data.Sqlite;
using Microsoft.Extensions.Logging.Abstractions;
using RootCellar.Diagnostics;
using RootCellar.Household;
using RootCellar.Storage;

namespace RootCellar.Tests.Storage;

/// <summary>The backup that makes itself, with a real record, a real folder and the clock in hand.</summary>
public sealed class BackupsTests : IDisposable
{
    private readonly TempFolder data = new();
    private readonly TempFolder stick = new();
    private readonly HouseTime time = new(Sample.At);
    private Action<SqliteConnection> firstReads = _ => { };

    private string Folder => Path.Combine(stick.Path, "rootcellar");

    public void Dispose()
    {
        data.Dispose();
        stick.Dispose();
    }

    [Fact]
    public async Task Each_night_one_is_made_a_missed_one_when_the_box_is_back_and_none_twice()
    {
        await using var store = data.Open(time);
        using var backups = Of(store);
        backups.Now.Folder.Should().BeNull();
        backups.Set(Folder, sameCard: true, out _).Should().BeNull();

        await LookAsync(backups);
        Files.Should().ContainSingle("the first one does not wait for the night");
        backups.Now.Last!.Entries.Should().Be(0);
        for (var minute = 0; minute < 30; minute++) await LookAsync(backups, TimeSpan.FromMinutes(20));
        Files.Should().ContainSingle("the night is not yet over");
        await LookAsync(backups, TimeSpan.FromHours(14));
        Files.Should().HaveCount(2);
        backups.Now.Next.Should().Be(new DateTimeOffset(2025, 10, 6, 3, 10, 0, TimeSpan.Zero));

        // Three days without power.
        await LookAsync(backups, TimeSpan.FromDays(3.5));
        Files.Should().HaveCount(3);
        backups.Now.CallsForSomeone.Should().BeFalse();
        using var again = Of(store);
        await LookAsync(again);
        Files.Should().HaveCount(3, "a restart makes none anew");
        again.Now.Last.Should().Be(backups.Now.Last);
    }

    [Fact]
    public async Task Who_looks_while_one_is_made_sees_it_made()
    {
        await using var store = data.Open(time);
        using var making = new SemaphoreSlim(0);
        using var backups = Of(store);
        backups.Set(Folder, sameCard: true, out _);
        firstReads = _ => making.Wait(TestContext.Current.CancellationToken);

        var first = LookAsync(backups);
        var second = LookAsync(backups);
        second.IsCompleted.Should().BeFalse("what it would say is not so any more when the copy is whole");
        making.Release();
        await second;

        backups.Now.Last.Should().NotBeNull();
        Files.Should().ContainSingle("one is enough");
        await first;
    }

    [Fact]
    public async Task Two_taps_within_a_second_are_two_backups_and_no_trouble()
    {
        await using var store = data.Open(time);
        using var backups = Of(store);
        backups.Set(Folder, sameCard: true, out _);

        await LookAsync(backups);
        var first = Files.Should().ContainSingle().Which;
        (await backups.MakeAsync(TestContext.Current.CancellationToken)).Trouble.Should().Be(BackupTrouble.None);
        Files.Should().ContainSingle("of one day the newest is kept").Which.Should().NotBe(first);
        backups.Made.Should().Be(2);
    }

    [Fact]
    public async Task A_stick_that_is_out_is_a_job_at_once_and_one_that_is_back_is_written_within_a_minute()
    {
        await using var store = data.Open(time);
        using var backups = Of(store);
        backups.Set(Folder, sameCard: true, out _);
        await LookAsync(backups);
        Directory.Move(Folder, Folder + ".out");

        await LookAsync(backups, TimeSpan.FromMinutes(1));
        backups.Now.Should().BeEquivalentTo(new { Trouble = BackupTrouble.FolderMissing, Old = false, CallsForSomeone = true });
        Directory.Exists(Folder).Should().BeFalse("where the stick should be nothing is made");
        await LookAsync(backups, TimeSpan.FromDays(4));
        backups.Now.Old.Should().BeTrue();

        Directory.Move(Folder + ".out", Folder);
        await LookAsync(backups, TimeSpan.FromMinutes(1));
        await LookAsync(backups, TimeSpan.FromMinutes(1));
        backups.Now.CallsForSomeone.Should().BeFalse();
        Files.Should().HaveCount(2);
    }

    [Fact]
    public async Task On_the_records_own_card_it_is_made_only_where_somebody_said_so()
    {
        await using var store = data.Open(time);
        using var backups = Of(store);
        backups.Set(Folder, sameCard: false, out _).Should().Be(FolderRefusal.OnRecordsCard);
        Directory.Exists(Folder).Should().BeFalse();
        backups.Set(data.Path, sameCard: true, out _).Should().Be(FolderRefusal.DataFolder);
        backups.Set("backups", sameCard: true, out _).Should().Be(FolderRefusal.NoPath);
        backups.Set(Path.Combine(stick.Path, "not", "there"), sameCard: true, out _).Should().Be(FolderRefusal.NotThere);
        File.WriteAllText(Path.Combine(stick.Path, "file"), "");
        backups.Set(Path.Combine(stick.Path, "file"), sameCard: true, out var said).Should().Be(FolderRefusal.NotWritten);
        said.Should().NotBeNullOrEmpty();
        backups.Now.Folder.Should().BeNull();

        // The installer's folder, in which a stick was mounted that is out now.
        Directory.CreateDirectory(Folder);
        using var configured = Of(store, new BackupOptions { Folder = Folder });
        await LookAsync(configured);
        configured.Now.Should().BeEquivalentTo(new { Trouble = BackupTrouble.OnRecordsCard, ByInstaller = true, CallsForSomeone = true });
        Files.Should().BeEmpty();
        configured.Set(Folder, sameCard: true, out _).Should().Be(FolderRefusal.ByInstaller);
        using var allowed = Of(store, new BackupOptions { Folder = Folder, SameCard = true });
        await LookAsync(allowed);
        allowed.Now.Should().BeEquivalentTo(new { Trouble = BackupTrouble.None, OnRecordsCard = true });
        Files.Should().ContainSingle();
    }

    [Fact]
    public async Task A_copy_that_does_not_read_back_is_none_and_the_last_good_one_stays()
    {
        await using var store = data.Open(time);
        using var backups = Of(store);
        backups.Set(Folder, sameCard: true, out _);
        await LookAsync(backups);
        var good = Files.Single();

        firstReads = _ => throw new SqliteException("database disk image is malformed", 11);
        await LookAsync(backups, TimeSpan.FromDays(1));
        backups.Now.Should().BeEquivalentTo(new { Trouble = BackupTrouble.CopyBad, CallsForSomeone = true });
        Directory.GetFiles(Folder).Should().Equal(good);
        backups.Failed.Should().Be(1);

        firstReads = _ => { };
        // What a power cut left of one that was under way.
        File.WriteAllText(good.Replace("20251004", "20251003", StringComparison.Ordinal) + ".part", "half");
        await LookAsync(backups, TimeSpan.FromMinutes(11));
        backups.Now.CallsForSomeone.Should().BeFalse();
        Directory.GetFiles(Folder).Should().HaveCount(2).And.Contain(good).And.OnlyContain(f => f.EndsWith(".db"));
    }

    [Fact]
    public async Task A_record_that_begins_anew_takes_none_of_the_old_ones_backups_away()
    {
        await using (var store = data.Open(time))
        {
            using var backups = Of(store, new BackupOptions { Daily = 1, Weekly = 0, Monthly = 0 });
            backups.Set(Folder, sameCard: true, out _);
            await LookAsync(backups);
        }

        var old = Files.Single();
        using var card = new TempFolder();
        await using var fresh = card.Open(time);
        using var anew = Of(fresh, new BackupOptions { Daily = 1, Weekly = 0, Monthly = 0 });
        anew.Set(Folder, sameCard: true, out _);
        for (var night = 0; night < 3; night++) await LookAsync(anew, TimeSpan.FromDays(1));
        Files.Should().HaveCount(2).And.Contain(old);
        anew.Now.Copies.Should().Be(1);
    }

    [Fact]
    public async Task A_clock_a_year_ahead_at_the_start_and_put_right_takes_no_backup_away_and_the_next_night_has_one()
    {
        await using var store = data.Open(time);
        using var backups = Of(store);
        backups.Set(Folder, sameCard: true, out _);
        for (var night = 0; night < 5; night++) await LookAsync(backups, TimeSpan.FromDays(1));
        var before = Files;

        time.Offset = TimeSpan.FromDays(365);
        await LookAsync(backups, TimeSpan.FromMinutes(11));
        time.Offset = TimeSpan.Zero;
        await LookAsync(backups, TimeSpan.FromMinutes(11));
        // Of its own day a newer one stands for the last.
        Files.Should().Contain(before.SkipLast(1));
        backups.Now.CallsForSomeone.Should().BeFalse();
        await LookAsync(backups, TimeSpan.FromDays(1));
        Files.Should().Contain(f => f.Contains("-20251010-", StringComparison.Ordinal));
    }

    [Fact]
    public async Task What_is_set_up_beside_the_record_goes_along_and_comes_back_and_nothing_of_another_name()
    {
        void Write(TempFolder folder, string name, string text)
        {
            Directory.CreateDirectory(Path.GetDirectoryName(Path.Combine(folder.Path, name))!);
            File.WriteAllText(Path.Combine(folder.Path, name), text);
        }

        await using (var store = data.Open(time))
        {
            foreach (var (name, text) in new[] { ("channels.json", "{}"), ("mappings.json", "[1]"), ("rootcellar.json", "{/* ours */}"),
                ("templates/room.sbn", "HOT"), ("crops.json", "{}"), ("keys/key.xml", "secret"), ("notes.txt", "private") })
                Write(data, name, text);
            RecordCopy.Backup(data.File, stick.File).Files.Should()
                .Equal("channels.json", "crops.json", "mappings.json", "rootcellar.json", "templates/room.sbn");
        }

        using (var copy = new SqliteConnection($"Data Source={stick.File};Pooling=False"))
        {
            copy.Open();
            foreach (var name in new[] { "../out.txt", "templates/../../out.txt", "templates/.hidden", "/etc/out", "keys/key.xml", "templates/a/b" })
                Meta.Set(copy, "file:" + name, Convert.ToBase64String("HA"u8));
        }

        using var box = new TempFolder();
        Write(box, "rootcellar.json", "{/* this machine's */}");
        Write(box, "channels.json", "{/* of another record */}");
        var (put, _) = RecordCopy.Restore(stick.File, box.File, Sample.At);
        put.Files.Should().Equal("channels.json", "crops.json", "mappings.json", "templates/room.sbn");
        put.LeftOut.Should().Equal("rootcellar.json");
        string Read(string name) => File.ReadAllText(Path.Combine(box.Path, name));
        Read("channels.json").Should().Be("{}");
        Read("channels.json.20251004-060000").Should().Contain("of another record");
        Read("rootcellar.json").Should().Contain("this machine's");
        Read("templates/room.sbn").Should().Be("HOT");
        File.Exists(Path.Combine(Path.GetDirectoryName(box.Path)!, "out.txt")).Should().BeFalse();
        Directory.GetFiles(box.Path, "*", SearchOption.AllDirectories).Should().HaveCount(7);
        await using var restored = box.Open(time);
        restored.Read(c => c.Scalar("SELECT count(*) FROM meta WHERE key GLOB 'file:*'")).Should().Be(0L);
    }

    private string[] Files => Directory.Exists(Folder) ? [.. Directory.GetFiles(Folder, "*.db").Order(StringComparer.Ordinal)] : [];

    private Backups Of(Store store, BackupOptions? options = null) => new(
        store, options ?? new BackupOptions(), HouseholdCalendar.Utc, time, c => firstReads(c), new FailedWork(time, NullLogger<FailedWork>.Instance),
        NullLogger<Backups>.Instance);

    private Task LookAsync(Backups backups, TimeSpan after = default)
    {
        time.Advance(after);
        return backups.LookAsync(TestContext.Current.CancellationToken);
    }
}
