using RootCellar.Science.Air;

namespace RootCellar.Science.Cellar;

/// <summary>Air and produce some minutes after door and vent were opened.</summary>
/// <param name="Minutes">Since then.</param>
/// <param name="AirC">Air of the room, C.</param>
/// <param name="AirPercent">Its humidity, percent, at most 100.</param>
/// <param name="PulpC">The coldest produce, C.</param>
/// <param name="Wets">The air's dew point is at the produce or above it.</param>
public readonly record struct AiredMoment(double Minutes, double AirC, double AirPercent, double PulpC, bool Wets);

/// <summary>What opening door and vent now would do, by the room's own response, while the air outdoors stays as it is.</summary>
/// <remarks>
/// Air and vapour go towards outdoors as a step with one time constant each; walls and produce are held out of the air's step and give in
/// slowly. Whether outside air could wet or freeze is for <see cref="Vent"/>, which goes by the worst spot.
/// </remarks>
/// <param name="inside">Air of the room now.</param>
/// <param name="outside">Air outdoors.</param>
/// <param name="pulpC">Coldest produce, C.</param>
/// <param name="room">The room's response.</param>
/// <param name="pulpLagHours">How slowly the produce follows: <see cref="Keeping.PackingTraits"/>.</param>
public sealed class Airing(AirState inside, AirState outside, double pulpC, RoomResponse room, double pulpLagHours = 8)
{
    /// <summary>Nobody stands by a door for longer, h.</summary>
    public const double LongestHours = 12;

    /// <summary>Air and produce after so many minutes.</summary>
    public AiredMoment After(double minutes)
    {
        Require.Within(minutes, 0, LongestHours * 60, nameof(minutes));
        return At(minutes, room.Opening.Share.Value, room.Opening.Minutes.Value);
    }

    /// <summary>
    /// Minutes until the air comes to a temperature; the ends are a door that lets in much and one that lets in little. An end is null
    /// where the air does not get there within <see cref="LongestHours"/>.
    /// </summary>
    public (double? Soonest, double? Expected, double? Latest) MinutesTo(double targetC)
    {
        var (share, minutes) = (room.Opening.Share, room.Opening.Minutes);
        return (To(targetC, share.High, minutes.Low), To(targetC, share.Value, minutes.Value), To(targetC, share.Low, minutes.High));
    }

    private double? To(double targetC, double share, double minutes)
    {
        double way = Math.Sign(targetC - inside.TemperatureC);
        for (int minute = 0; minute <= LongestHours * 60; minute++)
        {
            if (way * (At(minute, share, minutes).AirC - targetC) >= 0)
                return minute;
        }

        return null;
    }

    private AiredMoment At(double minutes, double share, double tauMinutes)
    {
        double hours = minutes / 60;
        // Walls and produce: M' = mu share (T_out - M) - (M - M_0)/tau, which keeps them from outdoors by what they are kept at.
        double mass = room.Heat.MassPerHour * share, back = 1 / room.Heat.SlowHours.Value;
        double to = ((mass * outside.TemperatureC) + (back * inside.TemperatureC)) / (mass + back);
        double walls = to + ((inside.TemperatureC - to) * Portable.Exp(-(mass + back) * hours));
        double air = walls + (share * (1 - Portable.Exp(-minutes / tauMinutes)) * (outside.TemperatureC - walls));
        // The door's air changes are the share's part of the fast rate; vapour is held back by what comes back to it.
        double changes = share * 60 / tauMinutes;
        double rate = changes + room.Leak.ReturnPerHour.Value;
        double vapour = inside.VapourPressurePa
            + ((outside.VapourPressurePa - inside.VapourPressurePa) * changes / rate * (1 - Portable.Exp(-rate * hours)));
        double percent = Math.Min(100, 100 * vapour / Saturation.OverWaterPa(air));
        double pulp = PulpAfter(hours, share, tauMinutes, mass, back, to);
        return new AiredMoment(minutes, air, percent, pulp, MoistAir.DewPointC(Math.Min(vapour, Saturation.OverWaterPa(air))) >= pulp);
    }

    // The produce follows the walls' slow way and the air's fast step, each by its own lag (superposition of two first-order steps).
    private double PulpAfter(double hours, double share, double tauMinutes, double mass, double back, double to)
    {
        double step = share * (outside.TemperatureC - inside.TemperatureC);
        double slow = (1 - share) * (to - inside.TemperatureC);
        return pulpC + (step * Follows(hours, tauMinutes / 60)) + (slow * Follows(hours, 1 / (mass + back)));
    }

    /// <summary>What follows a first-order step through a second one, as a share.</summary>
    private double Follows(double hours, double tau)
    {
        double lag = pulpLagHours;
        if (Math.Abs(tau - lag) < 1e-6 * lag)
            tau = lag * (1 - 1e-6);
        return 1 - (((lag * Portable.Exp(-hours / lag)) - (tau * Portable.Exp(-hours / tau))) / (lag - tau));
    }
}
