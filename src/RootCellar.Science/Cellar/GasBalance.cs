using RootCellar.Science.Air;

namespace RootCellar.Science.Cellar;

/// <summary>
/// Carbon dioxide of a room as one perfectly mixed box: V dC/dt = R M - n V (C - C_out), with C in ppm, V in m3, R in
/// mL/(kg h), M in kg and n in 1/h; a ppm of a m3 is a mL (mass balance, derived). mL are at the room's own temperature
/// and pressure. Levels come from cheap sensors: never a measure of whether a room may be entered (<see cref="RoomCaution"/>).
/// </summary>
public static class GasBalance
{
    /// <summary>Outside air, ppm (2020s mean is 415 to 425; NOAA, from memory).</summary>
    public const double OutsidePpm = 420;

    /// <summary>Oxygen of outdoor air, percent: 20.95 dry (US Standard Atmosphere 1976, from memory), 20.9 as safety rules round it.</summary>
    public const double OutsideOxygenPercent = 20.9;

    /// <summary>Density of a tuber, kg/m3: 1,050 to 1,095 (from memory). Other roots are near it; leafy heads are lighter.</summary>
    public const double ProduceKgPerM3 = 1080;

    /// <summary>Air in a room, m3: the room less the produce itself (crates and shelves not taken off).</summary>
    /// <exception cref="ArgumentOutOfRangeException">A room that is not above 0.1 m3, or produce that leaves less than a tenth of it.</exception>
    public static double AirM3(double roomM3, double produceKg, double produceKgPerM3 = ProduceKgPerM3)
    {
        Require.Within(roomM3, 0.1, 1e6, nameof(roomM3));
        Require.Within(produceKgPerM3, 100, 2000, nameof(produceKgPerM3));
        Require.Within(produceKg, 0, 0.9 * roomM3 * produceKgPerM3, nameof(produceKg));
        return roomM3 - produceKg / produceKgPerM3;
    }

    /// <summary>mg of carbon dioxide in a mL: 44.01 g/mol over R T/p with R = 8.314463 J/(mol K); 1.96 at 0 C, 1.83 at 20 C at sea level (ideal gas; CODATA).</summary>
    public static double MgPerMl(double temperatureC, double pressurePa = MoistAir.StandardPressurePa)
    {
        Require.Within(temperatureC, -40, 60, nameof(temperatureC));
        Require.Within(pressurePa, MoistAir.LowestPressurePa, MoistAir.HighestPressurePa, nameof(pressurePa));
        return 44.01e-3 * pressurePa / (8.314463 * (temperatureC + Saturation.ZeroCelsiusK));
    }

    /// <summary>Level a room settles at, ppm: C_out + R M/(n V). A level above 100,000 ppm is beyond what this holds for.</summary>
    public static double SteadyPpm(double mlCo2PerKgHour, double produceKg, double airM3, double airChangesPerHour, double outsidePpm = OutsidePpm)
    {
        CheckRoom(produceKg, airM3);
        Require.Within(mlCo2PerKgHour, 0, 1000, nameof(mlCo2PerKgHour));
        Require.Within(airChangesPerHour, 1e-6, 1000, nameof(airChangesPerHour));
        Require.Within(outsidePpm, 0, 1e6, nameof(outsidePpm));
        return outsidePpm + mlCo2PerKgHour * produceKg / (airChangesPerHour * airM3);
    }

    /// <summary>Level after so many hours, ppm: the exact solution of the box; nearly shut rooms (no air change) climb in a straight line.</summary>
    public static double AfterPpm(
        double startPpm, double hours, double mlCo2PerKgHour, double produceKg, double airM3, double airChangesPerHour, double outsidePpm = OutsidePpm)
    {
        CheckRoom(produceKg, airM3);
        Require.Within(startPpm, 0, 1e6, nameof(startPpm));
        Require.Within(hours, 0, 1e5, nameof(hours));
        Require.Within(mlCo2PerKgHour, 0, 1000, nameof(mlCo2PerKgHour));
        Require.Within(airChangesPerHour, 0, 1000, nameof(airChangesPerHour));
        Require.Within(outsidePpm, 0, 1e6, nameof(outsidePpm));
        double gained = mlCo2PerKgHour * produceKg / airM3 * WeightedHours(hours, airChangesPerHour);
        return outsidePpm + (startPpm - outsidePpm) * Portable.Exp(-airChangesPerHour * hours) + gained;
    }

    /// <summary>
    /// Respiration that carries a room from one level to another, mL/(kg h): the inverse of <see cref="AfterPpm"/>. Equal levels
    /// give the steady form n V (C - C_out)/M. Below nought the levels or the air change are wrong; it is returned so.
    /// </summary>
    /// <param name="startPpm">Level at the start, ppm.</param>
    /// <param name="endPpm">Level at the end, ppm.</param>
    /// <param name="hours">Between them, h, above 0. Some hours: two readings a few minutes apart differ by noise.</param>
    /// <param name="produceKg">Mass of the lots, kg.</param>
    /// <param name="airM3">Air in the room, m3.</param>
    /// <param name="airChangesPerHour">1/h, 0 or more.</param>
    /// <param name="outsidePpm">Level outside, ppm.</param>
    public static double RespirationMlPerKgHour(
        double startPpm, double endPpm, double hours, double produceKg, double airM3, double airChangesPerHour, double outsidePpm = OutsidePpm)
    {
        CheckRoom(produceKg, airM3);
        Require.Within(startPpm, 0, 1e6, nameof(startPpm));
        Require.Within(endPpm, 0, 1e6, nameof(endPpm));
        Require.Within(hours, 1e-3, 1e5, nameof(hours));
        Require.Within(airChangesPerHour, 0, 1000, nameof(airChangesPerHour));
        Require.Within(outsidePpm, 0, 1e6, nameof(outsidePpm));
        double left = (startPpm - outsidePpm) * Portable.Exp(-airChangesPerHour * hours);
        return (endPpm - outsidePpm - left) * airM3 / (produceKg * WeightedHours(hours, airChangesPerHour));
    }

    /// <summary>
    /// Oxygen of the room, percent, where every volume of carbon dioxide has taken the place of one of oxygen (respiratory
    /// quotient 1, assumed; sugars give 1.0). Not so with a burner, dry ice or silage about. About 20.4 at 5,000 ppm.
    /// </summary>
    public static double OxygenPercent(double ppm, double outsidePpm = OutsidePpm)
    {
        Require.Within(ppm, 0, 1e6, nameof(ppm));
        Require.Within(outsidePpm, 0, 1e6, nameof(outsidePpm));
        return Math.Max(0, OutsideOxygenPercent - (ppm - outsidePpm) / 10_000);
    }

    private static void CheckRoom(double produceKg, double airM3)
    {
        Require.Within(produceKg, 1e-3, 1e8, nameof(produceKg));
        Require.Within(airM3, 0.1, 1e6, nameof(airM3));
    }

    /// <summary>(1 - exp(-n t))/n, h; its series where n t is so small that the difference would lose digits.</summary>
    private static double WeightedHours(double hours, double airChangesPerHour)
    {
        double x = airChangesPerHour * hours;
        return x < 1e-4
            ? hours * (1 - x / 2 + x * x / 6)
            : (1 - Portable.Exp(-x)) / airChangesPerHour;
    }
}
