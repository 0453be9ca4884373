namespace RootCellar.Science.Keeping;

/// <summary>How much light a lot has had.</summary>
public enum GreeningLevel
{
    /// <summary>Under the alert.</summary>
    Little,

    /// <summary>Keep it dark and look at it.</summary>
    Alert,

    /// <summary>Sort it.</summary>
    Act,
}

/// <summary>
/// Light and potatoes. Counted is the light, in hours of saturating light at 20 C: it builds up and never falls, the green
/// does not go back. Chlorophyll and the bitter glycoalkaloids are made by separate ways (Edwards and Cobb 1997 saw no effect
/// of light on glycoalkaloids, Dickie et al. 2004 saw threefold): a lot that is not green is not thereby cleared, and
/// glycoalkaloids are never worked out here. No clean lux-hour threshold for visible green was found in print.
/// </summary>
public static class Greening
{
    /// <summary>
    /// Illuminance at half the saturated rate, lx (assumed; trials lit at 1,300 lx greened within days: Olsen and Brandt 2018, Dickie et
    /// al. 2004).
    /// </summary>
    public const double HalfSaturationLux = 500;

    /// <summary>No greening from here down, C (assumed; food-information pages say none at refrigeration temperature).</summary>
    public const double NoneBelowC = 4;

    /// <summary>
    /// Hours at which a lot is looked at (assumed, early on purpose: from memory, faint green is seen after 2 to 3 days at 1,000 lx).
    /// </summary>
    public const double AlertHours = 8;

    /// <summary>Hours at which a lot is sorted (assumed, early on purpose).</summary>
    public const double ActHours = 24;

    /// <summary>Hours of saturating light at 20 C taken per hour, 0 to 1.</summary>
    /// <param name="lux">Light on the produce, lx; NaN where not known, which adds nothing.</param>
    /// <param name="pulpC">Temperature of the produce, C; NaN adds nothing.</param>
    /// <remarks>
    /// temperature factor x lux / (lux + 500). A lux meter makes little of blue, which greens most (Tanios et al. 2020: 450 nm
    /// 100 %, 530 nm 47 %, 660 nm 35 %): lamps of cold white light green more per lux than warm ones.
    /// </remarks>
    public static double DoseHoursPerHour(double lux, double pulpC) =>
        lux > 0 ? TemperatureFactor(pulpC) * (double.IsPositiveInfinity(lux) ? 1 : lux / (lux + HalfSaturationLux)) : 0;

    /// <summary>Rate of greening against that at 20 C.</summary>
    /// <remarks>
    /// Edwards and Cobb 1997, J. Agric. Food Chem. 45:1032 (King Edward at 5, 10, 20, 25 C): most chlorophyll at 20 C. The
    /// corners 0 at 4 C, 0.5 at 10, 1 at 20, 0.8 at 25 C and held from there are assumed.
    /// </remarks>
    public static double TemperatureFactor(double pulpC) => pulpC switch
    {
        > 25 => 0.8,
        > 20 => 1 - 0.2 * (pulpC - 20) / 5,
        > 10 => 0.5 + 0.5 * (pulpC - 10) / 10,
        > NoneBelowC => 0.5 * (pulpC - NoneBelowC) / 6,
        _ => 0,
    };

    /// <summary>What a dose calls for.</summary>
    public static GreeningLevel Level(double doseHours) => doseHours switch
    {
        >= ActHours => GreeningLevel.Act,
        >= AlertHours => GreeningLevel.Alert,
        _ => GreeningLevel.Little,
    };

    /// <summary>What to say of a lot's dose.</summary>
    /// <param name="doseHours">Hours of saturating light at 20 C so far.</param>
    public static string Words(double doseHours) => Level(doseHours) switch
    {
        GreeningLevel.Act =>
            $"This lot has had light enough to turn green ({Said.Number(doseHours)} hours of strong light): sort it, cut away green skin and flesh and all sprouts, throw out what is heavily green or tastes bitter, and remember that bitterness can come without green.",
        GreeningLevel.Alert =>
            $"This lot has had {Said.Number(doseHours)} hours' worth of strong light: cover it, keep the room dark and look for green skins.",
        _ => !(doseHours >= 0.5)
            ? "Hardly any light has been seen on this lot; green skins would still call for sorting."
            : $"This lot has had {Said.Number(Math.Max(1, doseHours))} hours' worth of strong light; keep it dark, for light adds up and does not wear off.",
    };
}
