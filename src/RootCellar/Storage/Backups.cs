using System.Globalization;
using System.Security.Cryptography;
using Microsoft.Data.Sqlite;
using RootCellar.Diagnostics;
using RootCellar.Household;

namespace RootCellar.Storage;

/// <summary>
/// The backup that makes itself: a whole copy of the record each night, read back before it has its name, older ones thinned out. Nothing is
/// overwritten, and nothing is taken away before the new one is whole. Safe from any thread.
/// </summary>
internal sealed class Backups : IDisposable
{
    /// <summary>A backup this old is a job; a stick is forgotten for a weekend (assumed).</summary>
    public static readonly TimeSpan OldAfter = TimeSpan.FromDays(3);

    /// <summary>Room is made for a new one by taking the oldest away, down to so many (assumed).</summary>
    private const int FewestKept = 3;

    private const string RecordMark = "record_mark";
    private const string Making = "making the nightly backup";

    // A stick that is put in, or room that was made, is found within this.
    private static readonly TimeSpan TryAgainAfter = TimeSpan.FromMinutes(10);

    // Held while a backup is looked for or made.
    private readonly SemaphoreSlim one = new(1);
    // Held for the moment in which the set-up is changed and 'now' follows.
    private readonly Lock standing = new();
    private readonly Store store;
    private readonly BackupOptions options;
    private readonly HouseholdCalendar calendar;
    private readonly TimeProvider time;
    private readonly KeptFile<BackupSetUp> file;
    private readonly Action<SqliteConnection> firstReads;
    private readonly FailedWork failed;
    private readonly ILogger<Backups> log;
    private volatile BackupSetUp setUp;
    private volatile BackupStanding now = BackupStanding.Off;
    private bool fileBroken;
    private (BackupTrouble Kind, string? Detail) trouble;
    private long? triedAt;

    /// <param name="firstReads">What the service reads at a start: a copy it could not start from is no backup.</param>
    public Backups(Store store, BackupOptions options, HouseholdCalendar calendar, TimeProvider time, Action<SqliteConnection> firstReads,
        FailedWork failed, ILogger<Backups> log)
    {
        (this.store, this.options, this.calendar, this.time, this.firstReads, this.failed, this.log) =
            (store, options, calendar, time, firstReads, failed, log);
        file = new KeptFile<BackupSetUp>(store.Folder, DataFolder.Backup);
        (setUp, var why) = file.Read();
        fileBroken = why is not null;
    }

    /// <summary>As of the last look, at most a minute ago.</summary>
    public BackupStanding Now => now;

    public long Made { get; private set; }

    public long Failed { get; private set; }

    public BackupOptions Options => options;

    private string? Folder => string.IsNullOrEmpty(options.Folder) ? setUp.Folder : options.Folder;

    private bool ByInstaller => !string.IsNullOrEmpty(options.Folder);

    private bool MayBeOnCard => ByInstaller ? options.SameCard : setUp.SameCard;

    /// <summary>Makes the backup that is due, if one is; waits for one that is being made.</summary>
    public async Task LookAsync(CancellationToken cancellationToken)
    {
        await one.WaitAsync(cancellationToken);
        try
        {
            if (Folder is { } folder)
            {
                var due = Last?.Day != DayDue();
                var waits = triedAt is { } tried && time.GetElapsedTime(tried) < TryAgainAfter;
                if (due && !waits) await TryAsync(folder);
                // A stick that was taken out is missed at once and not at night; one that is back is tried at once.
                else if (trouble.Kind is BackupTrouble.None or BackupTrouble.FolderMissing or BackupTrouble.OnRecordsCard)
                {
                    var where = Where(folder);
                    if (trouble.Kind != BackupTrouble.None && where.Kind == BackupTrouble.None) triedAt = null;
                    trouble = where;
                }
            }

            Stand();
        }
        finally
        {
            one.Release();
        }
    }

    /// <summary>Makes one now, whether or not it is due.</summary>
    /// <returns>How it stands then.</returns>
    public async Task<BackupStanding> MakeAsync(CancellationToken cancellationToken)
    {
        await one.WaitAsync(cancellationToken);
        try
        {
            if (Folder is { } folder) await TryAsync(folder);
            Stand();
            return now;
        }
        finally
        {
            one.Release();
        }
    }

    /// <summary>Sets where it goes from now on.</summary>
    /// <param name="folder">A whole path; null: nowhere.</param>
    /// <param name="sameCard">It may lie on the record's own card.</param>
    /// <param name="detail">What the system said, where it refused.</param>
    /// <returns>Why not; null where it is set.</returns>
    public FolderRefusal? Set(string? folder, bool sameCard, out string? detail)
    {
        detail = null;
        if (ByInstaller) return FolderRefusal.ByInstaller;
        if (!string.IsNullOrWhiteSpace(folder))
        {
            folder = Path.TrimEndingDirectorySeparator(folder.Trim());
            if (Refusal(folder, sameCard, out detail) is { } refused) return refused;
        }
        else
        {
            folder = null;
        }

        try
        {
            Save(was => was with
            {
                Folder = folder,
                SameCard = folder is not null && sameCard,
                Since = folder == was.Folder ? was.Since ?? time.GetUtcNow() : time.GetUtcNow(),
            });
        }
        catch (Exception e) when (e is IOException or UnauthorizedAccessException)
        {
            detail = e.Message;
            return FolderRefusal.NotSaved;
        }

        (trouble, triedAt) = (default, null);
        Stand();
        return null;
    }

    /// <summary>Sticks and disks of this machine other than the record's, with a folder on each that could be taken.</summary>
    public IReadOnlyList<(string Folder, long FreeBytes)> Found()
    {
        List<(string, long)> found = [];
        foreach (var drive in DriveInfo.GetDrives())
        {
            try
            {
                if (!IsForPeople(drive) || !drive.IsReady || drive.AvailableFreeSpace == 0 || FolderDisk.Same(drive.Name, store.Folder)) continue;
                found.Add((Path.Combine(drive.Name, "rootcellar"), drive.AvailableFreeSpace));
            }
            catch (Exception e) when (e is IOException or UnauthorizedAccessException)
            {
                // One that does not answer is none.
            }
        }

        return found;
    }

    /// <summary>A copy of this moment beside the record, to be sent to who asked for it; it is gone once it is closed.</summary>
    /// <exception cref="StoreProblemException">It cannot be made.</exception>
    public async Task<FileStream> CopyAsync(CancellationToken cancellationToken)
    {
        if (store.StartProblem is { } problem) throw new StoreProblemException(problem);
        await one.WaitAsync(cancellationToken);
        try
        {
            // One that a killed service left behind goes with it.
            var copy = Path.Combine(store.Folder, StoreFile.Name + ".download");
            return await Task.Run(
                () =>
                {
                    File.Delete(copy);
                    RecordCopy.Backup(Path.Combine(store.Folder, StoreFile.Name), copy, firstReads);
                    return new FileStream(
                        copy, FileMode.Open, FileAccess.Read, FileShare.Read | FileShare.Delete, 1 << 16,
                        FileOptions.DeleteOnClose | FileOptions.Asynchronous | FileOptions.SequentialScan);
                },
                CancellationToken.None);
        }
        finally
        {
            one.Release();
        }
    }

    /// <summary>What a copy that goes to a person is called.</summary>
    public string NameNow() => $"rootcellar-{calendar.Local(time.GetUtcNow()).ToString("yyyy-MM-dd-HHmm", CultureInfo.InvariantCulture)}.db";

    public void Dispose() => one.Dispose();

    private LastBackup? Last => setUp.Last is { } last && last.Folder == Folder ? last : null;

    /// <summary>The last night that is over.</summary>
    private DateOnly DayDue()
    {
        var at = time.GetUtcNow();
        var today = calendar.DayOf(at);
        return at < calendar.Moment(today, options.Clock()) ? today.AddDays(-1) : today;
    }

    private async Task TryAsync(string folder)
    {
        triedAt = time.GetTimestamp();
        trouble = await TryMakeAsync(folder);
        if (trouble.Kind == BackupTrouble.None)
        {
            Made++;
            return;
        }

        Failed++;
        log.LogWarning("No backup was made in {Folder}: {Trouble} {Detail}", folder, trouble.Kind, trouble.Detail);
    }

    private async Task<(BackupTrouble, string?)> TryMakeAsync(string folder)
    {
        if (Where(folder) is { Kind: not BackupTrouble.None } where) return where;
        if (store.StartProblem is { } problem) return (BackupTrouble.RecordUnread, problem);
        try
        {
            var day = DayDue();
            var mark = await store.WriteAsync(MarkOf);
            // Far longer than a thread of the pool should be held: a slow stick takes minutes.
            await Task.Factory.StartNew(() => Make(folder, mark, day), CancellationToken.None, TaskCreationOptions.LongRunning, TaskScheduler.Default);
            failed.WorksAgain(Store.Room, Making);
            return default;
        }
        catch (CopyProblemException e)
        {
            return (e.Fault switch
            {
                CopyFault.Full => BackupTrouble.Full,
                CopyFault.RecordUnread => BackupTrouble.RecordUnread,
                CopyFault.CopyBad => BackupTrouble.CopyBad,
                _ => BackupTrouble.NotWritten,
            }, e.Message);
        }
        catch (Exception e) when (e is IOException or UnauthorizedAccessException or StoreProblemException)
        {
            return (e is StoreProblemException ? BackupTrouble.RecordUnread : BackupTrouble.NotWritten, e.Message);
        }
        catch (Exception e)
        {
            failed.Failed(Store.Room, Making, e, triedAgain: true);
            return (BackupTrouble.NotWritten, e.Message);
        }
    }

    private void Make(string folder, string mark, DateOnly day)
    {
        var record = Path.Combine(store.Folder, StoreFile.Name);
        // What a power cut left of one that was under way.
        foreach (var part in Directory.EnumerateFiles(folder, $"rootcellar-{mark}-*.db.part*")) File.Delete(part);
        MakeRoom(folder, mark, new FileInfo(record).Length);
        var at = time.GetUtcNow();
        var name = BackupFile.FreeNameIn(folder, mark, calendar.Local(at));
        var copied = RecordCopy.Backup(record, Path.Combine(folder, name), firstReads);
        if (copied.Foreign is { } foreign)
        {
            // 'restore' would not take it, and one every ten minutes would fill the stick.
            File.Delete(Path.Combine(folder, name));
            throw new CopyProblemException(CopyFault.CopyBad, foreign);
        }

        Save(was => was with
        {
            Last = new LastBackup(
                at, day, folder, name, copied.Bytes, copied.Entries, copied.Readings, copied.LastReading),
        });
        // The new one is whole and has its name: only now may others go.
        foreach (var old in BackupFile.Superfluous(Of(folder, mark), options).Where(f => f.Name != name)) File.Delete(Path.Combine(folder, old.Name));
    }

    /// <summary>A stick too small for all that should be kept holds the newest.</summary>
    private static void MakeRoom(string folder, string mark, long wanted)
    {
        var spare = wanted / 10;
        foreach (var old in Of(folder, mark).Skip(FewestKept).Reverse())
        {
            if (new DriveInfo(folder).AvailableFreeSpace > wanted + spare) return;
            File.Delete(Path.Combine(folder, old.Name));
        }
    }

    private static IReadOnlyList<BackupFile> Of(string folder, string mark) => [.. BackupFile.In(folder).Where(f => f.Record == mark)];

    private static string MarkOf(SqliteConnection connection)
    {
        if (Meta.Get(connection, RecordMark) is { } mark) return mark;
        var fresh = Convert.ToHexStringLower(RandomNumberGenerator.GetBytes(3));
        Meta.Set(connection, RecordMark, fresh);
        return fresh;
    }

    private (BackupTrouble Kind, string? Detail) Where(string folder) =>
        !Directory.Exists(folder) ? (BackupTrouble.FolderMissing, null)
        : !MayBeOnCard && FolderDisk.Same(folder, store.Folder) ? (BackupTrouble.OnRecordsCard, null)
        : default;

    private FolderRefusal? Refusal(string folder, bool sameCard, out string? detail)
    {
        detail = null;
        if (!Path.IsPathFullyQualified(folder)) return FolderRefusal.NoPath;
        if (Path.GetFullPath(folder) == Path.GetFullPath(store.Folder)) return FolderRefusal.DataFolder;
        var isNew = !Directory.Exists(folder);
        var nearest = isNew ? Path.GetDirectoryName(folder) : folder;
        if (!Directory.Exists(nearest)) return FolderRefusal.NotThere;
        if (!sameCard && FolderDisk.Same(nearest, store.Folder)) return FolderRefusal.OnRecordsCard;
        try
        {
            if (isNew) Directory.CreateDirectory(folder);
            var probe = Path.Combine(folder, $".rootcellar-{Guid.NewGuid():N}");
            using (new FileStream(probe, FileMode.CreateNew, FileAccess.Write, FileShare.None, 1, FileOptions.DeleteOnClose))
            {
                // Whether a file can be made there is all that is asked.
            }

            return null;
        }
        catch (Exception e) when (e is IOException or UnauthorizedAccessException)
        {
            detail = e.Message;
            return FolderRefusal.NotWritten;
        }
    }

    private void Save(Func<BackupSetUp, BackupSetUp> change)
    {
        lock (standing)
        {
            var fresh = change(setUp);
            file.Write(fresh, setAside: fileBroken);
            (setUp, fileBroken) = (fresh, false);
        }
    }

    private void Stand()
    {
        lock (standing) now = Standing();
    }

    private BackupStanding Standing()
    {
        if (Folder is not { } folder) return BackupStanding.Off;
        var at = time.GetUtcNow();
        var due = DayDue();
        var next = Last?.Day == due ? calendar.Moment(due.AddDays(1), options.Clock()) : at;
        var from = Last?.At ?? setUp.Since;
        return new BackupStanding(
            folder, ByInstaller, MayBeOnCard && FolderDisk.Same(folder, store.Folder), next, Last, trouble.Kind, trouble.Detail, Count(folder),
            from is { } since && at - since > OldAfter);
    }

    private int? Count(string folder)
    {
        try
        {
            return store.Read(c => Meta.Get(c, RecordMark)) is { } mark ? Of(folder, mark).Count : 0;
        }
        catch (Exception e) when (e is IOException or UnauthorizedAccessException or SqliteException)
        {
            return null;
        }
    }

    // Where systems put sticks: /media/LABEL or /media/USER/LABEL, /run/media/USER/LABEL, /mnt/NAME. Deeper is some program's own.
    private static bool IsForPeople(DriveInfo drive) => Directory.Exists(drive.Name) && (OperatingSystem.IsWindows()
        ? drive.DriveType == DriveType.Removable
        : drive.Name.Split('/', StringSplitOptions.RemoveEmptyEntries) is ["media", _] or ["media", _, _] or ["run", "media", _, _] or ["mnt", _]
            or ["Volumes", _]);
}
