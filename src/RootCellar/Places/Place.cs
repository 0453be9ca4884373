using System.Text.Json.Serialization;
using RootCellar.Readings;

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
    IReadOnlyList<string> Crops)
{
    /// <summary>Judged also after its bins are gone; otherwise a place that was emptied is shown only.</summary>
    public bool WatchEmpty { get; init; }

    /// <summary>What texts call it, in Latin letters, where a text cannot carry its name; null: as they come nearest to the name.</summary>
    public string? ShortName { get; init; }
}

/// <summary>How much a place's air record can be relied on.</summary>
internal enum AirQuality
{
    /// <summary>Every sensor that should speak for it did.</summary>
    Good,

    /// <summary>Some sensors are silent or not believed; the rest agree well enough to judge by.</summary>
    Thin,

    /// <summary>No sensor of the place has a believable recent reading.</summary>
    None,

    /// <summary>As good or thin, but all that is known of the humidity is that it is at the <see cref="TopOfScale"/>.</summary>
    AtTop,
}

/// <summary>
/// What one believed sensor of a place says now, corrected where it has a calibration, which then says how well
/// (<see cref="PlusOrMinus"/>, in the quantity's unit; null without one).
/// </summary>
internal readonly record struct SensorValue(string Sensor, Quantity Quantity, double Value, double? PlusOrMinus);

/// <summary>
/// A temperature (C) that one sensor of a place measures, in the air or in the produce. The sensor is null where the air came without its
/// sensors.
/// </summary>
internal sealed record ColdSpot(string? Sensor, bool InProduce, double TemperatureC);

/// <summary>
/// The air of a place at one moment: medians over its believed sensors. A null figure was not measured there. Humidity at the top of the
/// scale (<see cref="AirQuality.AtTop"/>) stands as the middle of what it may be.
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
    AirQuality Quality)
{
    /// <summary>What the humidity is at the least, percent; null where it is known better, or not at all.</summary>
    public double? HumidityAtLeastPercent => Quality == AirQuality.AtTop ? TopOfScale.LowPercent : null;

    /// <summary>What each sensor says of temperature, humidity and produce; not kept in the record.</summary>
    [JsonIgnore]
    public IReadOnlyList<SensorValue> Sensors { get; init; } = [];

    /// <summary>Every temperature of the place, one by one; the figures themselves where the sensors are not known.</summary>
    [JsonIgnore]
    public IEnumerable<ColdSpot> Spots
    {
        get
        {
            foreach (var value in Sensors)
            {
                if (value.Quantity is Quantity.Temperature or Quantity.Pulp)
                    yield return new ColdSpot(value.Sensor, value.Quantity == Quantity.Pulp, value.Value);
            }

            if (Sensors.Count > 0) yield break;
            if ((ColdestPulpC ?? PulpC) is { } pulp) yield return new ColdSpot(null, true, pulp);
            if (TemperatureC is { } air) yield return new ColdSpot(null, false, air);
        }
    }

    /// <summary>The coldest sensor that is believed, in air or produce: what freezing goes by, whatever the median says.</summary>
    public ColdSpot? Coldest => Spots.MinBy(spot => spot.TemperatureC);

    /// <summary>The coldest probe in produce: what condensation goes by.</summary>
    public ColdSpot? ColdestProduce => Spots.Where(spot => spot.InProduce).MinBy(spot => spot.TemperatureC);
}
