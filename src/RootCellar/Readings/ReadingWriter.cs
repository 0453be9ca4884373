using Microsoft.Data.Sqlite;
using RootCellar.Storage;
using SQLitePCL;

namespace RootCellar.Readings;

/// <summary>A reading with the number its sensor has in the record.</summary>
internal readonly record struct StoredReading(int Sensor, Reading Reading);

/// <summary>Readings that are written together.</summary>
internal sealed class ReadingBatch(IReadOnlyList<StoredReading> readings) : IBulk
{
    public int Count => readings.Count;

    // The machine's own clock, also where the house runs on another.
    public void Write(Prepared writer) => writer.Of(connection => new ReadingWriter(connection, TimeProvider.System)).Write(readings);
}

/// <summary>The record as the rooms of readings use it.</summary>
internal static class ReadingStore
{
    /// <inheritdoc cref="Store.AppendAsync(IBulk, bool)"/>
    public static ValueTask AppendAsync(this Store store, IReadOnlyList<StoredReading> readings, bool urgent) =>
        store.AppendAsync(new ReadingBatch(readings), urgent);

    /// <inheritdoc cref="Store.QueueUrgentAsync(IBulk)"/>
    public static ValueTask<Task> QueueUrgentAsync(this Store store, IReadOnlyList<StoredReading> readings) =>
        store.QueueUrgentAsync(new ReadingBatch(readings));
}

/// <summary>
/// The insert of readings, the hot path of the record. On SQLite's own calls rather than a command with parameters: those
/// cost 1.2 kB and most of the time for every reading, and the one writer bounds what the service can take in.
/// </summary>
internal sealed class ReadingWriter : IDisposable
{
    private const int LockedTries = 2_000;

    private readonly sqlite3 db;
    private readonly sqlite3_stmt insert;
    private long arrivals;

    /// <param name="connection">The writer's.</param>
    /// <param name="time">Tells this run's numbers from those of earlier runs.</param>
    public ReadingWriter(SqliteConnection connection, TimeProvider time)
    {
        db = connection.Handle!;
        var result = raw.sqlite3_prepare_v2(
            db,
            """
            INSERT OR IGNORE INTO reading (sensor, quantity, at_ms, seq, value, arrived_ms, time_source, quality, reason)
            VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9)
            """,
            out insert);
        SqliteException.ThrowExceptionForRC(result, db);
        // Running numbers start where no earlier run's can be: after a restart within one millisecond both still stand.
        arrivals = -time.GetUtcNow().ToUnixTimeMilliseconds() * 1000;
    }

    /// <summary>Belongs to whatever transaction the connection is in.</summary>
    /// <exception cref="SqliteException">The first reading that could not be written; the caller undoes the transaction.</exception>
    public void Write(IReadOnlyList<StoredReading> readings)
    {
        for (var i = 0; i < readings.Count; i++)
        {
            var (sensor, r) = readings[i];
            raw.sqlite3_bind_int(insert, 1, sensor);
            raw.sqlite3_bind_int(insert, 2, (int)r.Quantity);
            raw.sqlite3_bind_int64(insert, 3, r.At.ToUnixTimeMilliseconds());
            raw.sqlite3_bind_int64(insert, 4, Sequence(r));
            // What is not a number becomes NULL.
            raw.sqlite3_bind_double(insert, 5, r.Value);
            raw.sqlite3_bind_int64(insert, 6, r.ArrivedAt.ToUnixTimeMilliseconds());
            raw.sqlite3_bind_int(insert, 7, (int)r.TimeSource);
            raw.sqlite3_bind_int(insert, 8, (int)r.Quality);
            if (r.Reason is null) raw.sqlite3_bind_null(insert, 9);
            else raw.sqlite3_bind_text(insert, 9, r.Reason);
            var result = Step();
            if (result != raw.SQLITE_DONE) SqliteException.ThrowExceptionForRC(result, db);
        }
    }

    public void Dispose() => insert.Dispose();

    private int Step()
    {
        var spin = new SpinWait();
        for (var tries = 1; ; tries++)
        {
            var result = raw.sqlite3_step(insert);
            raw.sqlite3_reset(insert);
            // Only the record in memory is shared with its readers so closely that one of them can be in the way.
            if ((result & 0xFF) != raw.SQLITE_LOCKED || tries == LockedTries) return result;
            spin.SpinOnce();
        }
    }

    private long Sequence(in Reading r)
    {
        if (r.TimeSource != TimeSource.Device) return --arrivals;
        var bits = (ulong)BitConverter.DoubleToInt64Bits(r.Value);
        return (long)(bits ^ (bits >> 32) * 0x9E3779B97F4A7C15UL) & long.MaxValue;
    }
}
