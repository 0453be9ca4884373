using System.Text.Json;
using Microsoft.Data.Sqlite;
using RootCellar.Storage;

namespace RootCellar.Readings;

/// <summary>A sensor took another's place.</summary>
/// <param name="Old">The one that was there, as it stood.</param>
/// <param name="New">The one that took its place, as it stood before.</param>
internal sealed record Replacement(SensorRow Old, SensorRow New, DateTimeOffset At);

/// <summary>Replacements in the record, by the number of the new sensor.</summary>
internal static class ReplacementRows
{
    public static IReadOnlyDictionary<int, Replacement> All(SqliteConnection connection) => connection.Query(
        "SELECT sensor, body FROM sensor_replacement",
        row => (Sensor: row.GetInt32(0), Body: JsonSerializer.Deserialize<Replacement>(row.GetString(1), JsonRules.Options)!))
        .ToDictionary(row => row.Sensor, row => row.Body);

    /// <summary>The new one is in, and the old one out, from that moment on. It keeps its password: it may be mended and come again.</summary>
    /// <param name="now">The new sensor as it stands now.</param>
    public static void Save(SqliteConnection connection, Replacement replacement, SensorRow now)
    {
        // What it measured on the bench is not the place's, though its first place counts from its first reading.
        SensorStays.BeginNowhere(connection, now.Id);
        SensorRows.Save(connection, now, replacement.At);
        SensorLeaving.Forget(connection, replacement.Old.Id, replacement.At);
        connection.Execute(
            "INSERT INTO sensor_replacement (sensor, body) VALUES ($id, $body) ON CONFLICT (sensor) DO UPDATE SET body = excluded.body",
            ("$id", now.Id),
            ("$body", JsonSerializer.Serialize(replacement, JsonRules.Options)));
    }

    /// <summary>Both stand as they did, from <paramref name="at"/> on.</summary>
    public static void TakeBack(SqliteConnection connection, SensorRow old, SensorRow now, DateTimeOffset at)
    {
        SensorRows.Save(connection, old, at);
        foreach (var calibration in old.Calibrations ?? [])
            CalibrationRows.Save(connection, old.Id, calibration.Quantity, at, calibration);
        SensorRows.Save(connection, now, at);
        connection.Execute("DELETE FROM sensor_replacement WHERE sensor = $id", ("$id", now.Id));
    }
}
