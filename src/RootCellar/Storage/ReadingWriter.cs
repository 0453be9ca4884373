using Microsoft.Data.Sqlite;
using RootCellar.Readings;

namespace RootCellar.Storage;

/// <summary>A reading with the number its sensor has in the record.</summary>
internal readonly record struct StoredReading(int Sensor, Reading Reading);

/// <summary>The prepared insert of readings, the hot path of the record.</summary>
internal sealed class ReadingWriter : IDisposable
{
    private readonly SqliteCommand insert;
    private readonly SqliteParameter[] p;
    private long arrivals;

    public ReadingWriter(SqliteConnection connection)
    {
        insert = connection.CreateCommand();
        insert.CommandText = """
            INSERT OR IGNORE INTO reading (sensor, quantity, at_ms, seq, value, arrived_ms, time_source, quality, reason)
            VALUES ($s, $q, $at, $seq, $v, $ar, $ts, $ql, $r)
            """;
        p = Array.ConvertAll<string, SqliteParameter>(["$s", "$q", "$at", "$seq", "$v", "$ar", "$ts", "$ql", "$r"], name => insert.Parameters.Add(new SqliteParameter { ParameterName = name }));
        // Running numbers start where no earlier run's can be: after a restart within one millisecond both still stand.
        arrivals = -DateTimeOffset.UtcNow.ToUnixTimeMilliseconds() * 1000;
        insert.Prepare();
    }

    /// <summary>The transaction the next writes belong to.</summary>
    public SqliteTransaction? Transaction
    {
        get => insert.Transaction;
        set => insert.Transaction = value;
    }

    public void Write(IReadOnlyList<StoredReading> readings)
    {
        for (var i = 0; i < readings.Count; i++)
        {
            var (sensor, r) = readings[i];
            p[0].Value = sensor;
            p[1].Value = (int)r.Quantity;
            p[2].Value = r.At.ToUnixTimeMilliseconds();
            p[3].Value = Sequence(r);
            p[4].Value = double.IsNaN(r.Value) ? DBNull.Value : r.Value;
            p[5].Value = r.ArrivedAt.ToUnixTimeMilliseconds();
            p[6].Value = (int)r.TimeSource;
            p[7].Value = (int)r.Quality;
            p[8].Value = (object?)r.Reason ?? DBNull.Value;
            insert.ExecuteNonQuery();
        }
    }

    public void Dispose() => insert.Dispose();

    private long Sequence(in Reading r)
    {
        if (r.TimeSource != TimeSource.Device) return --arrivals;
        var bits = (ulong)BitConverter.DoubleToInt64Bits(r.Value);
        return (long)(bits ^ (bits >> 32) * 0x9E3779B97F4A7C15UL) & long.MaxValue;
    }
}
