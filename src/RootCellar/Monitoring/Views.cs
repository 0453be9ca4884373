using RootCellar.Advice;
using RootCellar.Places;
using RootCellar.Readings;
using RootCellar.Science.Air;
using RootCellar.Watch;

namespace RootCellar.Monitoring;

/// <summary>A place as it is now, for pages and API: a copy, safe to read anywhere.</summary>
/// <param name="Emptied">Bins stood there and none does now, so that its air is shown and not judged.</param>
internal sealed record PlaceView(Place Place, PlaceAir? Air, Band? Band, IReadOnlyList<SensorView> Sensors, IReadOnlyList<Alarm> Alarms,
    PlaceJudgement Judgement, bool Emptied = false)
{
    /// <summary>A place for crops: a room, or a clamp or pit outdoors in which bins stand.</summary>
    public bool Keeps => Place.Purpose != Purpose.Outdoors || Band is not null;
}

/// <summary>A sensor as it is now.</summary>
internal sealed record SensorView(
    string Key,
    string? Name,
    string? Place,
    string? NamedPlace,
    DateTimeOffset FirstSeen,
    DateTimeOffset? LastArrival,
    TimeSpan ExpectedInterval,
    bool Silent,
    bool? Online,
    bool HeardSinceStart,
    int Unreadable,
    IReadOnlyList<Reading> Last,
    IReadOnlyList<Calibration> Calibrations,
    bool EverPlaced)
{
    /// <summary>What it took the place of, while that can be taken back.</summary>
    public Replacement? Replaces { get; init; }

    /// <summary>As people call it: its name, or its topic where it has none.</summary>
    public string Called => Name ?? Key;

    /// <summary>A reading put right; null where nothing is to be put right or the reading is no number.</summary>
    public Corrected? CorrectedOf(Reading reading) => double.IsFinite(reading.Value)
        ? Calibrations.FirstOrDefault(c => c.Quantity == reading.Quantity)?.Correction.Apply(reading.Value)
        : null;
}

/// <summary>A message nobody could read, with its first bytes, for the Sensors page.</summary>
internal sealed record UnreadableView(DateTimeOffset At, string Topic, string Problem, string FirstBytes);
