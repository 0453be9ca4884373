using RootCellar.Places;
using RootCellar.Science.Air;
using RootCellar.Science.Cellar;
using RootCellar.Watch;

namespace RootCellar.Advice;

/// <summary>What to do with door and vent now.</summary>
internal enum DoorAction
{
    /// <summary>The sums speak for neither.</summary>
    Leave,
    Open,
    Shut,
}

/// <summary>Door and vent, decided once for all that is wrong in a room.</summary>
/// <param name="WouldWet">Why it stays shut: the air outdoors would wet the produce.</param>
/// <param name="WouldFreeze">Why it stays shut: the air outdoors could freeze it.</param>
internal sealed record Door(DoorAction Action, bool WouldWet = false, bool WouldFreeze = false)
{
    // What a sensor cannot tell apart, K (assumed, as for any sensor here).
    private const double SensorC = 1;

    // One unit of trouble: so far beyond a limit counts alike (assumed: about what a room bears for a day).
    private const double TroubleC = 2;
    private const double TroublePercent = 10;
    private const double TroubleDewC = 1;

    // Opening must take off this share of the trouble to be worth it (assumed).
    private const double Worthwhile = 0.15;

    /// <summary>
    /// Held against the sums of <see cref="RoomAir"/> and <see cref="Vent"/>: opened only where some share of outside air leaves less wrong
    /// in temperature, humidity and dew taken together, and where that air could neither freeze nor wet the coldest produce.
    /// </summary>
    public static Door Of(PlaceAir inside, PlaceAir outside, Band band)
    {
        if (inside.TemperatureC is not { } t || outside.TemperatureC is not { } outC) return new Door(DoorAction.Leave);
        var pulp = inside.ColdestProduce?.TemperatureC ?? t;
        // Air whose humidity nobody measures is taken as damp as it can be when it might wet, and decides nothing else.
        var humidityKnown = inside.RelativeHumidityPercent is not null && outside.RelativeHumidityPercent is not null;
        var rh = Math.Clamp(inside.RelativeHumidityPercent ?? 90, MoistAir.LowestHumidityPercent, 100);
        var outRh = Math.Clamp(outside.RelativeHumidityPercent ?? 100, MoistAir.LowestHumidityPercent, 100);
        if (t is < -5 or > RoomAir.WarmestC || outC is < RoomAir.ColdestC or > RoomAir.WarmestC || pulp is < -5 or > 45)
            return new Door(DoorAction.Leave);

        var (within, without) = (MoistAir.At(t, rh), MoistAir.At(outC, outRh));
        if (Vent.CouldFreeze(outC, band.FreezingPointC)) return new Door(DoorAction.Shut, WouldFreeze: true);
        if (Vent.WouldWet(within, without, pulp)) return new Door(DoorAction.Shut, WouldWet: true);
        var before = Trouble(within, 0);
        var best = before;
        for (var share = 0.1; share <= 1.001; share += 0.1)
        {
            var mixed = RoomAir.Blend(within, without, Math.Min(1, share));
            best = Math.Min(best, Trouble(mixed.Air, mixed.FogGramsPerKg));
        }

        return new Door(before > 0 && best < before * (1 - Worthwhile) && Math.Abs(best - before) > 0.05
            ? DoorAction.Open : DoorAction.Shut);

        double Trouble(AirState air, double fog)
        {
            var trouble = Math.Max(
                0, Math.Max(air.TemperatureC - band.Air.TemperatureHighC, band.Air.TemperatureLowC - air.TemperatureC)) / TroubleC;
            if (!humidityKnown) return trouble;
            trouble += Math.Max(0, band.Air.HumidityLowPercent - air.RelativeHumidityPercent) / TroublePercent;
            if (band.KeptDry) trouble += Math.Max(0, air.RelativeHumidityPercent - band.Air.HumidityHighPercent) / TroublePercent;
            return trouble + (Math.Max(0, -air.CondensationMarginC(pulp)) / TroubleDewC) + (fog > 0 ? TroubleDewC : 0);
        }
    }

    /// <summary>
    /// Outdoor air under this can be let in against warmth: cooler than the room, under the limit, and too cold to wet the coldest produce.
    /// </summary>
    public static double OpenUnderC(PlaceAir inside, Band band)
    {
        var under = Math.Min(band.Air.TemperatureHighC, (inside.TemperatureC ?? band.Air.TemperatureHighC) - SensorC);
        return inside.ColdestProduce is { } produce ? Math.Min(under, produce.TemperatureC - (SensorC / 2)) : under;
    }
}
