using RootCellar.Places;

namespace RootCellar.Demo;

/// <summary>
/// Larkmoss Farm: an invented hill farm with a curing room off the barn and a cellar dug into the north bank, where a cold spring runs.
/// </summary>
internal static class Homestead
{
    public const string Name = "Larkmoss Farm";

    public const string CuringRoom = "curing-room";

    public const string Cellar = "cellar";

    /// <summary>A shelf behind the kitchen, where nothing measures.</summary>
    public const string Pantry = "pantry";

    public const string Outdoors = "outdoors";

    public static IReadOnlyList<Place> Places { get; } =
    [
        new Place(CuringRoom, "Curing room", Purpose.Curing, 30, ["potato"]),
        new Place(Cellar, "Cellar", Purpose.Storage, 42, ["potato"]),
        new Place(Pantry, "Pantry", Purpose.Storage, null, []),
        new Place(Outdoors, "Outdoors", Purpose.Outdoors, null, []),
    ];

    /// <summary>The household's zone; where the machine has no zone data, its summer offset, which is all the story needs.</summary>
    public static TimeZoneInfo Zone { get; } = TimeZoneInfo.TryFindSystemTimeZoneById("America/New_York", out var zone)
        ? zone
        : TimeZoneInfo.CreateCustomTimeZone("America/New_York", Story.LocalOffset, "Eastern daylight time", "Eastern daylight time");

    /// <summary>Where history ends and the demo's time begins to flow: late on a warm morning.</summary>
    public static DateTimeOffset HistoryEnd { get; } = Story.At(0, 11);

    // A shed of stone off the barn's north side, earth floor wetted now and then; 600 kg in it, most of it potatoes, the rest crates and
    // the heap nobody has binned yet.
    internal static RoomShape CuringShape { get; } = new()
    {
        VolumeM3 = 30,
        OutdoorWPerK = 5,
        GroundWPerK = 75,
        GroundC = 12.2,
        AirChangesPerHour = 0.6,
        ProduceKg = 600,
        ProduceWPerK = 45,
        RespirationShare = 0.7,
        TranspirationKgPerKgSPa = 44e-12,
        DampKgPerSPa = 2.5e-8,
        SunM2 = 0.02,
    };

    // Dug into the bank, rock walls kept near 5.2 C by the spring; 850 kg in it, produce and shelves together.
    internal static RoomShape CellarShape { get; } = new()
    {
        VolumeM3 = 42,
        OutdoorWPerK = 1.5,
        GroundWPerK = 30,
        GroundC = 5.2,
        AirChangesPerHour = 0.05,
        ProduceKg = 850,
        ProduceWPerK = 90,
        RespirationShare = 0.6,
        TranspirationKgPerKgSPa = 60e-12,
        DampKgPerSPa = 48e-8,
    };

    public static IReadOnlyList<SimulatedSensor> Sensors { get; } = SensorList.All;
}
