using RootCellar.Places;

namespace RootCellar.Tell;

/// <summary>
/// The outdoor air held against that of a place: whether opening up would warm, dry or wet it. What a sensor cannot tell
/// apart (1 C, a dew point of 0.5 C) is neither; all is false where there is no outdoor sensor.
/// </summary>
internal readonly record struct OutdoorsCompared(bool Warmer, bool Drier, bool Wetter)
{
    public static OutdoorsCompared Of(PlaceAir? inside, PlaceAir? outdoors) => new(
        outdoors?.TemperatureC - inside?.TemperatureC > 1,
        inside?.DewPointC - outdoors?.DewPointC > 0.5,
        outdoors?.DewPointC - inside?.DewPointC > 0.5);
}
