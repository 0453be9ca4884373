using Microsoft.Data.Sqlite;
using RootCellar.Storage;

namespace RootCellar.Readings;

/// <summary>A sensor in a place from <see cref="Since"/> (UTC) until its next stay. <see cref="Place"/> null: nowhere.</summary>
internal sealed record SensorStay(int Sensor, string? Place, DateTimeOffset Since);

/// <summary>Where sensors stood over time, in the record. <see cref="SensorRows.Save"/> writes it.</summary>
internal static class SensorStays
{
    /// <summary>All stays by the sensor's number, each sensor's in the order they were said.</summary>
    public static ILookup<int, SensorStay> All(SqliteConnection connection) => connection.Query(
        "SELECT sensor, place, since_ms FROM sensor_stay ORDER BY sensor, id",
        row => new SensorStay(row.GetInt32(0), row.StringOrNull(1), row.Time(2))).ToLookup(s => s.Sensor);

    /// <summary>Notes a new place, unless it is the old one. The first place of a sensor counts from its first reading.</summary>
    public static void Save(SqliteConnection connection, int sensor, string? place, DateTimeOffset? since) => connection.Execute(
        """
        INSERT INTO sensor_stay (sensor, place, since_ms)
        SELECT $sensor, $place, CASE WHEN EXISTS (SELECT 1 FROM sensor_stay WHERE sensor = $sensor) THEN $since ELSE 0 END
        WHERE $place IS NOT (SELECT place FROM sensor_stay WHERE sensor = $sensor ORDER BY id DESC LIMIT 1)
        """,
        ("$sensor", sensor),
        ("$place", place),
        ("$since", since?.ToUnixTimeMilliseconds() ?? 0));

    /// <summary>A sensor that never was in a place: its first one counts from when it is said, not from its first reading.</summary>
    public static void BeginNowhere(SqliteConnection connection, int sensor) => connection.Execute(
        """
        INSERT INTO sensor_stay (sensor, place, since_ms) SELECT $sensor, NULL, 0
        WHERE NOT EXISTS (SELECT 1 FROM sensor_stay WHERE sensor = $sensor)
        """,
        ("$sensor", sensor));

    /// <summary>The place of a sensor at a moment; null where it had none.</summary>
    public static string? PlaceAt(IEnumerable<SensorStay> stays, DateTimeOffset at) => stays.LastOrDefault(s => s.Since <= at)?.Place;
}
