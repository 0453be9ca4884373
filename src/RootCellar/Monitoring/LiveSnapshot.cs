using RootCellar.Household;
using RootCellar.Places;
using RootCellar.Readings;
using RootCellar.Tell;
using RootCellar.Watch;

namespace RootCellar.Monitoring;

/// <summary>
/// What is known at one moment: places with their air, sensors, open alarms. It never changes, so any thread may read it for as long as it
/// likes; the next one is another. Pages, API and charts read this and wait for nobody; a change goes through
/// <see cref="Pipeline.AskAsync"/>.
/// </summary>
/// <param name="At">The moment it is of, by the wall clock.</param>
/// <param name="Sensors">By their key.</param>
/// <param name="Unreadable">The newest first.</param>
/// <param name="TurnedAway">New sensors that were turned away within the last day; null when there were none.</param>
internal sealed record LiveSnapshot(
    DateTimeOffset At,
    IReadOnlyList<PlaceView> Places,
    IReadOnlyList<SensorView> Sensors,
    IReadOnlyList<Alarm> OpenAlarms,
    IReadOnlyList<UnreadableView> Unreadable,
    TurnedAway? TurnedAway,
    IReadOnlyList<Contact> Contacts)
{
    /// <summary>The last time nobody watched; null where none is known.</summary>
    public Unwatched? Unwatched { get; init; }

    /// <summary>Before anything is known.</summary>
    public static LiveSnapshot Empty { get; } = new(DateTimeOffset.MinValue, [], [], [], [], null, []);

    public IReadOnlyList<Place> AllPlaces => [.. Places.Select(p => p.Place)];

    /// <summary>Null when there is none of that id.</summary>
    public PlaceView? Place(string id) => Places.FirstOrDefault(p => p.Place.Id == id);

    /// <summary>The sensor that took the place of the one of that key; null where none did.</summary>
    public SensorView? ReplacedBy(string key) => Sensors.FirstOrDefault(s => s.Replaces?.Old.Key == key);

    /// <summary>Null when there is none of that key.</summary>
    public SensorView? Sensor(string? key) => Sensors.FirstOrDefault(s => s.Key == key);

    /// <summary>Another sensor of a place that people would take for this one by what it is to be called; null where there is none.</summary>
    public SensorView? CalledAlike(string key, string? place, string? name) => place is null || name is null
        ? null : Sensors.FirstOrDefault(s => s.Place == place && s.Key != key && LookAlike.Of(s.Called, name));

    /// <summary>What people call a sensor; null where nobody gave it a name.</summary>
    public string? NameOf(string? key) => Sensor(key)?.Name;
}
