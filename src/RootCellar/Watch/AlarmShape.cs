using System.Text.Json.Serialization;

namespace RootCellar.Watch;

/// <summary>One raising of an alarm.</summary>
/// <param name="Number">The first is 1.</param>
/// <param name="ReturnedAt">When the condition was over; null while it holds.</param>
/// <param name="AcknowledgedAt">Null where nobody acknowledged it before it was over and came back.</param>
internal sealed record OccurrenceShape(
    int Number, DateTimeOffset Since, DateTimeOffset RaisedAt, DateTimeOffset? ReturnedAt, DateTimeOffset? AcknowledgedAt,
    string? AcknowledgedBy, double? Worst, double? LastedSeconds)
{
    public static OccurrenceShape Of(Alarm a) => new(
        a.Count, a.Since, a.RaisedAt, a.ReturnedAt, a.AcknowledgedAt, a.AcknowledgedBy, a.Worst, Seconds(a));

    /// <summary>While it holds it is the time since then, which a kept message cannot follow.</summary>
    public static double? Seconds(Alarm a) => a.Active ? null : Math.Round(a.Lasted(a.ReturnedAt ?? a.Since).TotalSeconds);
}

/// <summary>An alarm as API and MQTT show it; states are those of ANSI/ISA-18.2.</summary>
/// <param name="SensorName">What people call it; null where nobody gave it a name.</param>
/// <param name="EndedWhy">Only where nobody saw the condition end.</param>
internal sealed record AlarmShape(
    string Id,
    string Rule,
    string? Place,
    string? Sensor,
    string Priority,
    string State,
    bool Active,
    string Measure,
    double? Value,
    double? Limit,
    double? Worst,
    DateTimeOffset Since,
    DateTimeOffset RaisedAt,
    DateTimeOffset? AcknowledgedAt,
    string? AcknowledgedBy,
    DateTimeOffset? ReturnedAt,
    double? LastedSeconds,
    DateTimeOffset? ShelvedUntil,
    int Count,
    string? Detail,
    string? OtherSensor,
    string? SensorName,
    string? OtherSensorName,
    [property: JsonIgnore(Condition = JsonIgnoreCondition.WhenWritingNull)] string? EndedWhy = null,
    [property: JsonIgnore(Condition = JsonIgnoreCondition.WhenWritingNull)] IReadOnlyList<OccurrenceShape>? Occurrences = null)
{
    /// <param name="nameOf">What people call a sensor, by its topic.</param>
    public static AlarmShape Of(Alarm a, Func<string?, string?>? nameOf = null) => new(
        a.Id,
        a.Rule.Slug(),
        a.Place.Length == 0 ? null : a.Place,
        a.Sensor,
        a.Priority.ToString().ToLowerInvariant(),
        a.State.Slug(),
        a.Active,
        Unit(a.Measure),
        a.Value,
        a.Limit,
        a.Worst,
        a.Since,
        a.RaisedAt,
        a.AcknowledgedAt,
        a.AcknowledgedBy,
        a.ReturnedAt,
        OccurrenceShape.Seconds(a),
        a.ShelvedUntil,
        a.Count,
        a.Detail,
        a.Other,
        nameOf?.Invoke(a.Sensor),
        nameOf?.Invoke(a.Other),
        a.Ended?.Slug());

    private static string Unit(Measure measure) => measure switch
    {
        Watch.Measure.Air => "temperatureC",
        Watch.Measure.Pulp => "pulpC",
        Watch.Measure.Humidity => "relativeHumidityPercent",
        Watch.Measure.DewMargin => "condensationMarginC",
        Watch.Measure.Light => "lightLux",
        Watch.Measure.Co2 => "co2Ppm",
        Watch.Measure.Step => "seconds",
        Watch.Measure.AirSpread => "temperatureSpreadC",
        Watch.Measure.HumiditySpread => "humiditySpreadPercent",
        Watch.Measure.DiskFree => "diskFreePercent",
        _ => "none",
    };
}
