using RootCellar.Places;
using RootCellar.Readings;
using RootCellar.Watch;

namespace RootCellar.Api;

/// <summary>The JSON of the API, kept apart from the records inside so that those can change.</summary>
internal sealed record AirShape(
    double? TemperatureC,
    double? RelativeHumidityPercent,
    double? DewPointC,
    double? VapourPressureDeficitPa,
    double? PulpC,
    double? ColdestPulpC,
    double? LightLux,
    double? Co2Ppm,
    DateTimeOffset At,
    AirQuality Quality)
{
    public static AirShape? Of(PlaceAir? a) => a is null
        ? null
        : new(a.TemperatureC, a.RelativeHumidityPercent, a.DewPointC, a.VapourPressureDeficitPa, a.PulpC, a.ColdestPulpC, a.LightLux, a.Co2Ppm, a.At, a.Quality);
}

internal sealed record BandReasonShape(string Crop, Purpose Purpose, double TemperatureLowC, double TemperatureHighC, double HumidityLowPercent, double HumidityHighPercent, string Source)
{
    public static BandReasonShape Of(BandReason r) => new(
        r.Crop, r.Purpose, r.Wish.TemperatureLowC, r.Wish.TemperatureHighC, r.Wish.HumidityLowPercent, r.Wish.HumidityHighPercent, r.Source);
}

internal sealed record BandShape(
    double TemperatureLowC,
    double TemperatureHighC,
    double HumidityLowPercent,
    double HumidityHighPercent,
    double FreezingPointC,
    double? LightLimitLux,
    IEnumerable<BandReasonShape> Why,
    IEnumerable<BandReasonShape> Conflicts,
    IEnumerable<string> UnknownCrops)
{
    public static BandShape? Of(Band? b) => b is null
        ? null
        : new(
            b.Air.TemperatureLowC,
            b.Air.TemperatureHighC,
            b.Air.HumidityLowPercent,
            b.Air.HumidityHighPercent,
            b.FreezingPointC,
            b.LightLimitLux,
            b.Why.Select(BandReasonShape.Of),
            b.Conflicts.Select(BandReasonShape.Of),
            b.UnknownCrops);
}

internal sealed record PlaceShape(string Place, string Name, Purpose Purpose, double? VolumeM3, IEnumerable<string> Crops, AirShape? Air, BandShape? Bands, IEnumerable<AlarmShape> Alarms)
{
    public static PlaceShape Of(PlaceView v) => new(
        v.Place.Id, v.Place.Name, v.Place.Purpose, v.Place.VolumeM3, v.Place.Crops, AirShape.Of(v.Air), BandShape.Of(v.Band), v.Alarms.Select(AlarmShape.Of));
}

internal sealed record ReadingShape(Quantity Quantity, double? Value, DateTimeOffset At, TimeSource TimeSource, Quality Quality, string? Reason)
{
    public static ReadingShape Of(Reading r) => new(r.Quantity, double.IsFinite(r.Value) ? r.Value : null, r.At, r.TimeSource, r.Quality, r.Reason);
}

internal sealed record SensorShape(
    string Sensor,
    string? Name,
    string? Place,
    string? NamedPlace,
    DateTimeOffset FirstSeen,
    DateTimeOffset? LastArrival,
    double ExpectedIntervalSeconds,
    bool Silent,
    bool? Online,
    int Unreadable,
    IEnumerable<ReadingShape> Last)
{
    public static SensorShape Of(SensorView s) => new(
        s.Key, s.Name, s.Place, s.NamedPlace, s.FirstSeen, s.LastArrival, s.ExpectedInterval.TotalSeconds, s.Silent, s.Online, s.Unreadable, s.Last.Select(ReadingShape.Of));
}
