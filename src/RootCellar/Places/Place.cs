namespace RootCellar.Places;

/// <summary>What a place is for, which decides the bands its air is held against.</summary>
internal enum Purpose
{
    Curing,
    Storage,

    /// <summary>Outdoor air: kept and shown, never judged.</summary>
    Outdoors,
}

/// <summary>A room or a corner of one. <see cref="Id"/> is the PLACE of the MQTT topics.</summary>
internal sealed record Place(
    string Id,
    string Name,
    Purpose Purpose,
    double? VolumeM3,
    IReadOnlyList<string> Crops);

/// <summary>How much a place's air record can be relied on.</summary>
internal enum AirQuality
{
    /// <summary>Every sensor that should speak for it did.</summary>
    Good,

    /// <summary>Some sensors are silent or not believed; the rest agree well enough to judge by.</summary>
    Thin,

    /// <summary>No sensor of the place has a believable recent reading.</summary>
    None,
}

/// <summary>
/// The air of a place at one moment: medians over its believed sensors. A null figure was not measured there.
/// Dew point and deficit are derived from the median temperature and humidity, the deficit at air temperature, Pa.
/// </summary>
internal sealed record PlaceAir(
    string Place,
    DateTimeOffset At,
    double? TemperatureC,
    double? RelativeHumidityPercent,
    double? DewPointC,
    double? VapourPressureDeficitPa,
    double? PulpC,
    double? ColdestPulpC,
    double? LightLux,
    double? Co2Ppm,
    AirQuality Quality);
