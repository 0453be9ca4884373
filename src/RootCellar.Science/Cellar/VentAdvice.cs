using RootCellar.Science.Air;

namespace RootCellar.Science.Cellar;

/// <summary>What to do with the vent now.</summary>
public enum VentVerdict
{
    /// <summary>Outside air cools, and neither wets nor freezes.</summary>
    Open,

    /// <summary>Open for a short time and look again: the benefit is small, or more would chill or wet.</summary>
    OpenBriefly,

    /// <summary>Shut: the produce is cold enough and the air is not wetting it.</summary>
    NoNeed,

    /// <summary>Shut: outside air would wet the coldest produce.</summary>
    WaitWet,

    /// <summary>Shut: outside air is no colder than the produce.</summary>
    WaitWarm,

    /// <summary>Shut: the cellar air is already as far below the produce as it should be.</summary>
    WaitChill,

    /// <summary>Shut: outside air could freeze produce.</summary>
    WaitFreezing,
}

/// <summary>Why; several may hold at once. Numbers are in <see cref="VentAdvice"/>, so that a page can show them in its own units.</summary>
public enum VentReason
{
    /// <summary>Outside air is at or below the crop's freezing point plus margin.</summary>
    IncomingCouldFreeze,

    /// <summary>The dew point outside is at or above the coldest produce.</summary>
    IncomingWets,

    /// <summary>The mix has a dew point at or above the coldest produce.</summary>
    MixWets,

    /// <summary>The margin to the dew point outside is under 1 C.</summary>
    IncomingNearlyWets,

    /// <summary>The two airs make fog when they meet.</summary>
    MixFogs,

    /// <summary>Outside air is no colder than the coldest produce.</summary>
    OutsideNotColder,

    /// <summary>Outside air is less than 1 C colder.</summary>
    OutsideBarelyColder,

    /// <summary>Outside air is 1 to 4 C colder: the range that cools without shock.</summary>
    OutsideColder,

    /// <summary>Outside air is more than 4 C colder: only as much as keeps the mix within 4 C.</summary>
    OutsideMuchColder,

    /// <summary>The cellar air is already more than 4 C below the coldest produce.</summary>
    RoomTooCold,

    /// <summary>The produce is at the wanted temperature already.</summary>
    ColdEnough,

    /// <summary>The produce is being wetted now, and outside air is drier.</summary>
    DriesWetProduce,

    /// <summary>The produce will lose water clearly faster with the vent open.</summary>
    DriesProduceFaster,
}

/// <summary>The question: what would opening the vent now do?</summary>
/// <param name="Inside">Air of the room.</param>
/// <param name="Outside">Air that would come in, at the same pressure.</param>
/// <param name="ColdestPulpC">Coldest produce in the room, C.</param>
/// <param name="FreezingPointC">Highest freezing point of the crops in the room, C.</param>
/// <param name="AirChangesPerHour">Air changes with the vent open, 1/h, above 0 (<see cref="RoomAir.AirChangesPerHour"/> from m3/h).</param>
/// <param name="Hours">How long it would stand open, h.</param>
/// <param name="WantedPulpC">Produce of this temperature or below needs no cooling, C; null where cooling is always wanted.</param>
public sealed record VentQuestion(
    AirState Inside,
    AirState Outside,
    double ColdestPulpC,
    double FreezingPointC,
    double AirChangesPerHour,
    double Hours,
    double? WantedPulpC = null);

/// <summary>The answer, with everything it stands on.</summary>
/// <param name="Verdict">What to do.</param>
/// <param name="Reasons">Why, weightiest first; the first decides.</param>
/// <param name="After">Air of the room at the end, walls and produce giving nothing back.</param>
/// <param name="OutsideBelowPulpC">Coldest produce less outside air, C; below nought outside is warmer.</param>
/// <param name="OutsideDewMarginC">Coldest produce less dew point outside, C. Nought or less: incoming air wets it.</param>
/// <param name="InsideDewMarginC">Coldest produce less dew point in the room now, C.</param>
/// <param name="AfterDewMarginC">Coldest produce less dew point of the mix, C.</param>
/// <param name="FreezingMarginC">Outside air less the crop's freezing point, C.</param>
/// <param name="DeficitBeforePa">Deficit at the coldest produce now, Pa.</param>
/// <param name="DeficitAfterPa">Deficit at the coldest produce in the mix, Pa.</param>
/// <param name="LongestHours">Longest time until the mix is 4 C below the coldest produce, h; null where it never gets there.</param>
public sealed record VentAdvice(
    VentVerdict Verdict,
    IReadOnlyList<VentReason> Reasons,
    BlendedAir After,
    double OutsideBelowPulpC,
    double OutsideDewMarginC,
    double InsideDewMarginC,
    double AfterDewMarginC,
    double FreezingMarginC,
    double DeficitBeforePa,
    double DeficitAfterPa,
    double? LongestHours)
{
    /// <summary>The verdict in plain words.</summary>
    public string Headline => Words(Verdict);

    /// <summary>The reasons in plain words, weightiest first.</summary>
    public IEnumerable<string> Why => Reasons.Select(Words);

    /// <summary>A verdict in plain words.</summary>
    public static string Words(VentVerdict verdict) => verdict switch
    {
        VentVerdict.Open => "Open the vent.",
        VentVerdict.OpenBriefly => "Open for a short while, then look again.",
        VentVerdict.NoNeed => "Leave it shut: nothing to gain.",
        VentVerdict.WaitWet => "Keep it shut: it would wet the produce.",
        VentVerdict.WaitWarm => "Keep it shut: it is not cold enough outside.",
        VentVerdict.WaitChill => "Keep it shut: the room is cold against the produce already.",
        VentVerdict.WaitFreezing => "Keep it shut: it is cold enough outside to freeze produce.",
        _ => throw new ArgumentOutOfRangeException(nameof(verdict), verdict, "No such verdict."),
    };

    /// <summary>A reason in plain words, without numbers.</summary>
    public static string Words(VentReason reason) => reason switch
    {
        VentReason.IncomingCouldFreeze => "The air coming in is at or near the freezing point of the crop; what lies beside the vent would freeze first.",
        VentReason.IncomingWets => "The dew point outside is above the coldest produce, so water would form on it.",
        VentReason.MixWets => "Even mixed with the air outside, the dew point in here stays above the coldest produce.",
        VentReason.IncomingNearlyWets => "The dew point outside is close below the coldest produce, closer than a sensor can be trusted.",
        VentReason.MixFogs => "The two airs make fog where they meet; some of it settles.",
        VentReason.OutsideNotColder => "Outside is no colder than the produce, so it would not cool.",
        VentReason.OutsideBarelyColder => "Outside is only a little colder than the produce, so it cools slowly.",
        VentReason.OutsideColder => "Outside is colder than the produce, and not so cold as to shock it.",
        VentReason.OutsideMuchColder => "Outside is much colder than the produce: let in only as much as the room can mix.",
        VentReason.RoomTooCold => "The air in the room is already far below the produce.",
        VentReason.ColdEnough => "The produce is as cold as you want it.",
        VentReason.DriesWetProduce => "Water is forming on the coldest produce now, and the air outside would dry it.",
        VentReason.DriesProduceFaster => "The air would be drier against the produce, so it loses weight faster while the vent is open.",
        _ => throw new ArgumentOutOfRangeException(nameof(reason), reason, "No such reason."),
    };
}
