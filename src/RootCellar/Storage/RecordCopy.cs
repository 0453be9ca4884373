using System.Diagnostics;
using System.Globalization;
using Microsoft.Data.Sqlite;

namespace RootCellar.Storage;

/// <summary>What a copy of the record holds.</summary>
/// <param name="LastReading">Time of the last reading in it; null where there is none.</param>
/// <param name="Foreign">What it holds or lacks against a record as the program makes it, a sentence; null where all is right.</param>
internal sealed record CopiedRecord(long Bytes, long Entries, long Readings, DateTimeOffset? LastReading, string? Foreign = null)
{
    /// <summary>Files beside the record that it carries, or after a restore those that were put back.</summary>
    public IReadOnlyList<string> Files { get; init; } = [];

    /// <summary>After a restore: files that it carries and that the folder has its own of.</summary>
    public IReadOnlyList<string> LeftOut { get; init; } = [];
}

/// <summary>What kept a copy from being made.</summary>
internal enum CopyFault
{
    /// <summary>Where it should go there is no room for it.</summary>
    Full,

    /// <summary>Where it should go nothing can be written, or the stick fails.</summary>
    NotWritten,

    /// <summary>The record itself cannot be read.</summary>
    RecordUnread,

    /// <summary>What was written does not read back as it must.</summary>
    CopyBad,
}

/// <summary>No copy was made; what was there before is as it was.</summary>
internal sealed class CopyProblemException(CopyFault fault, string message, Exception? inner = null) : StoreProblemException(message, inner)
{
    public CopyFault Fault { get; } = fault;
}

/// <summary>
/// Takes a copy of the record while the service writes, and puts one back. Nothing is ever overwritten: what stood in the way is kept under
/// another name.
/// </summary>
internal static class RecordCopy
{
    private static readonly string[] Companions = ["", "-wal", "-shm"];

    /// <summary>A copy as of one moment, whole and checked before it has its name.</summary>
    /// <param name="record">The record; the files beside it go into the copy as well.</param>
    /// <param name="file">Where the copy goes.</param>
    /// <param name="firstReads">What the service reads first at a start: a copy that fails there is none.</param>
    /// <exception cref="CopyProblemException">The record cannot be read, or the copy cannot be written or does not read back.</exception>
    /// <exception cref="StoreProblemException">There is a file of that name, or no folder for it.</exception>
    public static CopiedRecord Backup(string record, string file, Action<SqliteConnection>? firstReads = null)
    {
        if (File.Exists(file))
            throw new StoreProblemException(
                $"{file} is there already, and a backup does not overwrite another. Give a name that is not taken, such as one with today's date.");
        var folder = Path.GetDirectoryName(Path.GetFullPath(file));
        if (!Directory.Exists(folder))
            throw new StoreProblemException(
                $"there is no folder {folder} for the copy. Check that the folder exists, and that the stick is in.");
        var part = file + ".part";
        try
        {
            Clear(part);
            using (File.Create(part))
            {
                // Whether the place takes a file at all is said in the place's own name.
            }

            PrivateFiles.Close(part);
            using (var from = OpenRecord(record))
            using (var to = Open(part, SqliteOpenMode.ReadWriteCreate))
            {
                Copying(record, file, () => from.BackupDatabase(to));
                // One plain file, with no companion to lose.
                Copying(record, file, () => to.Execute("PRAGMA journal_mode=DELETE"));
                Copying(record, file, () => SideFiles.Add(to, Path.GetDirectoryName(Path.GetFullPath(record))!));
            }

            DiskSync.OfFile(part);
            DiskSync.Forget(part);
            var copied = ReadBack(part, file, firstReads);
            File.Move(part, file);
            DiskSync.Folder(Path.GetDirectoryName(Path.GetFullPath(file))!);
            return copied;
        }
        catch (Exception e) when (e is IOException or UnauthorizedAccessException)
        {
            throw new CopyProblemException(
                e is IOException { HResult: NoSpace } ? CopyFault.Full : CopyFault.NotWritten,
                $"the copy {file} could not be written ({e.Message}). See that there is room and that the stick holds; nothing is left of it.", e);
        }
        finally
        {
            Clear(part);
        }
    }

    /// <summary>ENOSPC, as Linux and macOS count it.</summary>
    private const int NoSpace = 28;

    private static SqliteConnection OpenRecord(string record)
    {
        try
        {
            return Open(record, SqliteOpenMode.ReadOnly);
        }
        catch (StoreProblemException e)
        {
            throw new CopyProblemException(CopyFault.RecordUnread, e.Message, e);
        }
    }

    private static CopiedRecord ReadBack(string part, string file, Action<SqliteConnection>? firstReads)
    {
        try
        {
            var copied = Look(part, file);
            if (firstReads is null) return copied;
            using var connection = Open(part, SqliteOpenMode.ReadOnly, immutable: true);
            Reading(file, () => firstReads(connection));
            return copied;
        }
        catch (StoreProblemException e)
        {
            throw new CopyProblemException(CopyFault.CopyBad, e.Message, e);
        }
    }

    /// <summary>
    /// Which of two disks refused: what is read from cannot be full, and what is written to cannot have a damaged record yet.
    /// </summary>
    private static void Copying(string record, string file, Action work)
    {
        try
        {
            work();
        }
        catch (SqliteException e) when (e.SqliteErrorCode is 13)
        {
            var size = new FileInfo(record).Length;
            throw new CopyProblemException(
                CopyFault.Full, string.Create(CultureInfo.InvariantCulture,
                    $"the disk under {file} is full: the copy takes about {size / 1e6:0.0} MB. Make room there or give another FILE; nothing is left of it."), e);
        }
        catch (SqliteException e) when (e.SqliteErrorCode is 8 or 14
            || (e.SqliteErrorCode is 10 && !ReadErrors.Contains(e.SqliteExtendedErrorCode)))
        {
            throw new CopyProblemException(
                CopyFault.NotWritten, $"the copy {file} cannot be written there ({e.Message}). See that the stick holds and may be written; nothing is left of it.", e);
        }
        catch (SqliteException e)
        {
            throw new CopyProblemException(CopyFault.RecordUnread, StoreFile.Explain(e, record), e);
        }
    }

    /// <summary>SQLITE_IOERR_READ and SQLITE_IOERR_SHORT_READ: the record's own disk.</summary>
    private static readonly int[] ReadErrors = [10 | (1 << 8), 10 | (2 << 8)];

    /// <summary>Puts a copy in the record's place.</summary>
    /// <returns>What it holds, and where the record that stood there is now; null where there was none.</returns>
    /// <exception cref="StoreProblemException">It is no whole record of this program, or the service is running.</exception>
    public static (CopiedRecord Copied, string? Aside) Restore(string file, string record, DateTimeOffset now)
    {
        var copied = Look(file, file);
        if (copied.Foreign is { } foreign)
            throw new StoreProblemException(
                $"{file} is not a record as rootcellar makes it: {foreign} Give a file that 'rootcellar backup' wrote; nothing was changed.");
        var part = record + ".part";
        // What a restore that was cut off left behind would be rolled back into this one.
        Clear(part);
        try
        {
            File.Copy(file, part, overwrite: true);
            // A copy has the mode of its original, and a stick may know none.
            PrivateFiles.Close(part);
            // What waited to be told then was told since, or is old news now.
            IReadOnlyList<(string Name, byte[] Content)> files = [];
            using (var copy = Open(part, SqliteOpenMode.ReadWrite))
                Reading(part, () =>
                {
                    copy.Execute(
                        "UPDATE outbox SET state = 'GivenUp', error = 'restored from a backup' WHERE state IN ('Waiting', 'Sending', 'Held')");
                    files = SideFiles.In(copy);
                    SideFiles.Remove(copy);
                });
            DiskSync.OfFile(part);
            BelongToFolder(part);
            // A log without its record, too: it would be rolled into this one.
            var aside = Companions.Any(c => File.Exists(record + c)) ? SetAside(record, now) : null;
            File.Move(part, record);
            var folder = Path.GetDirectoryName(Path.GetFullPath(record))!;
            DiskSync.Folder(folder);
            var (back, leftOut) = SideFiles.PutBack(files, folder, "." + Stamp(now));
            return (copied with { Files = back, LeftOut = leftOut }, aside);
        }
        finally
        {
            Clear(part);
        }
    }

    /// <summary>Reads a copy from end to end.</summary>
    /// <param name="file">What to read.</param>
    /// <param name="shown">What it is called in messages.</param>
    private static CopiedRecord Look(string file, string shown)
    {
        if (!File.Exists(file)) throw new StoreProblemException($"there is no file {shown}.");
        using var connection = Open(file, SqliteOpenMode.ReadOnly, immutable: true);
        CopiedRecord? copied = null;
        Reading(shown, () =>
        {
            var version = Convert.ToInt32(connection.Scalar("PRAGMA user_version"), CultureInfo.InvariantCulture);
            if (version == 0 || connection.Scalar(
                "SELECT count(*) FROM sqlite_schema WHERE type = 'table' AND name IN ('place', 'reading', 'outbox')") is not 3L)
                throw new StoreProblemException($"{shown} is not a record of rootcellar. Give a file that 'rootcellar backup' wrote.");
            if (version > StoreFile.CurrentVersion)
                throw new StoreProblemException(
                    $"{shown} was written by a newer rootcellar (schema {version}; this program knows up to {StoreFile.CurrentVersion}). Install the newer program first; nothing was changed.");
            if (connection.Scalar("PRAGMA integrity_check(1)") is not "ok")
                throw new StoreProblemException($"{shown} is damaged: it was not taken. Give another backup; nothing was changed.");
            copied = new CopiedRecord(
                new FileInfo(file).Length,
                // The first records had no book.
                connection.Scalar("SELECT 1 FROM sqlite_schema WHERE type = 'table' AND name = 'ledger'") is null
                    ? 0 : (long)connection.Scalar("SELECT count(*) FROM ledger")!,
                (long)connection.Scalar("SELECT count(*) FROM reading")!,
                connection.Scalar("SELECT max(at_ms) FROM reading") is long ms ? DateTimeOffset.FromUnixTimeMilliseconds(ms) : null,
                RecordSchema.Foreign(connection, version))
            { Files = [.. SideFiles.In(connection).Select(f => f.Name)] };
        });
        return copied!;
    }

    /// <summary>
    /// What root puts into the folder of a service that runs without root's rights must be the service's own, or it could not write there.
    /// The user may not even have a name while the service is stopped (systemd's DynamicUser), so the folder says who.
    /// </summary>
    public static void BelongToFolder(string file)
    {
        if (OperatingSystem.IsWindows() || !Environment.IsPrivilegedProcess || !File.Exists(file)) return;
        var folder = Path.GetDirectoryName(Path.GetFullPath(file))!;
        using var chown = Process.Start(new ProcessStartInfo("chown", [$"--reference={folder}", file])
        { RedirectStandardError = true, UseShellExecute = false });
        chown!.WaitForExit();
        if (chown.ExitCode != 0)
            throw new StoreProblemException(
                $"{file} could not be given to the owner of {folder} ({chown.StandardError.ReadToEnd().Trim()}). Nothing was changed.");
    }

    private static string Stamp(DateTimeOffset now) => now.UtcDateTime.ToString("yyyyMMdd-HHmmss", CultureInfo.InvariantCulture);

    private static void Clear(string part)
    {
        foreach (var companion in (string[])["", "-journal", "-wal", "-shm"]) File.Delete(part + companion);
    }

    private static string SetAside(string record, DateTimeOffset now)
    {
        if (InUse(record))
            throw new StoreProblemException(
                $"the record {record} is in use. Stop the service first (systemctl stop rootcellar), then restore, then start it again; nothing was changed.");
        var aside = $"{record}.{Stamp(now)}";
        foreach (var companion in Companions.Where(c => File.Exists(record + c)))
        {
            File.Move(record + companion, aside + companion);
            PrivateFiles.Close(aside + companion);
        }

        return aside;
    }

    /// <summary>
    /// Everyone who has the record open shares its log. One that is damaged nobody works on: the service leaves it alone.
    /// </summary>
    private static bool InUse(string record)
    {
        // SQLite would take an empty file for a new record and delete the log beside it.
        if (!File.Exists(record) || new FileInfo(record).Length == 0) return false;
        try
        {
            using var connection = Open(record, SqliteOpenMode.ReadWrite);
            connection.DefaultTimeout = 1;
            connection.Execute("PRAGMA busy_timeout=500");
            // Leaving the write-ahead log is for one that is alone; it makes what is set aside one plain file, too.
            return connection.Scalar("PRAGMA journal_mode=DELETE") is not "delete";
        }
        catch (SqliteException e)
        {
            return e.SqliteErrorCode is 5 or 6;
        }
    }

    private static SqliteConnection Open(string file, SqliteOpenMode mode, bool immutable = false)
    {
        var source = immutable
            ? $"file:{Uri.EscapeDataString(Path.GetFullPath(file)).Replace("%2F", "/", StringComparison.Ordinal)}?immutable=1" : file;
        var connection = new SqliteConnection(
            new SqliteConnectionStringBuilder { DataSource = source, Mode = mode, Pooling = false }.ToString());
        Reading(file, () =>
        {
            connection.Open();
            // A file from outside may be made to do harm: its own functions and virtual tables are not believed, its pages are looked at
            // before they are used. Extensions cannot be loaded: Microsoft.Data.Sqlite has that off unless asked.
            connection.Execute("PRAGMA trusted_schema=OFF; PRAGMA cell_size_check=ON; PRAGMA mmap_size=0");
        });
        return connection;
    }

    private static void Reading(string file, Action work)
    {
        try
        {
            work();
        }
        catch (SqliteException e)
        {
            throw new StoreProblemException(e.SqliteErrorCode is 11 or 26
                ? $"{file} is damaged, or is not a record of rootcellar; nothing was changed." : StoreFile.Explain(e, file), e);
        }
    }
}
