using System.Text.Json;
using Microsoft.Data.Sqlite;
using RootCellar.Storage;

namespace RootCellar.Watch;

/// <summary>Every raising of every alarm as CSV, in SI, by when it was raised; out only.</summary>
internal static class AlarmCsv
{
    private static readonly string[] Columns =
    [
        "alarm", "number", "rule", "place", "sensor", "other_sensor", "priority", "measure", "began_at", "raised_at", "over_at", "value", "limit",
        "worst", "acknowledged_at", "acknowledged_by",
        "sensor_name", "other_sensor_name",
    ];

    /// <param name="from">Raised from this time on.</param>
    /// <param name="to">Raised before this time.</param>
    public static long Export(SqliteConnection connection, TextWriter output, DateTimeOffset from, DateTimeOffset to,
        CsvFor use = CsvFor.Import)
    {
        using var csv = CsvFile.Write(output, Columns, use);
        var names = Readings.SensorRows.Names(connection);
        using var command = connection.Command(
            "SELECT body FROM alarm_occurrence WHERE raised_ms >= $from AND raised_ms < $to ORDER BY raised_ms, alarm, number",
            ("$from", from.ToUnixTimeMilliseconds()),
            ("$to", to.ToUnixTimeMilliseconds()));
        using var row = command.ExecuteReader();
        var count = 0L;
        for (; row.Read(); count++)
        {
            var alarm = JsonSerializer.Deserialize<Alarm>(row.GetString(0), JsonRules.Options)!;
            var shape = AlarmShape.Of(alarm, key => names.GetValueOrDefault(key ?? ""));
            csv.WriteField(alarm.Id);
            csv.WriteField(alarm.Count);
            csv.WriteField(shape.Rule);
            csv.WriteField(shape.Place);
            csv.WriteField(shape.Sensor);
            csv.WriteField(shape.OtherSensor);
            csv.WriteField(shape.Priority);
            csv.WriteField(shape.Measure);
            csv.WriteField(CsvFile.Time(alarm.Since));
            csv.WriteField(CsvFile.Time(alarm.RaisedAt));
            csv.WriteField(CsvFile.Time(alarm.ReturnedAt));
            csv.WriteField(CsvFile.Number(alarm.Value));
            csv.WriteField(CsvFile.Number(alarm.Limit));
            csv.WriteField(CsvFile.Number(alarm.Worst));
            csv.WriteField(CsvFile.Time(alarm.AcknowledgedAt));
            csv.WriteField(alarm.AcknowledgedBy);
            csv.WriteField(shape.SensorName);
            csv.WriteField(shape.OtherSensorName);
            csv.NextRecord();
        }

        return count;
    }
}
