using RootCellar.Places;
using RootCellar.Watch;

namespace RootCellar.Advice;

/// <summary>One thing that is wrong with a room's air, or was until just now.</summary>
/// <param name="Worst">The worst value of this run.</param>
/// <param name="Sensor">The sensor whose value it is, where it is one sensor's.</param>
/// <param name="Since">When the air was first beyond the limit.</param>
/// <param name="Until">Pending: when a text goes out if it stays; returning: when it is over if it stays.</param>
/// <param name="Alarm">The id of the open alarm; null while it is pending.</param>
internal sealed record Finding(
    Rule Rule,
    StandingState State,
    Measure Measure,
    double Value,
    double Limit,
    double? Worst,
    string? Sensor,
    DateTimeOffset Since,
    DateTimeOffset? Until,
    string? Alarm)
{
    public AlarmPriority Priority => Rule.Priority();

    /// <summary>It calls for a hand: the air is beyond the limit now.</summary>
    public bool Calls => State != StandingState.Returning;
}

/// <summary>What there is to do; the figures of a step are in <see cref="Step"/>.</summary>
internal enum StepKind
{
    /// <summary>Carbon dioxide at which a person dies: nobody goes in, and help is called.</summary>
    StayOutAndCall,

    /// <summary>Carbon dioxide over the limit for a quarter of an hour.</summary>
    StayOut,

    /// <summary>Air the room before going in, and not alone.</summary>
    AirFirst,
    Open,

    /// <summary>Nobody measures outdoors: whoever stands there decides by a thermometer.</summary>
    OpenIfUnder,
    KeepShut,
    HeaterOff,
    CoverBins,
    DoNotMoveFrozen,
    WetFloor,

    /// <summary>What dries out is covered, and the floor left dry: something else there wants it dry.</summary>
    CoverDamp,
    FanOverBins,
    SpreadOut,
    ShutAt,
    ShutAtHumidity,
    ShutOnceWarmerOut,
    OpenOnceUnder,
    ShutBySunup,
    LampOff,
    ShutIfOpen,
    LookForFrost,
    LookForWet,
    StillAirFirst,
}

/// <summary>One step of the order of work.</summary>
/// <param name="Celsius">The temperature it goes by.</param>
/// <param name="Percent">The humidity it goes by.</param>
internal sealed record Step(StepKind Kind, double? Celsius = null, double? Percent = null)
{
    /// <summary>A caution for people: never cut from a text.</summary>
    public bool ForPeople => Kind is StepKind.StayOutAndCall or StepKind.StayOut or StepKind.AirFirst or StepKind.StillAirFirst;

    /// <summary>A caution: cut from a text for nothing but one for people.</summary>
    public bool Safety => ForPeople || Kind == StepKind.DoNotMoveFrozen;

    public bool Opens => Kind is StepKind.Open or StepKind.OpenIfUnder;

    public bool Shuts => Kind is StepKind.KeepShut or StepKind.ShutIfOpen;
}

/// <summary>The air outdoors, where it decides what to do.</summary>
/// <param name="Damp">True: it would wet; false: it would dry; null: its humidity has no part in it.</param>
internal sealed record DecidingFact(double OutdoorsC, bool? Damp);

/// <summary>How a room stands as a whole.</summary>
internal enum RoomState
{
    /// <summary>No reading to go by.</summary>
    Unknown,
    Fine,
    Pending,
    Alarm,
    Returning,
}

/// <summary>
/// What is wrong in a room and what to do about all of it together, in order. Every surface shows this, longer or shorter.
/// </summary>
/// <param name="Findings">Weightiest first.</param>
/// <param name="Order">Steps that can all be done one after the other.</param>
/// <param name="Decides">What the order was decided by.</param>
/// <param name="FreezingPointC">Where the crops there freeze.</param>
internal sealed record PlaceJudgement(
    Place Place,
    RoomState State,
    IReadOnlyList<Finding> Findings,
    IReadOnlyList<Step> Order,
    DecidingFact? Decides,
    PlaceAir? Air,
    PlaceAir? Outdoors,
    double? FreezingPointC)
{
    /// <summary>A text about the room has left, or is leaving: what is on its way to an alarm makes no other by itself.</summary>
    public bool TextLeft => Findings.Any(f => f.Alarm is not null);

    public Finding? Lead => Findings.Count > 0 ? Findings[0] : null;
}
