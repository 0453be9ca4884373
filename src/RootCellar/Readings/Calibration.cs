using System.Text.Json;
using Microsoft.Data.Sqlite;
using RootCellar.Science.Air;
using RootCellar.Storage;

namespace RootCellar.Readings;

/// <summary>
/// One thing a sensor was held against, as the grower said it. <see cref="Standard"/> is a salt's formula; null for anything else.
/// </summary>
internal sealed record CalibrationPoint(string? Standard, double? TemperatureC, double Reference, double PlusOrMinus, double Reads,
    double? Spread)
{
    /// <summary>The point over a salt, or why there is none.</summary>
    public static (CalibrationPoint? Point, string? Refusal) OverSalt(string formula, double temperatureC, double reads, double? spread)
    {
        var prepared = SensorCorrection.OverSalt(formula, temperatureC, reads, spread);
        return prepared.Point is { } point
            ? (new CalibrationPoint(formula, temperatureC, point.Reference, point.PlusOrMinus, reads, spread), null) : (null, prepared.Refusal);
    }
}

/// <summary>
/// How the readings of one quantity of a sensor are put right, on the way from the reading to the air of its place. The reading itself is
/// kept and judged as it came. The correction is kept with its points, so that a later program's rules cannot change what is in force.
/// </summary>
internal sealed record Calibration(Quantity Quantity, DateTimeOffset Since, IReadOnlyList<CalibrationPoint> Points, Correction Correction)
{
    /// <summary>The calibration that one or two points make, or why they make none.</summary>
    public static (Calibration? Calibration, string? Refusal) Of(Quantity quantity, DateTimeOffset since, IReadOnlyList<CalibrationPoint> points)
    {
        var fit = SensorCorrection.Fit(
            quantity.Rules(), [.. points.Select(p => new ReferencePoint(p.Reference, p.PlusOrMinus, p.Reads, p.Spread))]);
        return fit.Stands ? (new Calibration(quantity, since, points, fit.Correction), null) : (null, fit.Refusal);
    }

    /// <summary>
    /// Which of its points another may be put beside: one far enough away for a slope; of two the farther. Null where none is.
    /// </summary>
    public CalibrationPoint? GoesWith(double reference) => Points.Where(p => Math.Abs(p.Reference - reference) >= Quantity.Rules().LeastApart)
        .MaxBy(p => Math.Abs(p.Reference - reference));
}

/// <summary>Calibrations in the record.</summary>
internal static class CalibrationRows
{
    /// <summary>What is in force, by the sensor's number.</summary>
    public static ILookup<int, Calibration> InForce(SqliteConnection connection) => connection.Query(
        // SQLite takes the other columns from the row of the max.
        "SELECT sensor, body, max(id) FROM calibration GROUP BY sensor, quantity",
        row => (Sensor: row.GetInt32(0), Body: row.StringOrNull(1)))
        .Where(row => row.Body is not null)
        .ToLookup(row => row.Sensor, row => JsonSerializer.Deserialize<Calibration>(row.Body!, JsonRules.Options)!);

    /// <summary>What was in force before the last change of one quantity; null where nothing was.</summary>
    public static Calibration? Before(SqliteConnection connection, string sensor, Quantity quantity) => connection.Query(
        "SELECT c.body FROM sensor s JOIN calibration c ON c.sensor = s.id AND c.quantity = $quantity WHERE s.key = $key ORDER BY c.id DESC LIMIT 1 OFFSET 1",
        row => row.StringOrNull(0),
        ("$key", sensor),
        ("$quantity", (int)quantity)) is [{ } body] ? JsonSerializer.Deserialize<Calibration>(body, JsonRules.Options) : null;

    /// <summary>All there ever were, in the order they were made; null where one was taken off.</summary>
    public static IReadOnlyList<(int Sensor, Quantity Quantity, DateTimeOffset Since, Calibration? Calibration)> All(
        SqliteConnection connection) => connection.Query(
        "SELECT sensor, quantity, since_ms, body FROM calibration ORDER BY id",
        row => (row.GetInt32(0), (Quantity)row.GetInt32(1), row.Time(2),
            row.StringOrNull(3) is { } body ? JsonSerializer.Deserialize<Calibration>(body, JsonRules.Options) : null));

    /// <summary>Begins a calibration of one quantity, or none (null).</summary>
    public static void Save(SqliteConnection connection, int sensor, Quantity quantity, DateTimeOffset since, Calibration? calibration) =>
        connection.Execute(
        "INSERT INTO calibration (sensor, quantity, since_ms, body) VALUES ($sensor, $quantity, $since, $body)",
        ("$sensor", sensor),
        ("$quantity", (int)quantity),
        ("$since", since.ToUnixTimeMilliseconds()),
        ("$body", calibration is null ? null : JsonSerializer.Serialize(calibration, JsonRules.Options)));
}
