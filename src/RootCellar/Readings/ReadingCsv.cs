using System.Globalization;
using Microsoft.Data.Sqlite;
using RootCellar.Storage;

namespace RootCellar.Readings;

/// <summary>
/// What an import took: how many readings were not there yet, and of which times the file speaks, by the number of the sensor.
/// </summary>
internal sealed record ReadingsTaken(long Added, IReadOnlyDictionary<int, (DateTimeOffset From, DateTimeOffset To)> Spans);

/// <summary>
/// Readings as CSV, as they came and in SI. <c>number</c> tells readings of one sensor, quantity and millisecond apart; a file without it
/// is taken too, its rows numbered in their order.
/// </summary>
internal static class ReadingCsv
{
    /// <summary>Of a sensor, or of why a reading is doubted, letters.</summary>
    private const int LongestName = 1_000;

    private static readonly string[] Needed = ["sensor", "quantity", "at", "value"];
    private static readonly string[] Columns = [.. Needed, "arrived_at", "time_source", "quality", "reason", "number", "sensor_name"];

    private static readonly (Quantity Quantity, string Name)[] Names =
    [
        (Quantity.Temperature, "temperature_c"), (Quantity.Humidity, "humidity_pct"), (Quantity.Pulp, "pulp_c"),
        (Quantity.Light, "light_lx"),
        (Quantity.Co2, "co2_ppm"), (Quantity.Pressure, "pressure_pa"), (Quantity.Weight, "weight_kg"), (Quantity.BatteryVolts, "battery_v"),
        (Quantity.BatteryPercent, "battery_pct"), (Quantity.SignalStrength, "rssi_dbm"),
    ];

    public static long Export(SqliteConnection connection, TextWriter output, DateTimeOffset from, DateTimeOffset to,
        CsvFor use = CsvFor.Import)
    {
        using var csv = CsvFile.Write(output, Columns, use);
        // Row by row: three years of readings are more than a Pi has memory for.
        using var command = connection.Command(
            """
            SELECT s.key, r.quantity, r.at_ms, r.value, r.arrived_ms, r.time_source, r.quality, r.reason, r.seq, s.name
            FROM sensor s JOIN reading r ON r.sensor = s.id
            WHERE r.at_ms >= $from AND r.at_ms < $to
            ORDER BY s.key, r.quantity, r.at_ms, r.seq
            """,
            ("$from", from.ToUnixTimeMilliseconds()),
            ("$to", to.ToUnixTimeMilliseconds()));
        using var row = command.ExecuteReader();
        var count = 0L;
        while (row.Read())
        {
            csv.WriteField(row.GetString(0));
            csv.WriteField(NameOf((Quantity)row.GetInt32(1)));
            csv.WriteField(CsvFile.Time(row.Time(2)));
            csv.WriteField(CsvFile.Number(row.DoubleOrNull(3)));
            csv.WriteField(CsvFile.Time(row.Time(4)));
            csv.WriteField(((TimeSource)row.GetInt32(5)).ToString());
            csv.WriteField(((Quality)row.GetInt32(6)).ToString());
            csv.WriteField(row.StringOrNull(7));
            csv.WriteField(row.GetInt64(8));
            csv.WriteField(row.StringOrNull(9));
            csv.NextRecord();
            count++;
        }

        return count;
    }

    /// <summary>Adds readings that are not there yet, and the sensors they are of. Belongs to the caller's transaction.</summary>
    /// <param name="latest">No reading is later: one wrong year would be a thousand years of air to be made.</param>
    /// <exception cref="CsvProblemException">Something in it cannot be taken; the message says the line.</exception>
    public static ReadingsTaken Import(SqliteConnection connection, TextReader input, DateTimeOffset? latest = null)
    {
        using var csv = new CsvRows(input, Needed);
        var sensors = connection.Query("SELECT key, id FROM sensor", row => (Key: row.GetString(0), Id: row.GetInt32(1)))
            .ToDictionary(s => s.Key, s => s.Id, StringComparer.Ordinal);
        var next = SensorLeaving.NextNumber(connection);
        var numbered = csv.Has("number");
        using var insert = connection.Command(
            """
            INSERT OR IGNORE INTO reading (sensor, quantity, at_ms, seq, value, arrived_ms, time_source, quality, reason)
            VALUES ($sensor, $quantity, $at, $seq, $value, $arrived, $source, $quality_of, $reason)
            """,
            ("$sensor", 0), ("$quantity", 0), ("$at", 0L), ("$seq", 0L), ("$value", null), ("$arrived", 0L), ("$source", 0),
            ("$quality_of", 0), ("$reason", null));
        var (added, line) = (0L, 0L);
        var spans = new Dictionary<int, (DateTimeOffset From, DateTimeOffset To)>();
        while (csv.Read())
        {
            line++;
            var key = csv.Text("sensor", LongestName) ?? throw csv.No("sensor: it is missing");
            if (!sensors.TryGetValue(key, out var sensor))
            {
                sensors.Add(key, sensor = next++);
                var named = key.Split('/') is [var place, _, ..] ? place : null;
                var known = named is not null && connection.Scalar("SELECT 1 FROM place WHERE id = $id", ("$id", named)) is not null;
                if (SensorNaming.Read(csv.Text("sensor_name"), out var name) is { } odd) throw csv.No(odd.Text);
                SensorRows.Save(connection, new SensorRow(sensor, key, known ? named : null, named, name, csv.Moment("at"), null)
                { EverPlaced = true });
            }

            var quantity = Array.Find(Names, n => n.Name == csv.Text("quantity"));
            if (quantity.Name is null)
                throw csv.No($"quantity: '{csv.Short("quantity")}' is not one of {string.Join(", ", Names.Select(n => n.Name))}");
            var at = csv.Moment("at");
            if (at > latest) throw csv.No($"at: {CsvFile.Time(at)} is in the future by this machine's clock; is the year right");
            var span = spans.GetValueOrDefault(sensor, (From: at, To: at));
            spans[sensor] = (at < span.From ? at : span.From, at > span.To ? at : span.To);
            var p = insert.Parameters;
            p["$sensor"].Value = sensor;
            p["$quantity"].Value = (int)quantity.Quantity;
            p["$at"].Value = at.ToUnixTimeMilliseconds();
            p["$seq"].Value = numbered ? csv.Whole("number") ?? throw csv.No("number: it is missing") : line;
            p["$value"].Value = (object?)Value(csv) ?? DBNull.Value;
            p["$arrived"].Value = (csv.Text("arrived_at") is null ? at : csv.Moment("arrived_at")).ToUnixTimeMilliseconds();
            p["$source"].Value = (int)csv.Word("time_source", TimeSource.Device);
            p["$quality_of"].Value = (int)csv.Word("quality", Quality.Good);
            p["$reason"].Value = (object?)csv.Text("reason", LongestName) ?? DBNull.Value;
            added += insert.ExecuteNonQuery();
        }

        return new ReadingsTaken(added, spans);
    }

    /// <summary>A quantity with its unit, as CSV and the mirror spell it: temperature_c.</summary>
    public static string NameOf(Quantity quantity) => Array.Find(Names, n => n.Quantity == quantity).Name;

    private static double? Value(CsvRows csv)
    {
        if (csv.Text("value") is not { } text) return null;
        if (!double.TryParse(text, NumberStyles.Float, CultureInfo.InvariantCulture, out var value) || double.IsNaN(value))
            throw csv.No($"value: '{csv.Short("value")}' is not a number; one that was not read is empty");
        // What a broken sensor called infinite is kept as such; digits are a number that can be held.
        return double.IsFinite(value) || !text.Any(char.IsAsciiDigit)
            ? value : throw csv.No($"value: '{csv.Short("value")}' is larger than any number that can be kept");
    }
}
