using RootCellar.Monitoring;
using RootCellar.Places;
using RootCellar.Readings;
using RootCellar.Science.Air;
using RootCellar.Watch;

namespace RootCellar.Api;

/// <summary>The JSON of the API, kept apart from the records inside so that those can change.</summary>
internal sealed record AirShape(
    double? TemperatureC,
    double? RelativeHumidityPercent,
    double? HumidityAtLeastPercent,
    double? DewPointC,
    double? VapourPressureDeficitPa,
    double? PulpC,
    double? ColdestPulpC,
    double? LightLux,
    double? Co2Ppm,
    DateTimeOffset At,
    AirQuality Quality,
    ColdSpot? Coldest,
    ColdSpot? ColdestProduce)
{
    public static AirShape? Of(PlaceAir? a) => a is null
        ? null
        : new(a.TemperatureC, a.RelativeHumidityPercent, a.HumidityAtLeastPercent, a.DewPointC, a.VapourPressureDeficitPa, a.PulpC, a.ColdestPulpC, a.LightLux,
            a.Co2Ppm, a.At, a.Quality, a.Coldest, a.ColdestProduce);
}

internal sealed record BandReasonShape(string Crop, Purpose Purpose, double TemperatureLowC, double TemperatureHighC,
    double HumidityLowPercent, double HumidityHighPercent, string Source)
{
    public static BandReasonShape Of(BandReason r) => new(
        r.Crop, r.Purpose, r.Wish.TemperatureLowC, r.Wish.TemperatureHighC, r.Wish.HumidityLowPercent, r.Wish.HumidityHighPercent,
        r.Source);
}

/// <param name="Side">cold, warm, dry or wet.</param>
/// <param name="At">Where harm begins: C, or percent.</param>
internal sealed record LimitReasonShape(string Crop, string Side, double At, string Source)
{
    public static LimitReasonShape Of(LimitReason r) => new(r.Crop, r.Side.ToString().ToLowerInvariant(), Math.Round(r.At, 2), r.Source);
}

/// <summary>Where alarms begin; null where nothing there is too damp short of dew.</summary>
internal sealed record LimitsShape(double ColdC, double WarmC, double DryPercent, double? WetPercent, IEnumerable<LimitReasonShape> Why,
    IEnumerable<LimitReasonShape> Unsuited)
{
    public static LimitsShape Of(AlarmLimits l) => new(
        Math.Round(l.ColdC, 2), Math.Round(l.WarmC, 2), l.DryPercent, l.KeptDry ? l.WetPercent : null, l.Why.Select(LimitReasonShape.Of),
        l.Unsuited.Select(LimitReasonShape.Of));
}

internal sealed record BandShape(
    double TemperatureLowC,
    double TemperatureHighC,
    double HumidityLowPercent,
    double HumidityHighPercent,
    LimitsShape Limits,
    double FreezingPointC,
    double? LightLimitLux,
    IEnumerable<BandReasonShape> Why,
    IEnumerable<BandReasonShape> Conflicts,
    IEnumerable<string> UnknownCrops)
{
    /// <returns>Null also outdoors, where frost alone is watched.</returns>
    public static BandShape? Of(Band? b) => b is null or { FrostOnly: true }
        ? null
        : new(
            b.Air.TemperatureLowC,
            b.Air.TemperatureHighC,
            b.Air.HumidityLowPercent,
            b.Air.HumidityHighPercent,
            LimitsShape.Of(b.Limits),
            b.FreezingPointC,
            b.LightLimitLux,
            b.Why.Select(BandReasonShape.Of),
            b.Conflicts.Select(BandReasonShape.Of),
            b.UnknownCrops);
}

/// <param name="Emptied">Bins stood there and none does now: its air is not judged unless <see cref="WatchEmpty"/>.</param>
internal sealed record PlaceShape(string Place, string Name, Purpose Purpose, double? VolumeM3, IEnumerable<string> Crops,
    bool WatchEmpty, string? ShortName, bool Emptied, AirShape? Air, BandShape? Bands, IEnumerable<AlarmShape> Alarms)
{
    public static PlaceShape Of(PlaceView v) => new(
        v.Place.Id, v.Place.Name, v.Place.Purpose, v.Place.VolumeM3, v.Place.Crops, v.Place.WatchEmpty, v.Place.ShortName,
        v.Emptied, AirShape.Of(v.Air), BandShape.Of(v.Band),
        v.Alarms.Select(a => AlarmShape.Of(a, key => v.Sensors.FirstOrDefault(s => s.Key == key)?.Name)));
}

/// <summary>A last reading as it came, and put right where the sensor has a calibration.</summary>
internal sealed record ReadingShape(
    Quantity Quantity, double? Value, DateTimeOffset At, TimeSource TimeSource, Quality Quality, string? Reason,
    CorrectedReadingShape? Corrected)
{
    public static ReadingShape Of(SensorView s, Reading r) => new(
        r.Quantity, double.IsFinite(r.Value) ? r.Value : null, r.At, r.TimeSource, r.Quality, r.Reason,
        CorrectedReadingShape.Of(s.CorrectedOf(r)));
}

internal sealed record CorrectedReadingShape(double Value, double PlusOrMinus, bool Extrapolated)
{
    public static CorrectedReadingShape? Of(Corrected? c) => c is { } corrected
        ? new(Math.Round(corrected.Value, 3), Math.Round(corrected.PlusOrMinus, 3), corrected.Extrapolated)
        : null;
}

internal sealed record CalibrationShape(DateTimeOffset Since, double Slope, double Offset, double From, double To,
    IReadOnlyList<CalibrationPoint> Points)
{
    public static CalibrationShape? Of(SensorView s, Quantity quantity) =>
        s.Calibrations.FirstOrDefault(c => c.Quantity == quantity) is { } c
        ? new(c.Since, c.Correction.Slope, c.Correction.Offset, c.Correction.From, c.Correction.To, c.Points)
        : null;
}

internal sealed record CalibrationsShape(CalibrationShape? Humidity, CalibrationShape? Temperature, CalibrationShape? Pulp)
{
    public static CalibrationsShape? Of(SensorView s) => s.Calibrations.Count == 0
        ? null
        : new(CalibrationShape.Of(s, Quantity.Humidity), CalibrationShape.Of(s, Quantity.Temperature),
            CalibrationShape.Of(s, Quantity.Pulp));
}

/// <summary>Messages of new sensors that were turned away, up to now; nothing since a day shows as 0. Times are null then.</summary>
internal sealed record TurnedAwayShape(long Messages, long ByHouse, long ByClient, string? Client, DateTimeOffset? Since,
    DateTimeOffset? Last)
{
    public static TurnedAwayShape Of(TurnedAway? run) =>
        new(run?.Messages ?? 0, run?.ByHouse ?? 0, run?.ByClient ?? 0, run?.Client, run?.Since, run?.Last);
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
    CalibrationsShape? Calibration,
    string? Replaces,
    DateTimeOffset? ReplacedAt,
    IEnumerable<ReadingShape> Last)
{
    public static SensorShape Of(SensorView s) => new(
        s.Key,
        s.Name,
        s.Place,
        s.NamedPlace,
        s.FirstSeen,
        s.LastArrival,
        s.ExpectedInterval.TotalSeconds,
        s.Silent,
        s.Online,
        s.Unreadable,
        CalibrationsShape.Of(s),
        s.Replaces?.Old.Key,
        s.Replaces?.At,
        s.Last.Select(r => ReadingShape.Of(s, r)));
}
