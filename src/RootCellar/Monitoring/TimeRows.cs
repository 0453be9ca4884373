using System.Text.Json;
using Microsoft.Data.Sqlite;
using RootCellar.Readings;
using RootCellar.Storage;
using RootCellar.Tell;
using RootCellar.Watch;

namespace RootCellar.Monitoring;

/// <summary>
/// Moves what the record was given while the time was not known to when it was. The book is not among it: its rows stand as they were
/// written, and are put right by entries (<see cref="TimeKeeper"/>).
/// </summary>
internal static class TimeRows
{
    /// <summary>The last time that was put right, so that a start after a kill does not move it twice, and knows whose entries are left.</summary>
    private const string Key = "time_put_right";

    public static TimePutRight? Last(SqliteConnection connection) =>
        Meta.Get(connection, Key) is { } kept ? JsonSerializer.Deserialize<TimePutRight>(kept, JsonRules.Options) : null;

    /// <summary>Belongs to the transaction of the caller, so all of it or nothing.</summary>
    public static void PutRight(SqliteConnection connection, TimePutRight right)
    {
        if (Last(connection) is { } last && last.From == right.From) return;
        Meta.Set(connection, Key, JsonSerializer.Serialize(right, JsonRules.Options));
        (string, object?)[] time =
        [
            ("$from", right.From.ToUnixTimeMilliseconds()), ("$to", right.To.ToUnixTimeMilliseconds()),
            ("$by", (long)Math.Round(right.By.TotalMilliseconds)), ("$ahead", (long)DeviceClock.MostAhead.TotalMilliseconds),
            ("$late", (long)DeviceClock.LateAfter.TotalMilliseconds),
        ];
        foreach (var text in OutboxRows.Held(connection)) OutboxRows.Save(connection, text.PutRight(right));
        foreach (var statement in Readings.Concat(Air).Concat(Others)) connection.Execute(statement, time);
        Alarms(connection, right);
    }

    // Each quantity by itself, so that the hours are found and not looked through. Of a sensor's rows only those of its hours are looked for: what it had stored before keeps the arrival it was given.
    private const string Since = "sensor IN (SELECT id FROM sensor) AND quantity IN (1, 2, 3, 4, 5, 6, 7, 8, 9, 10) AND at_ms >= $from";

    private const string Came = Since + " AND arrived_ms BETWEEN $from AND $to";

    // time_source: 0 the arrival's, 1 the device's own, 2 the arrival's because the device's cannot be.
    private static readonly string[] Readings =
    [
        // What has its time from us; their running numbers keep any two apart.
        $"UPDATE reading SET at_ms = at_ms + $by, arrived_ms = arrived_ms + $by WHERE time_source <> 1 AND {Came}",
        // What has its time from its device: nobody could say whether that can be. Where it cannot, it is the arrival's; the number stays one of a kind.
        $"UPDATE OR REPLACE reading SET time_source = 2, seq = -at_ms, at_ms = arrived_ms + $by, arrived_ms = arrived_ms + $by WHERE time_source = 1 AND at_ms > arrived_ms + $by + $ahead AND {Came}",
        $"UPDATE reading SET arrived_ms = arrived_ms + $by WHERE time_source = 1 AND {Came}",
        // What came late by that is noted as the file notes it itself when it comes (migration 0009).
        $"""
        INSERT INTO reading_late (sensor, from_ms, to_ms, readings)
        SELECT sensor, min(at_ms), max(at_ms), count(*) FROM reading WHERE {Since}
            AND arrived_ms BETWEEN $from + $by AND $to + $by AND time_source = 1 AND quality = 0 AND arrived_ms - at_ms > $late
        GROUP BY sensor
        ON CONFLICT (sensor) DO UPDATE SET from_ms = min(from_ms, excluded.from_ms), to_ms = max(to_ms, excluded.to_ms), readings = readings + excluded.readings
        """,
        "UPDATE mirror_reading SET at_ms = min(at_ms, $from + min($by, 0) - 1), reach_ms = min(reach_ms, $from + min($by, 0) - 1) WHERE reach_ms >= $from + min($by, 0)",
    ];

    // In two steps, for a sample may come to stand where the next one stood.
    private static readonly string[] Air =
    [
        "UPDATE air SET at_ms = -(at_ms + $by) WHERE place IN (SELECT id FROM place) AND at_ms BETWEEN $from AND $to",
        "UPDATE OR REPLACE air SET at_ms = -at_ms WHERE place IN (SELECT id FROM place) AND at_ms < 0",
        "INSERT INTO air_late (at_ms) SELECT $from + min($by, 0) WHERE $from + min($by, 0) < (SELECT CAST(value AS INTEGER) FROM meta WHERE key = 'lots_through_ms')",
        "UPDATE mirror_air SET at_ms = min(at_ms, $from + min($by, 0) - 1), reach_ms = min(reach_ms, $from + min($by, 0) - 1) WHERE reach_ms >= $from + min($by, 0)",
    ];

    private static readonly string[] Others =
    [
        "UPDATE sensor SET first_ms = first_ms + $by WHERE first_ms BETWEEN $from AND $to",
        "UPDATE sensor_stay SET since_ms = since_ms + $by WHERE since_ms BETWEEN $from AND $to",
        "UPDATE calibration SET since_ms = since_ms + $by WHERE since_ms BETWEEN $from AND $to",
        "UPDATE outbox SET sent_ms = sent_ms + $by WHERE sent_ms BETWEEN $from AND $to",
        "UPDATE outbox SET created_ms = created_ms + $by WHERE created_ms BETWEEN $from AND $to",
    ];

    // Also raisings before the present one, which a state that is written late must not touch: so the row is put in anew.
    private static void Alarms(SqliteConnection connection, TimePutRight right)
    {
        foreach (var (number, alarm) in AlarmRows.Stamped(connection, right.From, right.To)) AlarmRows.Replace(connection, number, alarm.PutRight(right));
    }
}
