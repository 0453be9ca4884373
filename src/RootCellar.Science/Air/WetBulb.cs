namespace RootCellar.Science.Air;

/// <summary>
/// Thermodynamic wet bulb by the ASHRAE psychrometric equations (Fundamentals 2017, ch. 1, equations 33 and 35), with
/// water on the wick at 0 C and above and ice below. Its humidity ratios are ideal-gas, as <see cref="MoistAir.HumidityRatio"/>.
/// </summary>
public static class WetBulb
{
    /// <summary>Wet bulb, C. Saturated air (over ice, where the wick would be ice) has the wet bulb of its own temperature.</summary>
    /// <remarks>
    /// The two equations do not meet at 0 C: the ice one gives the drier air there. Air between them could hold either
    /// wick; the unfrozen one is taken. Bisection to 1e-9 C on a function that rises with the wet bulb: it cannot fail to converge.
    /// </remarks>
    public static double OfC(double temperatureC, double vapourPressurePa, double pressurePa)
    {
        double ratio = MoistAir.HumidityRatio(vapourPressurePa, pressurePa);
        bool ice = temperatureC < 0 || RatioOverWater(temperatureC, 0, pressurePa) > ratio;
        double low = Math.Min(MoistAir.DewPointC(vapourPressurePa), temperatureC);
        double high = ice ? Math.Min(temperatureC, 0) : temperatureC;
        if (!ice)
            low = Math.Max(low, 0);
        low = Math.Min(low, high);
        if (Ratio(temperatureC, high, pressurePa, ice) <= ratio)
            return high;
        while (high - low > 1e-9)
        {
            double middle = (low + high) / 2;
            if (Ratio(temperatureC, middle, pressurePa, ice) < ratio)
                low = middle;
            else
                high = middle;
        }

        return (low + high) / 2;
    }

    /// <summary>Humidity ratio, kg/kg, of air of this temperature and wet bulb; water on the wick at 0 C and above, ice below.</summary>
    public static double HumidityRatio(double temperatureC, double wetBulbC, double pressurePa) =>
        Ratio(temperatureC, wetBulbC, pressurePa, ice: wetBulbC < 0);

    private static double Ratio(double temperatureC, double wetBulbC, double pressurePa, bool ice) =>
        ice ? RatioOverIce(temperatureC, wetBulbC, pressurePa) : RatioOverWater(temperatureC, wetBulbC, pressurePa);

    private static double RatioOverWater(double temperatureC, double wetBulbC, double pressurePa)
    {
        double saturated = MoistAir.HumidityRatio(Saturation.OverWaterPa(wetBulbC), pressurePa);
        return ((2501 - 2.326 * wetBulbC) * saturated - 1.006 * (temperatureC - wetBulbC))
            / (2501 + 1.86 * temperatureC - 4.186 * wetBulbC);
    }

    private static double RatioOverIce(double temperatureC, double wetBulbC, double pressurePa)
    {
        double saturated = MoistAir.HumidityRatio(Saturation.OverIcePa(wetBulbC), pressurePa);
        return ((2830 - 0.24 * wetBulbC) * saturated - 1.006 * (temperatureC - wetBulbC))
            / (2830 + 1.86 * temperatureC - 2.1 * wetBulbC);
    }
}
