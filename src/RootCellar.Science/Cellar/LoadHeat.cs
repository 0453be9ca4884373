using RootCellar.Science.Air;
using RootCellar.Science.Keeping;

namespace RootCellar.Science.Cellar;

/// <summary>
/// Heat of a load of produce, as one lump of one temperature: fit for crates and shallow bins with air about them. A deep
/// heap lags behind itself: <see cref="PileHeat"/>.
/// </summary>
/// <remarks>Specific heat is the caller's: 3.52 kJ/(kg K) for potatoes by NC State (0.84 Btu/(lb F)), 3.67 by ASHRAE (from memory); 4 % apart.</remarks>
public static class LoadHeat
{
    /// <summary>Usual rate of cooling after curing, C per day: 0.5 F (University of Nebraska; University of Idaho CIS 1134).</summary>
    public const double AmericanRuleCPerDay = 0.5 / 1.8;

    /// <summary>Largest rate of cooling in British practice, C per day (Potato Review, November 2020).</summary>
    public const double BritishRuleCPerDay = 0.5;

    /// <summary>Heat capacity of a cubic metre of air at 5 C and sea level, kJ/(m3 K): 1.27 kg of 1.006 kJ/(kg K) (ASHRAE Fundamentals 2017 ch. 1, ideal gas).</summary>
    public const double AirKJPerM3K = 1.277;

    /// <summary>Heat to take out of a load (or put in, below nought), MJ: m c (from - to)/1000.</summary>
    /// <param name="kg">Mass, kg.</param>
    /// <param name="specificHeatKJPerKgK">kJ/(kg K), 1 to 5.</param>
    /// <param name="fromC">From, C; above freezing: latent heat is not in it.</param>
    /// <param name="toC">To, C.</param>
    public static double SensibleMegajoules(double kg, double specificHeatKJPerKgK, double fromC, double toC)
    {
        CheckLoad(kg, specificHeatKJPerKgK);
        Require.Within(fromC, -2, 60, nameof(fromC));
        Require.Within(toC, -2, 60, nameof(toC));
        return kg * specificHeatKJPerKgK * (fromC - toC) / 1000;
    }

    /// <summary>kWh of MJ: divided by 3.6.</summary>
    public static double KilowattHours(double megajoules) => megajoules / 3.6;

    /// <summary>
    /// Heat of respiration of a load, W: <see cref="Breath.MilliwattsPerKg"/>, 10.7 kJ per g of carbon dioxide over 3.6, that is 2.97 mW
    /// per mg/h. Becker and Fricke 1996; glucose burnt whole gives 2,816 kJ per 264 g, 10.7. ASHRAE also prints 2,667 kJ/mol, which
    /// would be 10.1: 6 % less, not used.
    /// </summary>
    /// <param name="kg">Mass, kg.</param>
    /// <param name="mgCo2PerKgHour">Carbon dioxide given off, mg/(kg h), 0 to 1000.</param>
    public static double RespirationWatts(double kg, double mgCo2PerKgHour)
    {
        Require.Within(kg, 0, 1e8, nameof(kg));
        Require.Within(mgCo2PerKgHour, 0, 1000, nameof(mgCo2PerKgHour));
        return kg * Breath.MilliwattsPerKg(mgCo2PerKgHour) / 1000;
    }

    /// <summary>
    /// What air carries away per degree it warms, W/K: flow times 1.277 kJ/(m3 K) times the share of the way it warms to the
    /// produce. Air through crates comes near 1; air that passes over a stack takes far less (derived; the share is the caller's judgement).
    /// </summary>
    public static double ConductanceWattsPerK(double cubicMetresPerHour, double shareWarmed = 1)
    {
        Require.Within(cubicMetresPerHour, 0, 1e6, nameof(cubicMetresPerHour));
        Require.Within(shareWarmed, 0, 1, nameof(shareWarmed));
        return cubicMetresPerHour / 3.6 * AirKJPerM3K * shareWarmed;
    }

    /// <summary>Temperature a load settles at, C: air plus respiration heat over conductance.</summary>
    public static double SettlesAtC(double airC, double respirationWatts, double conductanceWattsPerK)
    {
        Require.Within(airC, -40, 45, nameof(airC));
        Require.Within(respirationWatts, 0, 1e8, nameof(respirationWatts));
        Require.Within(conductanceWattsPerK, 1e-6, 1e8, nameof(conductanceWattsPerK));
        return airC + respirationWatts / conductanceWattsPerK;
    }

    /// <summary>
    /// Temperature of a load after so many days, C: m c dT/dt = q - G (T - T_air), so T approaches <see cref="SettlesAtC"/> with
    /// the time constant m c/G (lumped; derived). Respiration is held constant: it falls as the load cools, so cooling is a little faster.
    /// </summary>
    public static double AfterDaysC(double kg, double specificHeatKJPerKgK, double fromC, double airC, double conductanceWattsPerK, double respirationWatts, double days)
    {
        CheckLoad(kg, specificHeatKJPerKgK);
        Require.Within(fromC, -2, 60, nameof(fromC));
        Require.Within(days, 0, 3650, nameof(days));
        double settles = SettlesAtC(airC, respirationWatts, conductanceWattsPerK);
        return settles + (fromC - settles) * Portable.Exp(-days / TimeConstantDays(kg, specificHeatKJPerKgK, conductanceWattsPerK));
    }

    /// <summary>Days to cool a load: the time constant times ln((from - settles)/(to - settles)). Nought where it is there, null where it never gets there.</summary>
    public static double? DaysToCool(double kg, double specificHeatKJPerKgK, double fromC, double toC, double airC, double conductanceWattsPerK, double respirationWatts)
    {
        CheckLoad(kg, specificHeatKJPerKgK);
        Require.Within(fromC, -2, 60, nameof(fromC));
        Require.Within(toC, -2, 60, nameof(toC));
        if (fromC <= toC)
            return 0;
        double settles = SettlesAtC(airC, respirationWatts, conductanceWattsPerK);
        if (settles >= toC)
            return null;
        return TimeConstantDays(kg, specificHeatKJPerKgK, conductanceWattsPerK) * Portable.Log((fromC - settles) / (toC - settles));
    }

    /// <summary>Days to cool by rule: the difference over a rate in C per day (<see cref="AmericanRuleCPerDay"/>, <see cref="BritishRuleCPerDay"/>). Nought where it is cold enough.</summary>
    public static double DaysByRule(double fromC, double toC, double ratePerDayC)
    {
        Require.Within(fromC, -2, 60, nameof(fromC));
        Require.Within(toC, -2, 60, nameof(toC));
        Require.Within(ratePerDayC, 0.01, 10, nameof(ratePerDayC));
        return Math.Max(0, fromC - toC) / ratePerDayC;
    }

    /// <summary>Time constant of a load, days: m c/G.</summary>
    public static double TimeConstantDays(double kg, double specificHeatKJPerKgK, double conductanceWattsPerK)
    {
        CheckLoad(kg, specificHeatKJPerKgK);
        Require.Within(conductanceWattsPerK, 1e-6, 1e8, nameof(conductanceWattsPerK));
        return kg * specificHeatKJPerKgK * 1000 / conductanceWattsPerK / 86400;
    }

    private static void CheckLoad(double kg, double specificHeatKJPerKgK)
    {
        Require.Within(kg, 0, 1e8, nameof(kg));
        Require.Within(specificHeatKJPerKgK, 1, 5, nameof(specificHeatKJPerKgK));
    }
}
