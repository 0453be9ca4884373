using System.Text.Json;
using RootCellar.Readings;
using RootCellar.Science.Air;

namespace RootCellar.Api;

/// <summary>
/// The <c>calibration</c> of a sensor as it is asked for: what to put in force for which quantity (null: none), or what was wrong.
/// </summary>
internal readonly record struct CalibrationAsked(IReadOnlyList<(Quantity Quantity, Calibration? Calibration)> Changes, string? Wrong);

/// <summary>Reads it, and makes the corrections.</summary>
internal static class CalibrationBody
{
    private const string Right =
        """Right: {"calibration":{"humidity":[{"standard":"NaCl","temperatureC":12,"reads":73.1}],"temperature":[{"reference":0,"reads":0.4}]}}; null takes it off.""";

    private static readonly (string Name, Quantity Quantity)[] Quantities =
        [("humidity", Quantity.Humidity), ("temperature", Quantity.Temperature), ("pulp", Quantity.Pulp)];

    private static readonly string[] Fields = ["standard", "temperatureC", "reference", "plusOrMinus", "reads", "spread"];

    /// <summary>A quantity that is not named is left as it is.</summary>
    public static CalibrationAsked Read(JsonElement given, DateTimeOffset since)
    {
        if (given.ValueKind == JsonValueKind.Null) return new([.. Quantities.Select(q => (q.Quantity, (Calibration?)null))], null);
        if (given.ValueKind != JsonValueKind.Object) return No("calibration: an object or null.");
        var changes = new List<(Quantity, Calibration?)>();
        foreach (var property in given.EnumerateObject())
        {
            var (name, quantity) = Array.Find(Quantities, q => q.Name == property.Name);
            if (name is null) return No($"calibration: there is no '{property.Name}'; humidity, temperature and pulp can be corrected.");
            if (property.Value.ValueKind == JsonValueKind.Null)
            {
                changes.Add((quantity, null));
                continue;
            }

            if (property.Value.ValueKind != JsonValueKind.Array)
                return No($"calibration.{name}: a list of one or two references, or null.");
            var points = new List<CalibrationPoint>();
            foreach (var element in property.Value.EnumerateArray())
            {
                if (Point(element, quantity, points) is { } wrong) return No($"calibration.{name}: {wrong}.");
            }

            var (made, refusal) = Calibration.Of(quantity, since, points);
            if (made is null) return No($"calibration.{name}: {refusal}.");
            changes.Add((quantity, made));
        }

        return new(changes, null);
    }

    // Adds the point, or says what is wrong.
    private static string? Point(JsonElement given, Quantity quantity, List<CalibrationPoint> points)
    {
        if (given.ValueKind != JsonValueKind.Object) return "each reference is an object";
        foreach (var property in given.EnumerateObject())
        {
            if (!Fields.Contains(property.Name, StringComparer.Ordinal))
                return $"there is no '{property.Name}'; known are {string.Join(", ", Fields)}";
            var text = property.Name == "standard";
            if (property.Value.ValueKind != (text ? JsonValueKind.String : JsonValueKind.Number))
                return $"{property.Name} must be a {(text ? "text" : "number")}";
            // JSON can write numbers that a double cannot hold.
            if (!text && !double.IsFinite(property.Value.GetDouble())) return $"{property.Name} is too large";
        }

        if (Number(given, "reads") is not { } reads) return "reads is missing: what the sensor showed, uncorrected";
        var spread = Number(given, "spread");
        var temperature = Number(given, "temperatureC");
        if (given.TryGetProperty("standard", out var standard))
        {
            if (quantity != Quantity.Humidity) return "a salt is a standard of humidity only";
            if (temperature is null) return "temperatureC is missing: how warm the jar was";
            if (Number(given, "reference") is not null || Number(given, "plusOrMinus") is not null)
                return "a salt brings its own reference and plusOrMinus";
            var (point, refusal) = CalibrationPoint.OverSalt(standard.GetString()!, temperature.Value, reads, spread);
            if (point is null) return refusal;
            points.Add(point);
            return null;
        }

        if (Number(given, "reference") is not { } reference)
            return quantity == Quantity.Humidity ? "standard or reference is missing"
                : "reference is missing: the true temperature, 0 in an ice bath";
        var known = Number(given, "plusOrMinus")
            ?? (quantity != Quantity.Humidity && reference == 0 ? SensorCorrection.IceBathPlusOrMinusC : quantity.CheapPlusOrMinus());
        points.Add(new CalibrationPoint(null, temperature, reference, known, reads, spread));
        return null;
    }

    private static double? Number(JsonElement given, string name) => given.TryGetProperty(name, out var value) ? value.GetDouble() : null;

    private static CalibrationAsked No(string wrong) => new([], $"{wrong} {Right}");
}
