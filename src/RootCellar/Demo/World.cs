namespace RootCellar.Demo;

/// <summary>The homestead at one whole minute: what is truly there, before any sensor errs about it.</summary>
internal sealed record Scene(DateTimeOffset At, OutdoorAir Outdoor, RoomState CuringRoom, RoomState Cellar, double CellarLightLux);

/// <summary>
/// The rooms under the weather and the story, in steps of one minute on a fixed grid, so that the same minute is always
/// the same whatever was asked before. Not thread safe; it only goes forward.
/// </summary>
internal sealed class World
{
    private const double DoorAirChangesPerHour = 12;
    private const double LampW = 10;
    private const double LampLux = 140;

    // Long enough for the produce to forget what it was started at.
    private static readonly TimeSpan Settling = TimeSpan.FromDays(4);

    private readonly Weather weather = new(Story.At(0, 12));
    private RoomState curingRoom;
    private RoomState cellar;

    public World(DateTimeOffset from)
    {
        Now = Minute(from - Settling);
        curingRoom = Room.Start(Homestead.CuringShape, 12.5, 90);
        cellar = Room.Start(Homestead.CellarShape, 6.2, 93);
        AdvanceTo(from);
    }

    public DateTimeOffset Now { get; private set; }

    /// <summary>The scene at the last whole minute up to the instant, or now where the instant is already past.</summary>
    public Scene AdvanceTo(DateTimeOffset instant)
    {
        while (Now + Room.LongestStep <= instant)
        {
            var outdoor = weather.At(Now);
            var door = DoorAirChangesPerHour * Story.CuringDraught(Now);
            var lamp = Story.CellarLampOn(Now) ? LampW : 0;
            curingRoom = Room.Step(Homestead.CuringShape, curingRoom, new RoomDrive(outdoor, door), Room.LongestStep).State;
            cellar = Room.Step(Homestead.CellarShape, cellar, new RoomDrive(outdoor, LampW: lamp), Room.LongestStep).State;
            Now += Room.LongestStep;
        }

        return new Scene(Now, weather.At(Now), curingRoom, cellar, Story.CellarLampOn(Now) ? LampLux : 0);
    }

    private static DateTimeOffset Minute(DateTimeOffset instant) =>
        new(instant.UtcTicks - instant.UtcTicks % TimeSpan.TicksPerMinute, TimeSpan.Zero);
}
