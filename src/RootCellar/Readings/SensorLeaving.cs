using Microsoft.Data.Sqlite;
using RootCellar.Storage;

namespace RootCellar.Readings;

/// <summary>How sensors leave the record. A sensor's number stands for its readings, so none is ever given to another.</summary>
internal static class SensorLeaving
{
    private const string Quantities = "json_each('[1,2,3,4,5,6,7,8,9,10]')";

    /// <summary>
    /// The first number that nothing in the record bears: no sensor, none that left, and no reading whose sensor's row was never written
    /// (the disk was full, and then the power went).
    /// </summary>
    public static int NextNumber(SqliteConnection connection) => 1 + Convert.ToInt32(
        connection.Scalar(
            """
            SELECT max(
                ifnull((SELECT max(id) FROM sensor), 0),
                ifnull((SELECT max(id) FROM sensor_leaving), 0),
                ifnull((SELECT CAST(value AS INTEGER) FROM meta WHERE key = 'last_sensor'), 0),
                ifnull((SELECT max(sensor) FROM reading), 0),
                ifnull((SELECT max(sensor) FROM rollup), 0))
            """),
        System.Globalization.CultureInfo.InvariantCulture);

    /// <summary>The numbers of those forgotten whose readings stay: when one of that name speaks again, they are its own.</summary>
    public static IReadOnlyDictionary<string, int> Forgotten(SqliteConnection connection) => connection.Query(
        "SELECT key, id FROM sensor WHERE forgotten_ms IS NOT NULL", row => (Key: row.GetString(0), Id: row.GetInt32(1)))
        .ToDictionary(row => row.Key, row => row.Id, StringComparer.Ordinal);

    /// <summary>
    /// Of sensors that never were placed, for how long each had been silent when the record heard anything last. The time the service was
    /// away does not count: nobody listened. A sensor without a reading is missing.
    /// </summary>
    public static IReadOnlyDictionary<int, TimeSpan> SilentFor(SqliteConnection connection)
    {
        var last = connection.Query(
            $"""
            SELECT s.id, s.placed, max((SELECT max(r.at_ms) FROM reading r WHERE r.sensor = s.id AND r.quantity = q.value)) AS at
            FROM sensor s JOIN {Quantities} q GROUP BY s.id HAVING at IS NOT NULL
            """,
            row => (Id: row.GetInt32(0), Placed: row.GetInt32(1) != 0, At: row.GetInt64(2)));
        if (last.Count == 0) return new Dictionary<int, TimeSpan>();
        var heard = last.Max(row => row.At);
        return last.Where(row => !row.Placed).ToDictionary(row => row.Id, row => TimeSpan.FromMilliseconds(heard - row.At));
    }

    /// <summary>Takes a sensor that was placed out of the house. What it measured stays; what put its readings right ends.</summary>
    public static void Forget(SqliteConnection connection, int sensor, DateTimeOffset at)
    {
        SensorStays.Save(connection, sensor, null, at);
        connection.Execute("DELETE FROM sensor_replacement WHERE sensor = $id", ("$id", sensor));
        connection.Execute("UPDATE sensor SET place = NULL, name = NULL, forgotten_ms = $at WHERE id = $id", ("$id", sensor),
            ("$at", at.ToUnixTimeMilliseconds()));
        connection.Execute(
            """
            INSERT INTO calibration (sensor, quantity, since_ms, body)
            SELECT sensor, quantity, $at, NULL FROM (SELECT sensor, quantity, body, max(id) FROM calibration WHERE sensor = $id GROUP BY quantity) WHERE body IS NOT NULL
            """,
            ("$id", sensor),
            ("$at", at.ToUnixTimeMilliseconds()));
    }

    /// <summary>Takes sensors out of the record; their readings follow by <see cref="RemoveSome"/>.</summary>
    public static void Remove(SqliteConnection connection, IReadOnlyCollection<int> sensors)
    {
        foreach (var sensor in sensors) connection.Execute("DELETE FROM sensor WHERE id = $id", ("$id", sensor));
    }

    /// <summary>Takes out those in (<paramref name="after"/>, <paramref name="through"/>] that never were placed; how many.</summary>
    public static int RemoveNeverPlaced(SqliteConnection connection, int after, int through) => connection.Execute(
        "DELETE FROM sensor WHERE placed = 0 AND id > $after AND id <= $through", ("$after", after), ("$through", through));

    /// <summary>
    /// One small step: takes out at most about <paramref name="step"/> rows of sensors that left. How many; 0 when nothing is left to do.
    /// </summary>
    public static int RemoveSome(SqliteConnection connection, int step)
    {
        var removed = 0;
        while (removed < step && connection.Scalar("SELECT min(id) FROM sensor_leaving") is long sensor)
        {
            // First, so that the triggers of the mirror have nothing to count.
            connection.Execute("DELETE FROM mirror_reading WHERE sensor = $id", ("$id", sensor));
            var before = removed;
            removed += connection.Execute(
                """
                DELETE FROM reading WHERE (sensor, quantity, at_ms, seq) IN
                    (SELECT sensor, quantity, at_ms, seq FROM reading WHERE sensor = $id LIMIT $step)
                """,
                ("$id", sensor),
                ("$step", step - removed));
            removed += connection.Execute(
                "DELETE FROM rollup WHERE (sensor, quantity, at_ms) IN (SELECT sensor, quantity, at_ms FROM rollup WHERE sensor = $id LIMIT $step)",
                ("$id", sensor),
                ("$step", Math.Max(1, step - removed)));
            if (removed > before) continue;
            connection.Execute("DELETE FROM calibration WHERE sensor = $id", ("$id", sensor));
            connection.Execute("DELETE FROM sensor_leaving WHERE id = $id", ("$id", sensor));
            removed++;
        }

        return removed;
    }
}
