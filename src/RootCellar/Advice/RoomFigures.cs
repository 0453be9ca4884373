using RootCellar.Science.Air;
using RootCellar.Science.Cellar;

namespace RootCellar.Advice;

/// <summary>What is said of opening door and vent now; never another thing than the judgement's order of work.</summary>
internal enum DoorSays
{
    /// <summary>Nothing: nobody measures here or outdoors, or the judgement keeps people out or has the door for airing.</summary>
    Nothing,

    /// <summary>The judgement says open.</summary>
    Open,

    /// <summary>Nothing asks for it; what it would do is told.</summary>
    IfOpened,

    /// <summary>It would not help what is wrong.</summary>
    NoHelp,
    WouldWet,
    WouldFreeze,
}

/// <summary>How long something takes; null where it does not come about at all, or not in the time that is looked ahead.</summary>
internal sealed record TimeTaken(double? Soonest, double? Expected, double? Latest);

/// <param name="UntilC">What the judgement has it shut at.</param>
/// <param name="Until">Minutes until then; looked ahead for half a day.</param>
/// <param name="After">Air and produce after half an hour; null where it should stay shut.</param>
internal sealed record DoorFigures(DoorSays Says, double? UntilC = null, TimeTaken? Until = null, AiredMoment? After = null);

/// <summary>What is said of water on the floor.</summary>
internal enum FloorSays
{
    /// <summary>Nothing: humidity is not measured, or the judgement asks for something else first.</summary>
    Nothing,
    Put,

    /// <summary>Damp enough by itself.</summary>
    NoNeed,

    /// <summary>At the humidity wanted the coldest produce would be within a degree of the dew point.</summary>
    WouldWet,

    /// <summary>What is kept here wants it dry.</summary>
    KeptDry,
}

/// <param name="LitresPerDay">To hold the humidity, once boards and walls have had their fill; null where the volume is not known.</param>
internal sealed record FloorFigures(FloorSays Says, double? ToPercent = null, Interval? LitresPerDay = null);

/// <summary>A load that somebody asks about.</summary>
internal sealed record LoadAsked(double? Kg, double TemperatureC);

/// <param name="KgPerDay">What the room can take day by day for a week; null where not known.</param>
/// <param name="TooWarmNow">The room is beyond its band without any load.</param>
/// <param name="Hours">Of the load asked about: until it is within the band; looked ahead for twenty days.</param>
/// <param name="WarmestAirC">Of the load asked about: how warm the room's air gets.</param>
internal sealed record LoadFigures(
    string Crop, double TemperatureC, double HighC, Interval? KgPerDay, bool TooWarmNow, double? Kg = null, double? HeatMegajoules = null,
    double? BreathWatts = null, TimeTaken? Hours = null, Interval? WarmestAirC = null);

/// <param name="Kg">What breathes there.</param>
/// <param name="GramsPerHour">Carbon dioxide it gives off.</param>
/// <param name="SteadyPpm">Where the room settles with everything shut.</param>
/// <param name="HoursToLimit">Until <see cref="RoomCaution.WorkingDayPpm"/> with everything shut.</param>
/// <param name="FromPpm">What it was worked out from: the reading, or outdoor air.</param>
internal sealed record BreathFigures(
    double Kg, double GramsPerHour, double FromPpm, bool Measured, Interval? SteadyPpm, TimeTaken? HoursToLimit)
{
    /// <summary>The reading is above all this sum allows for: it must not be said to settle lower.</summary>
    public bool ReadsMore => Measured && SteadyPpm is { } steady && FromPpm > steady.High;
}

/// <summary>What one room does, by its own response; SI throughout.</summary>
/// <param name="VolumeM3">Null: what depends on it is not known.</param>
internal sealed record RoomFigures(
    RoomResponse Response, double? VolumeM3, DoorFigures Door, FloorFigures Floor, LoadFigures? Load, BreathFigures? Breath);
