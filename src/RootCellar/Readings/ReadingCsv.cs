using System.Globalization;
using CsvHelper;
using Microsoft.Data.Sqlite;
using RootCellar.Storage;

namespace RootCellar.Readings;

/// <summary>What an import took: how many readings were not there yet, and of which times the file speaks, by the number of the sensor.</summary>
internal sealed record ReadingsTaken(long Added, IReadOnlyDictionary<int, (DateTimeOffset From, DateTimeOffset To)> Spans);

/// <summary>
/// Readings as CSV, as they came and in SI. <c>number</c> tells readings of one sensor, quantity and millisecond apart; a file without it is
/// taken too, its rows numbered in their order.
/// </summary>
internal static class ReadingCsv
{
    private static readonly string[] Needed = ["sensor", "quantity", "at", "value"];
    private static readonly string[] Columns = [.. Needed, "arrived_at", "time_source", "quality", "reason", "number"];

    private static readonly (Quantity Quantity, string Name)[] Names =
    [
        (Quantity.Temperature, "temperature_c"), (Quantity.Humidity, "humidity_pct"), (Quantity.Pulp, "pulp_c"), (Quantity.Light, "light_lx"),
        (Quantity.Co2, "co2_ppm"), (Quantity.Pressure, "pressure_pa"), (Quantity.Weight, "weight_kg"), (Quantity.BatteryVolts, "battery_v"),
        (Quantity.BatteryPercent, "battery_pct"), (Quantity.SignalStrength, "rssi_dbm"),
    ];

    public static long Export(SqliteConnection connection, TextWriter output, DateTimeOffset from, DateTimeOffset to)
    {
        using var csv = new CsvWriter(output, CsvFile.Format(), leaveOpen: true);
        foreach (var column in Columns) csv.WriteField(column);
        csv.NextRecord();
        // Row by row: three years of readings are more than a Pi has memory for.
        using var command = connection.Command(
            """
            SELECT s.key, r.quantity, r.at_ms, r.value, r.arrived_ms, r.time_source, r.quality, r.reason, r.seq
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
            csv.WriteField(row.DoubleOrNull(3)?.ToString("R", CultureInfo.InvariantCulture));
            csv.WriteField(CsvFile.Time(row.Time(4)));
            csv.WriteField(((TimeSource)row.GetInt32(5)).ToString());
            csv.WriteField(((Quality)row.GetInt32(6)).ToString());
            csv.WriteField(row.StringOrNull(7));
            csv.WriteField(row.GetInt64(8));
            csv.NextRecord();
            count++;
        }

        return count;
    }

    /// <summary>Adds readings that are not there yet, and the sensors they are of. Belongs to the caller's transaction.</summary>
    /// <exception cref="CsvProblemException">Something in it cannot be taken; the message says the line.</exception>
    public static ReadingsTaken Import(SqliteConnection connection, TextReader input)
    {
        using var csv = new CsvReader(input, CsvFile.Format(), leaveOpen: true);
        CsvFile.ReadHeader(csv, Needed);
        var sensors = connection.Query("SELECT key, id FROM sensor", row => (Key: row.GetString(0), Id: row.GetInt32(1))).ToDictionary(s => s.Key, s => s.Id, StringComparer.Ordinal);
        var next = SensorLeaving.NextNumber(connection);
        var numbered = csv.HeaderRecord!.Contains("number", StringComparer.Ordinal);
        using var insert = connection.Command(
            """
            INSERT OR IGNORE INTO reading (sensor, quantity, at_ms, seq, value, arrived_ms, time_source, quality, reason)
            VALUES ($sensor, $quantity, $at, $seq, $value, $arrived, $source, $quality_of, $reason)
            """,
            ("$sensor", 0), ("$quantity", 0), ("$at", 0L), ("$seq", 0L), ("$value", null), ("$arrived", 0L), ("$source", 0), ("$quality_of", 0), ("$reason", null));
        var (added, line) = (0L, 0L);
        var spans = new Dictionary<int, (DateTimeOffset From, DateTimeOffset To)>();
        while (csv.Read())
        {
            line++;
            var key = CsvFile.Text(csv, "sensor") ?? throw CsvFile.No(csv, "sensor: it is missing");
            if (!sensors.TryGetValue(key, out var sensor))
            {
                sensors.Add(key, sensor = next++);
                var named = key.Split('/') is [var place, _, ..] ? place : null;
                var known = named is not null && connection.Scalar("SELECT 1 FROM place WHERE id = $id", ("$id", named)) is not null;
                SensorRows.Save(connection, new SensorRow(sensor, key, known ? named : null, named, null, CsvFile.Moment(csv, "at"), null) { EverPlaced = true });
            }

            var quantity = Array.Find(Names, n => n.Name == csv.GetField("quantity"));
            if (quantity.Name is null) throw CsvFile.No(csv, $"quantity: '{csv.GetField("quantity")}' is not one of {string.Join(", ", Names.Select(n => n.Name))}");
            var at = CsvFile.Moment(csv, "at");
            if (at < DateTimeOffset.UnixEpoch) throw CsvFile.No(csv, $"at: {CsvFile.Time(at)} is before there were sensors; was its clock set?");
            var span = spans.GetValueOrDefault(sensor, (From: at, To: at));
            spans[sensor] = (at < span.From ? at : span.From, at > span.To ? at : span.To);
            var p = insert.Parameters;
            p["$sensor"].Value = sensor;
            p["$quantity"].Value = (int)quantity.Quantity;
            p["$at"].Value = at.ToUnixTimeMilliseconds();
            p["$seq"].Value = numbered ? Number(csv) : line;
            p["$value"].Value = (object?)Value(csv) ?? DBNull.Value;
            p["$arrived"].Value = (CsvFile.Text(csv, "arrived_at") is null ? at : CsvFile.Moment(csv, "arrived_at")).ToUnixTimeMilliseconds();
            p["$source"].Value = (int)Word(csv, "time_source", TimeSource.Device);
            p["$quality_of"].Value = (int)Word(csv, "quality", Quality.Good);
            p["$reason"].Value = (object?)CsvFile.Text(csv, "reason") ?? DBNull.Value;
            added += insert.ExecuteNonQuery();
        }

        return new ReadingsTaken(added, spans);
    }

    /// <summary>A quantity with its unit, as CSV and the mirror spell it: temperature_c.</summary>
    public static string NameOf(Quantity quantity) => Array.Find(Names, n => n.Quantity == quantity).Name;

    private static double? Value(CsvReader csv)
    {
        if (CsvFile.Text(csv, "value") is not { } text) return null;
        return double.TryParse(text, NumberStyles.Float, CultureInfo.InvariantCulture, out var value) && !double.IsNaN(value)
            ? value
            : throw CsvFile.No(csv, $"value: '{text}' is not a number; one that was not read is empty");
    }

    private static long Number(CsvReader csv) => long.TryParse(csv.GetField("number"), NumberStyles.AllowLeadingSign, CultureInfo.InvariantCulture, out var number)
        ? number
        : throw CsvFile.No(csv, $"number: '{csv.GetField("number")}' is not a whole number");

    private static T Word<T>(CsvReader csv, string column, T otherwise)
        where T : struct, Enum
    {
        if (CsvFile.Text(csv, column) is not { } text) return otherwise;
        return Enum.TryParse<T>(text, out var word) && Enum.IsDefined(word) && !char.IsAsciiDigit(text[0])
            ? word
            : throw CsvFile.No(csv, $"{column}: '{text}' is not one of {string.Join(", ", Enum.GetNames<T>())}");
    }
}
