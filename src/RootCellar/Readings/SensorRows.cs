using System.Text.Json;
using Microsoft.Data.Sqlite;
using RootCellar.Storage;

namespace RootCellar.Readings;

/// <summary>
/// A sensor as the record knows it. <see cref="Place"/> is where it was placed; <see cref="NamedPlace"/> what its topic calls the place;
/// <see cref="Calibrations"/> what is in force, null where nothing is.
/// </summary>
internal sealed record SensorRow(
    int Id,
    string Key,
    string? Place,
    string? NamedPlace,
    string? Name,
    DateTimeOffset FirstSeen,
    double? IntervalSeconds,
    IReadOnlyList<Calibration>? Calibrations = null)
{
    /// <summary>
    /// Whether it ever was in a place, or somebody named or calibrated it: then it does not leave by itself, and what it measured stays.
    /// </summary>
    public bool EverPlaced { get; init; } = Place is not null || Name is not null || Calibrations is not null;

    public Calibration? CalibrationOf(Quantity quantity)
    {
        if (Calibrations is null) return null;
        foreach (var calibration in Calibrations)
        {
            if (calibration.Quantity == quantity) return calibration;
        }

        return null;
    }
}

/// <summary>Sensors and their readings in the record.</summary>
internal static class SensorRows
{
    public static IReadOnlyList<SensorRow> All(SqliteConnection connection) => All(connection, int.MaxValue);

    /// <summary>
    /// All that are not forgotten; of those that never were placed only the oldest, for a flood of invented ones must not end a start.
    /// </summary>
    /// <param name="most">The most in all; those that were placed are all there, however many they are.</param>
    public static IReadOnlyList<SensorRow> All(SqliteConnection connection, int most) => Rows(
        connection,
        """
        forgotten_ms IS NULL AND (placed = 1 OR id IN (SELECT id FROM sensor WHERE placed = 0 AND forgotten_ms IS NULL ORDER BY id
            LIMIT max(0, $most - (SELECT count(*) FROM sensor WHERE placed = 1 AND forgotten_ms IS NULL))))
        """,
        most);

    /// <summary>Those that ever stood in a place, also the forgotten: the past is theirs too.</summary>
    public static IReadOnlyList<SensorRow> OnceInPlace(SqliteConnection connection) =>
        Rows(connection, "id IN (SELECT sensor FROM sensor_stay)", 0);

    /// <summary>What people call sensors, by their topic; those without a name are missing.</summary>
    public static IReadOnlyDictionary<string, string> Names(SqliteConnection connection) => connection.Query(
        "SELECT key, name FROM sensor WHERE name IS NOT NULL", row => (Key: row.GetString(0), Name: row.GetString(1)))
        .ToDictionary(row => row.Key, row => row.Name, StringComparer.Ordinal);

    private static List<SensorRow> Rows(SqliteConnection connection, string where, int most)
    {
        var calibrations = CalibrationRows.InForce(connection);
        return connection.Query(
            $"SELECT id, key, place, named_place, name, first_ms, interval_s, placed FROM sensor WHERE {where} ORDER BY key",
            row => new SensorRow(
                row.GetInt32(0),
                row.GetString(1),
                row.StringOrNull(2),
                row.StringOrNull(3),
                row.StringOrNull(4),
                row.Time(5),
                row.DoubleOrNull(6),
                calibrations.Contains(row.GetInt32(0)) ? [.. calibrations[row.GetInt32(0)]] : null)
            {
                EverPlaced = row.GetInt32(7) != 0,
            },
            ("$most", most));
    }

    /// <summary>Writes all but the calibrations, which have rows of their own.</summary>
    /// <param name="connection">The record.</param>
    /// <param name="sensor">The sensor.</param>
    /// <param name="since">Since when it is in its place, where that is another than before.</param>
    public static void Save(SqliteConnection connection, SensorRow sensor, DateTimeOffset? since = null)
    {
        // One of that name may have left while the record could not be written, and its going not be written yet.
        connection.Execute("DELETE FROM sensor WHERE key = $key AND id <> $id", ("$key", sensor.Key), ("$id", sensor.Id));
        SensorStays.Save(connection, sensor.Id, sensor.Place, since);
        Upsert(connection, sensor);
    }

    /// <summary>What is expected of a sensor's rhythm; nothing where the sensor has left meanwhile.</summary>
    public static void SaveInterval(SqliteConnection connection, int sensor, double seconds) => connection.Execute(
        "UPDATE sensor SET interval_s = $interval WHERE id = $id", ("$id", sensor), ("$interval", seconds));

    private static void Upsert(SqliteConnection connection, SensorRow sensor) => connection.Execute(
        """
        INSERT INTO sensor (id, key, place, named_place, name, first_ms, interval_s, placed)
        VALUES ($id, $key, $place, $named, $name, $first, $interval, $placed)
        ON CONFLICT (id) DO UPDATE SET place = excluded.place, named_place = excluded.named_place, name = excluded.name,
            interval_s = excluded.interval_s, placed = max(placed, excluded.placed), forgotten_ms = NULL
        """,
        ("$id", sensor.Id),
        ("$placed", sensor.EverPlaced ? 1 : 0),
        ("$key", sensor.Key),
        ("$place", sensor.Place),
        ("$named", sensor.NamedPlace),
        ("$name", sensor.Name),
        ("$first", sensor.FirstSeen.ToUnixTimeMilliseconds()),
        ("$interval", sensor.IntervalSeconds));

    /// <summary>
    /// The readings of every sensor since <paramref name="from"/>, oldest first, with the sensor's number; running numbers go down. Of each
    /// quantity of a sensor the last <paramref name="most"/>, one by one: a sensor may send a thousand a second.
    /// </summary>
    public static IEnumerable<StoredReading> Since(SqliteConnection connection, DateTimeOffset from, int most = int.MaxValue)
    {
        using var command = connection.Command(
            """
            SELECT r.sensor, s.key, r.quantity, r.value, r.at_ms, r.arrived_ms, r.time_source, r.quality, r.reason
            FROM sensor s JOIN json_each('[1,2,3,4,5,6,7,8,9,10]') q
            JOIN reading r ON r.sensor = s.id AND r.quantity = q.value AND r.at_ms >= max($from, ifnull(
                (SELECT at_ms FROM reading WHERE sensor = s.id AND quantity = q.value ORDER BY at_ms DESC LIMIT 1 OFFSET $most), $from))
            ORDER BY r.arrived_ms, r.at_ms, r.seq DESC
            """,
            ("$from", from.ToUnixTimeMilliseconds()),
            ("$most", most));
        using var row = command.ExecuteReader();
        while (row.Read()) yield return Reading(row);
    }

    /// <summary>
    /// The readings of some sensors in [from, to], in the order they were measured, one by one: years of them do not fit into memory.
    /// </summary>
    public static IEnumerable<StoredReading> Of(SqliteConnection connection, IReadOnlyList<int> sensors, DateTimeOffset from,
        DateTimeOffset to)
    {
        using var command = connection.Command(
            """
            SELECT r.sensor, s.key, r.quantity, r.value, r.at_ms, r.arrived_ms, r.time_source, r.quality, r.reason
            FROM sensor s JOIN reading r ON r.sensor = s.id AND r.quantity BETWEEN 1 AND 10 AND r.at_ms BETWEEN $from AND $to
            WHERE s.id IN (SELECT value FROM json_each($sensors))
            ORDER BY r.at_ms, r.seq DESC
            """,
            ("$sensors", JsonSerializer.Serialize(sensors)),
            ("$from", from.ToUnixTimeMilliseconds()),
            ("$to", to.ToUnixTimeMilliseconds()));
        using var row = command.ExecuteReader();
        while (row.Read()) yield return Reading(row);
    }

    private static StoredReading Reading(SqliteDataReader row) => new(row.GetInt32(0), new Reading(
        row.GetString(1),
        (Quantity)row.GetInt32(2),
        row.IsDBNull(3) ? double.NaN : row.GetDouble(3),
        row.Time(4),
        row.Time(5),
        (TimeSource)row.GetInt32(6),
        (Quality)row.GetInt32(7),
        row.StringOrNull(8)));
}
