using RootCellar.Science.Air;

namespace RootCellar.Science.Cellar;

/// <summary>Water on a cellar floor. Room temperature is taken as held by walls and produce.</summary>
public static class FloorWater
{
    /// <summary>
    /// Dampest air whose dew point stays the margin below the coldest produce, percent at air temperature, at most 100:
    /// 100 e_s(pulp - margin)/e_s(air) (definition of the dew point).
    /// </summary>
    public static double HighestHumidityPercent(double airC, double coldestPulpC, double marginC = Vent.NearlyWetMarginC)
    {
        Require.Within(airC, -5, 45, nameof(airC));
        Require.Within(coldestPulpC, -5, 45, nameof(coldestPulpC));
        Require.Within(marginC, 0, 10, nameof(marginC));
        return Math.Min(100, 100 * Saturation.OverWaterPa(coldestPulpC - marginC) / Saturation.OverWaterPa(airC));
    }
}
