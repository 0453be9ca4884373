using System.Globalization;
using System.Reflection;
using Microsoft.Data.Sqlite;
using RootCellar.Household;

namespace RootCellar.Storage;

/// <summary>Why the record cannot be opened or written, in words for the grower: what is wrong, where, what to do.</summary>
internal class StoreProblemException(string message, Exception? inner = null) : Exception(message, inner)
{
    /// <summary>The record could not be opened at the start, so that nothing is kept before the next one.</summary>
    public bool UntilRestart { get; init; }
}

/// <summary>Opens the one SQLite file and brings it forward to this program's schema.</summary>
internal static class StoreFile
{
    public const string Name = "rootcellar.db";

    private static readonly IReadOnlyList<(int Version, string Sql)> Migrations = LoadMigrations();

    public static int CurrentVersion => Migrations[^1].Version;

    /// <summary>
    /// Opens for writing, creating and migrating as needed.
    /// </summary>
    /// <exception cref="StoreProblemException">The file is newer than this program, unreadable, lost, or cannot be written.</exception>
    public static SqliteConnection OpenForWriting(string connectionString, string shownPath, Action<SqliteConnection>? firstReads = null)
    {
        if (new SqliteConnectionStringBuilder(connectionString) is { Mode: not SqliteOpenMode.Memory, DataSource: not ":memory:" })
            LostRecord.ThrowIfLost(shownPath);
        var connection = new SqliteConnection(connectionString);
        try
        {
            connection.Open();
            connection.Execute("PRAGMA journal_mode=WAL; PRAGMA busy_timeout=5000; PRAGMA synchronous=NORMAL; PRAGMA temp_store=MEMORY; PRAGMA wal_autocheckpoint=2000;");
            Migrate(connection, shownPath);
            firstReads?.Invoke(connection);
            // A file that opens may still refuse the first write; better said now than at the first alarm.
            connection.Execute("BEGIN IMMEDIATE; INSERT INTO meta (key, value) VALUES ('opened', datetime('now')) ON CONFLICT (key) DO UPDATE SET value = excluded.value; COMMIT;");
            return connection;
        }
        catch (SqliteException e)
        {
            connection.Dispose();
            throw new StoreProblemException(Explain(e, shownPath), e);
        }
        catch
        {
            connection.Dispose();
            throw;
        }
    }

    /// <summary>For what only reads: to SQLite even a reader of an empty file deletes the log beside it.</summary>
    /// <exception cref="StoreProblemException">There is no record, or it is lost.</exception>
    public static void MustBeThere(string path)
    {
        LostRecord.ThrowIfLost(path);
        if (!File.Exists(path))
            throw new StoreProblemException(
                $"there is no record in {Path.GetDirectoryName(path)}. Give the service's data folder: --data DIR.");
    }

    /// <summary>The schema that a record of this version has, in memory.</summary>
    public static SqliteConnection SchemaOf(int version)
    {
        var connection = new SqliteConnection("Data Source=:memory:");
        connection.Open();
        Migrate(connection, "memory", version);
        return connection;
    }

    /// <summary>
    /// Opens for writing beside the running service, which has brought the file to its own schema and goes on with that one.
    /// </summary>
    /// <exception cref="StoreProblemException">There is no record, it cannot be written, or it is of another schema than this
    /// program's.</exception>
    public static SqliteConnection OpenBesideService(string connectionString, string shownPath)
    {
        MustBeThere(shownPath);
        var connection = new SqliteConnection(connectionString);
        try
        {
            connection.Open();
            connection.Execute("PRAGMA busy_timeout=5000; PRAGMA synchronous=FULL;");
            var version = Convert.ToInt32(connection.Scalar("PRAGMA user_version"), CultureInfo.InvariantCulture);
            if (version == CurrentVersion) return connection;
            throw new StoreProblemException(
                $"The record {shownPath} has schema {version} and this program {CurrentVersion}: the service that runs is another version. Restart it with this one, then try again.");
        }
        catch (SqliteException e)
        {
            connection.Dispose();
            throw new StoreProblemException(Explain(e, shownPath), e);
        }
        catch
        {
            connection.Dispose();
            throw;
        }
    }

    /// <summary>What a SQLite error means to the person at the machine.</summary>
    public static string Explain(SqliteException e, string path) => e.SqliteErrorCode switch
    {
        8 => Strings.RecordReadOnly.With(path),
        10 => Strings.RecordDisk.With(path, e.Message),
        11 or 26 => Strings.RecordDamaged.With(path),
        13 => Strings.RecordFull.With(path),
        14 => Strings.RecordNotOpened.With(path),
        _ => Strings.RecordNotUsed.With(path, e.Message),
    };

    private static void Migrate(SqliteConnection connection, string shownPath, int upTo = int.MaxValue)
    {
        var version = Convert.ToInt32(connection.Scalar("PRAGMA user_version"), CultureInfo.InvariantCulture);
        if (version > CurrentVersion)
        {
            throw new StoreProblemException(
                $"The record {shownPath} was written by a newer rootcellar (schema {version}; this program knows up to {CurrentVersion}). Install the newer program again; nothing was changed.");
        }

        foreach (var (next, sql) in Migrations.Where(m => m.Version > version && m.Version <= upTo))
        {
            using var transaction = connection.BeginTransaction(deferred: false);
            connection.Execute(sql);
            connection.Execute($"PRAGMA user_version={next}");
            transaction.Commit();
        }
    }

    private static List<(int, string)> LoadMigrations()
    {
        var assembly = Assembly.GetExecutingAssembly();
        const string prefix = "RootCellar.Storage.Migrations.";
        return assembly.GetManifestResourceNames()
            .Where(n => n.StartsWith(prefix, StringComparison.Ordinal))
            .Select(n => (int.Parse(n.AsSpan(prefix.Length, 4), CultureInfo.InvariantCulture), Read(assembly, n)))
            .OrderBy(m => m.Item1)
            .ToList();
    }

    private static string Read(Assembly assembly, string name)
    {
        using var reader = new StreamReader(assembly.GetManifestResourceStream(name)!);
        return reader.ReadToEnd();
    }
}
