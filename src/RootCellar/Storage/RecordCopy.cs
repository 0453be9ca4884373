using System.Diagnostics;
using System.Globalization;
using Microsoft.Data.Sqlite;

namespace RootCellar.Storage;

/// <summary>What a copy of the record holds.</summary>
/// <param name="LastReading">Time of the last reading in it; null where there is none.</param>
internal sealed record CopiedRecord(long Bytes, long Entries, long Readings, DateTimeOffset? LastReading);

/// <summary>Takes a copy of the record while the service writes, and puts one back. Nothing is ever overwritten: what stood in the way is kept under another name.</summary>
internal static class RecordCopy
{
    private static readonly string[] Companions = ["", "-wal", "-shm"];

    /// <summary>A copy as of one moment, whole and checked before it has its name.</summary>
    /// <exception cref="StoreProblemException">The record cannot be read, the copy cannot be written, or there is a file of that name.</exception>
    public static CopiedRecord Backup(string record, string file)
    {
        if (File.Exists(file)) throw new StoreProblemException($"{file} is there already, and a backup does not overwrite another. Give a name that is not taken, such as one with today's date.");
        var part = file + ".part";
        Clear(part);
        try
        {
            using (var from = Open(record, SqliteOpenMode.ReadOnly))
            using (var to = Open(part, SqliteOpenMode.ReadWriteCreate))
            {
                Reading(record, () => from.BackupDatabase(to));
                // One plain file, with no companion to lose.
                Reading(part, () => to.Execute("PRAGMA journal_mode=DELETE"));
            }

            var copied = Look(part);
            DiskSync.OfFile(part);
            File.Move(part, file);
            DiskSync.Folder(Path.GetDirectoryName(Path.GetFullPath(file))!);
            return copied;
        }
        finally
        {
            File.Delete(part);
        }
    }

    /// <summary>Puts a copy in the record's place.</summary>
    /// <returns>What it holds, and where the record that stood there is now; null where there was none.</returns>
    /// <exception cref="StoreProblemException">It is no whole record of this program, or the service is running.</exception>
    public static (CopiedRecord Copied, string? Aside) Restore(string file, string record, DateTimeOffset now)
    {
        var copied = Look(file);
        var part = record + ".part";
        // What a restore that was cut off left behind would be rolled back into this one.
        Clear(part);
        File.Copy(file, part, overwrite: true);
        try
        {
            // What waited to be told then was told since, or is old news now.
            using (var copy = Open(part, SqliteOpenMode.ReadWrite))
                Reading(part, () => copy.Execute("UPDATE outbox SET state = 'GivenUp', error = 'restored from a backup' WHERE state IN ('Waiting', 'Sending')"));
            DiskSync.OfFile(part);
            BelongToFolder(part);
            var aside = File.Exists(record) ? SetAside(record, now) : null;
            File.Move(part, record);
            DiskSync.Folder(Path.GetDirectoryName(Path.GetFullPath(record))!);
            return (copied, aside);
        }
        finally
        {
            Clear(part);
        }
    }

    /// <summary>Reads a copy from end to end.</summary>
    private static CopiedRecord Look(string file)
    {
        if (!File.Exists(file)) throw new StoreProblemException($"there is no file {file}.");
        using var connection = Open(file, SqliteOpenMode.ReadOnly, immutable: true);
        CopiedRecord? copied = null;
        Reading(file, () =>
        {
            var version = Convert.ToInt32(connection.Scalar("PRAGMA user_version"), CultureInfo.InvariantCulture);
            if (version == 0 || connection.Scalar("SELECT count(*) FROM sqlite_master WHERE name IN ('place', 'reading', 'outbox')") is not 3L)
                throw new StoreProblemException($"{file} is not a record of rootcellar. Give a file that 'rootcellar backup' wrote.");
            if (version > StoreFile.CurrentVersion)
                throw new StoreProblemException($"{file} was written by a newer rootcellar (schema {version}; this program knows up to {StoreFile.CurrentVersion}). Install the newer program first; nothing was changed.");
            if (connection.Scalar("PRAGMA integrity_check(1)") is not "ok") throw new StoreProblemException($"{file} is damaged: it was not taken. Give another backup; nothing was changed.");
            copied = new CopiedRecord(
                new FileInfo(file).Length,
                // The first records had no book.
                connection.Scalar("SELECT 1 FROM sqlite_master WHERE name = 'ledger'") is null ? 0 : (long)connection.Scalar("SELECT count(*) FROM ledger")!,
                (long)connection.Scalar("SELECT count(*) FROM reading")!,
                connection.Scalar("SELECT max(at_ms) FROM reading") is long ms ? DateTimeOffset.FromUnixTimeMilliseconds(ms) : null);
        });
        return copied!;
    }

    /// <summary>
    /// What root puts into the folder of a service that runs without root's rights must be the service's own, or it could not write there. The user may
    /// not even have a name while the service is stopped (systemd's DynamicUser), so the folder says who.
    /// </summary>
    public static void BelongToFolder(string file)
    {
        if (OperatingSystem.IsWindows() || !Environment.IsPrivilegedProcess || !File.Exists(file)) return;
        var folder = Path.GetDirectoryName(Path.GetFullPath(file))!;
        using var chown = Process.Start(new ProcessStartInfo("chown", [$"--reference={folder}", file]) { RedirectStandardError = true, UseShellExecute = false });
        chown!.WaitForExit();
        if (chown.ExitCode != 0) throw new StoreProblemException($"{file} could not be given to the owner of {folder} ({chown.StandardError.ReadToEnd().Trim()}). Nothing was changed.");
    }

    private static void Clear(string part)
    {
        foreach (var companion in (string[])["", "-journal", "-wal", "-shm"]) File.Delete(part + companion);
    }

    private static string SetAside(string record, DateTimeOffset now)
    {
        if (InUse(record)) throw new StoreProblemException($"the record {record} is in use. Stop the service first (systemctl stop rootcellar), then restore, then start it again; nothing was changed.");
        var aside = $"{record}.{now.UtcDateTime.ToString("yyyyMMdd-HHmmss", CultureInfo.InvariantCulture)}";
        foreach (var companion in Companions.Where(c => File.Exists(record + c))) File.Move(record + companion, aside + companion);
        return aside;
    }

    /// <summary>Everyone who has the record open shares its log. One that is damaged nobody works on: the service leaves it alone.</summary>
    private static bool InUse(string record)
    {
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
        var source = immutable ? $"file:{Uri.EscapeDataString(Path.GetFullPath(file)).Replace("%2F", "/", StringComparison.Ordinal)}?immutable=1" : file;
        var connection = new SqliteConnection(new SqliteConnectionStringBuilder { DataSource = source, Mode = mode, Pooling = false }.ToString());
        Reading(file, connection.Open);
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
            throw new StoreProblemException(e.SqliteErrorCode is 11 or 26 ? $"{file} is damaged, or is not a record of rootcellar; nothing was changed." : StoreFile.Explain(e, file), e);
        }
    }
}
