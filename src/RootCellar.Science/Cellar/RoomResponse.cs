using RootCellar.Science.Air;

namespace RootCellar.Science.Cellar;

/// <summary>Why something of a room is assumed and not learned.</summary>
public enum RoomDoubt
{
    /// <summary>Nobody measures outdoors, or not while the room was measured.</summary>
    NoOutdoorAir,

    /// <summary>Under <see cref="RoomFit.FewestHours"/> of both.</summary>
    TooFewHours,

    /// <summary>Outdoors hardly changed, or the room hardly followed: the readings do not tell.</summary>
    DoesNotTell,

    /// <summary>Humidity is not measured in the room or outdoors.</summary>
    NoHumidity,

    /// <summary>Nobody opened it while the air outdoors was clearly another.</summary>
    NeverOpened,
}

/// <summary>
/// How the air of a shut room follows outdoors and its own walls and produce. The air takes a share of a change outdoors at once and
/// more of it as the slow mass follows: T = w T_out + (1 - w) M, and M follows with the time constant.
/// </summary>
/// <param name="AtOnce">Share w of a change outdoors that the air takes within minutes.</param>
/// <param name="InTheLongRun">Share it takes in the end; never below the first.</param>
/// <param name="SlowHours">Time constant of walls and produce, h.</param>
/// <param name="Doubt">Null: learned from this room. Otherwise the figures are assumed.</param>
public sealed record HeatResponse(Interval AtOnce, Interval InTheLongRun, Interval SlowHours, RoomDoubt? Doubt)
{
    /// <summary>
    /// A room half in the ground (assumed throughout: from a room that feels little of the day's swing to one that feels half of it).
    /// </summary>
    public static HeatResponse Assumed(RoomDoubt doubt) =>
        new(new Interval(0.03, 0.1, 0.3), new Interval(0.1, 0.33, 0.8), new Interval(15, 72, 300), doubt);

    /// <summary>How fast walls and produce give in to the air, 1/h: s/(w tau), s the share of the mass (derived).</summary>
    internal double MassPerHour
    {
        get
        {
            double w = Math.Clamp(AtOnce.Value, 0.01, 0.95);
            double s = Math.Clamp((InTheLongRun.Value - w) / (1 - w), 0.02, 1);
            return Math.Min(0.2, s / (w * SlowHours.Value));
        }
    }
}

/// <summary>How the vapour of a shut room follows outdoors and its own wet surfaces and produce.</summary>
/// <param name="ChangesPerHour">Air changes with the door shut, 1/h.</param>
/// <param name="ReturnPerHour">How fast the vapour comes back to its level, 1/h: air changes, wet surfaces and produce together.</param>
/// <param name="Doubt">Null: learned from this room. Otherwise the figures are assumed.</param>
public sealed record AirLeak(Interval ChangesPerHour, Interval ReturnPerHour, RoomDoubt? Doubt)
{
    /// <summary>
    /// Air changes of a house are about 0.1 to 1 an hour (ASHRAE Fundamentals, ventilation and infiltration, from memory); 0.2 and the
    /// factor of 5 either way are assumed for a cellar, and so is the return.
    /// </summary>
    public static AirLeak Assumed(RoomDoubt doubt) => new(new Interval(0.04, 0.2, 1), new Interval(0.12, 0.6, 3), doubt);
}

/// <summary>What the air of a room does while its door or vent stands open.</summary>
/// <param name="Share">Share of the way to outdoor air it comes within minutes; walls and produce hold it back from the rest.</param>
/// <param name="Minutes">Time constant of that, min, by the room's sensor, whose own lag is in it.</param>
/// <param name="Times">Openings it was learned from.</param>
/// <param name="Doubt">Null: learned from this room. Otherwise the figures are assumed.</param>
public sealed record OpeningResponse(Interval Share, Interval Minutes, int Times, RoomDoubt? Doubt)
{
    /// <summary>
    /// Eight air changes an hour through an open door (assumed, 2 to 25) against walls that give heat back at 14 an hour:
    /// 2.5 W/(m2 K) over six faces of a room of 30 m3 (<see cref="WarmLoad.WallWPerM2K"/>): 8/22 of the way, 60/22 min.
    /// </summary>
    public static OpeningResponse Assumed(RoomDoubt doubt) => new(new Interval(0.1, 0.36, 0.7), new Interval(1.5, 5, 15), 0, doubt);
}

/// <summary>One room's own response, learned from its readings.</summary>
/// <param name="Hours">Hours of readings of the room and of outdoors it rests on.</param>
public sealed record RoomResponse(double Hours, HeatResponse Heat, AirLeak Leak, OpeningResponse Opening)
{
    /// <summary>Nothing of the room is known.</summary>
    public static RoomResponse Assumed(RoomDoubt doubt, double hours = 0) =>
        new(hours, HeatResponse.Assumed(doubt), AirLeak.Assumed(doubt), OpeningResponse.Assumed(doubt));
}
