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
    public static IReadOnlyList<SensorRow> All(SqliteConnection connection)
    {
        var calibrations = CalibrationRows.InForce(connection);
        return connection.Query(
            "SELECT id, key, place, named_place, name, first_ms, interval_s FROM sensor ORDER BY key",
            row => new SensorRow(
                row.GetInt32(0),
                row.GetString(1),
                row.StringOrNull(2),
                row.StringOrNull(3),
                row.StringOrNull(4),
                row.Time(5),
                row.DoubleOrNull(6),
                calibrations.Contains(row.GetInt32(0)) ? [.. calibrations[row.GetInt32(0)]] : null));
    }

    /// <summary>Writes all but the calibrations, which have rows of their own.</summary>
    /// <param name="connection">The record.</param>
    /// <param name="sensor">The sensor.</param>
    /// <param name="since">Since when it is in its place, where that is another than before.</param>
    public static void Save(SqliteConnection connection, SensorRow sensor, DateTimeOffset? since = null)
    {
        SensorStays.Save(connection, sensor.Id, sensor.Place, since);
        SaveRow(connection, sensor);
    }

    private static void SaveRow(SqliteConnection connection, SensorRow sensor) => connection.Execute(
        """
        INSERT INTO sensor (id, key, place, named_place, name, first_ms, interval_s) VALUES ($id, $key, $place, $named, $name, $first, $interval)
        ON CONFLICT (id) DO UPDATE SET place = excluded.place, named_place = excluded.named_place, name = excluded.name, interval_s = excluded.interval_s
        """,
        ("$id", sensor.Id),
        ("$key", sensor.Key),
        ("$place", sensor.Place),
        ("$named", sensor.NamedPlace),
        ("$name", sensor.Name),
        ("$first", sensor.FirstSeen.ToUnixTimeMilliseconds()),
        ("$interval", sensor.IntervalSeconds));

    /// <summary>The readings of every sensor since <paramref name="from"/>, oldest first, with the sensor's number; running numbers go down.</summary>
    public static IReadOnlyList<StoredReading> Since(SqliteConnection connection, DateTimeOffset from) => connection.Query(
        """
        SELECT r.sensor, s.key, r.quantity, r.value, r.at_ms, r.arrived_ms, r.time_source, r.quality, r.reason
        FROM sensor s JOIN reading r ON r.sensor = s.id AND r.quantity BETWEEN 1 AND 10 AND r.at_ms >= $from
        ORDER BY r.arrived_ms, r.at_ms, r.seq DESC
        """,
        Reading,
        ("$from", from.ToUnixTimeMilliseconds()));

    /// <summary>The readings of some sensors in [from, to], in the order they were measured, one by one: years of them do not fit into memory.</summary>
    public static IEnumerable<StoredReading> Of(SqliteConnection connection, IReadOnlyList<int> sensors, DateTimeOffset from, DateTimeOffset to)
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
