namespace RootCellar.Watch;

/// <summary>An alarm as API and MQTT show it; states are those of ANSI/ISA-18.2.</summary>
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
    string? OtherSensor)
{
    public static AlarmShape Of(Alarm a) => new(
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
        // While it holds it is the time since then, which a kept message cannot follow.
        a.Active ? null : Math.Round(a.Lasted(a.ReturnedAt ?? a.Since).TotalSeconds),
        a.ShelvedUntil,
        a.Count,
        a.Detail,
        a.Other);

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
        _ => "none",
    };
}
