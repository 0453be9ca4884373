using RootCellar.Science.Air;

namespace RootCellar.Science.Cellar;

/// <summary>What keeps a door or vent shut: air outside that would freeze the coldest produce, or wet it.</summary>
/// <remarks>
/// What the sensors leave uncertain (about 0.5 C of dew point at 95 +-3 %) is not in the figures, and is what the 1 C margin is
/// for. Advice on keeping produce, not on the air a person breathes: see <see cref="RoomCaution"/>.
/// </remarks>
public static class Vent
{
    /// <summary>
    /// Below this margin to the dew point, beware, C (derived: a sensor good to 3 % moves the dew point by 0.5 C at 95 %; 1 C assumed from
    /// it).
    /// </summary>
    public const double NearlyWetMarginC = 1.0;

    /// <summary>Kept above the crop's freezing point, C: 0.5 for the sensor and 0.5 for a cold spot by the vent (assumed).</summary>
    public const double FreezingGuardC = 1.0;

    /// <summary>Whether air outside could freeze produce that lies beside the vent.</summary>
    /// <param name="outsideC">Air outside, C.</param>
    /// <param name="freezingPointC">Highest freezing point of the crops in the room, C.</param>
    public static bool CouldFreeze(double outsideC, double freezingPointC) => outsideC <= freezingPointC + FreezingGuardC;

    /// <summary>
    /// Whether air outside would wet the coldest produce: its dew point is there or above (tubers get wet when colder than the dew
    /// point: Pringle and Robinson 1996). Not where the air in the room wets it more: then outside is the drier of the two.
    /// </summary>
    /// <param name="inside">Air of the room.</param>
    /// <param name="outside">Air that would come in.</param>
    /// <param name="coldestPulpC">Coldest produce in the room, C.</param>
    public static bool WouldWet(AirState inside, AirState outside, double coldestPulpC)
    {
        double margin = outside.CondensationMarginC(coldestPulpC);
        return margin <= 0 && inside.CondensationMarginC(coldestPulpC) > margin;
    }
}
