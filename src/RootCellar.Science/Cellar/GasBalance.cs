using RootCellar.Science.Air;

namespace RootCellar.Science.Cellar;

/// <summary>
/// Carbon dioxide of a room as one perfectly mixed box: V dC/dt = R - n V (C - C_out), with C in ppm, V in m3, R in mL/h and n in 1/h; a
/// ppm of a m3 is a mL (mass balance, derived). Never a measure of whether a room may be entered (<see cref="RoomCaution"/>).
/// </summary>
public static class GasBalance
{
    /// <summary>Outside air, ppm (2020s mean is 415 to 425; NOAA, from memory).</summary>
    public const double OutsidePpm = 420;

    /// <summary>Density of a tuber, kg/m3: 1,050 to 1,095 (from memory). Other roots are near it; leafy heads are lighter.</summary>
    public const double ProduceKgPerM3 = 1080;

    /// <summary>How well the breath of a crop is known, a factor either way: the spread of published respiration of potatoes.</summary>
    public const double BreathFactor = 2;

    /// <summary>Air in a room, m3: the room less the produce (crates and shelves not taken off), a tenth of it at least.</summary>
    public static double AirM3(double roomM3, double produceKg)
    {
        Require.Within(roomM3, 0.1, 1e6, nameof(roomM3));
        Require.Within(produceKg, 0, 1e8, nameof(produceKg));
        return Math.Max(roomM3 / 10, roomM3 - (produceKg / ProduceKgPerM3));
    }

    /// <summary>mg of carbon dioxide in a mL: 44.01 g/mol over R T/p, R = 8.314463 J/(mol K) (ideal gas; CODATA); 1.83 at 20 C.</summary>
    public static double MgPerMl(double temperatureC)
    {
        Require.Within(temperatureC, -40, 60, nameof(temperatureC));
        return 44.01e-3 * MoistAir.StandardPressurePa / (8.314463 * (temperatureC + Saturation.ZeroCelsiusK));
    }

    /// <summary>Level a room settles at, ppm: C_out + R/(n V).</summary>
    public static double SteadyPpm(double mlPerHour, double airM3, double changesPerHour)
    {
        Require.Within(mlPerHour, 0, 1e9, nameof(mlPerHour));
        Require.Within(airM3, 0.01, 1e6, nameof(airM3));
        Require.Within(changesPerHour, 1e-6, 1000, nameof(changesPerHour));
        return OutsidePpm + (mlPerHour / (changesPerHour * airM3));
    }

    /// <summary>
    /// Level after so many hours, ppm: the excess over the steady level falls by exp(-n t), as a tracer's does (ASTM E741, from memory).
    /// </summary>
    public static double AfterPpm(double startPpm, double hours, double mlPerHour, double airM3, double changesPerHour)
    {
        Require.Within(startPpm, 0, 1e6, nameof(startPpm));
        Require.Within(hours, 0, 1e5, nameof(hours));
        double steady = SteadyPpm(mlPerHour, airM3, changesPerHour);
        return steady + ((startPpm - steady) * Portable.Exp(-changesPerHour * hours));
    }

    /// <summary>Hours until a level is reached; nought where it is, null where the room settles below it.</summary>
    public static double? HoursTo(double limitPpm, double startPpm, double mlPerHour, double airM3, double changesPerHour)
    {
        double steady = SteadyPpm(mlPerHour, airM3, changesPerHour);
        if (startPpm >= limitPpm)
            return 0;
        return steady <= limitPpm ? null : Portable.Log((steady - startPpm) / (steady - limitPpm)) / changesPerHour;
    }
}
