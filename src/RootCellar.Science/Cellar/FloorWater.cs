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

    /// <summary>
    /// Water that brings the air of a room to a humidity at the same temperature, L: volume times the difference of absolute humidity
    /// (derived). Wood, soil and walls take up several times as much before the air gets there: a lower bound.
    /// </summary>
    public static double LitresAtOnce(AirState air, double wantedPercent, double airM3)
    {
        Require.Within(wantedPercent, MoistAir.LowestHumidityPercent, 100, nameof(wantedPercent));
        Require.Within(airM3, 0.01, 1e6, nameof(airM3));
        double wanted = MoistAir.AbsoluteHumidityGramsPerCubicMetre(
            MoistAir.VapourPressurePa(air.TemperatureC, wantedPercent), air.TemperatureC);
        return airM3 * Math.Max(0, wanted - air.AbsoluteHumidityGramsPerCubicMetre) / 1000;
    }

    /// <summary>
    /// Water a day that holds that humidity, L: what the air change carries away and walls and produce give less of, 24 r times what was
    /// put in at once, with r the rate at which the room's vapour comes back to its own level (derived; water balance of one box).
    /// </summary>
    /// <param name="air">Air the room keeps by itself.</param>
    /// <param name="wantedPercent">Humidity to hold, percent.</param>
    /// <param name="airM3">Air in the room, m3.</param>
    /// <param name="returnPerHour">1/h: <see cref="AirLeak.ReturnPerHour"/>.</param>
    public static double LitresPerDay(AirState air, double wantedPercent, double airM3, double returnPerHour)
    {
        Require.Within(returnPerHour, 0, 1000, nameof(returnPerHour));
        return 24 * returnPerHour * LitresAtOnce(air, wantedPercent, airM3);
    }
}
