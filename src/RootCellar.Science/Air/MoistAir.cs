namespace RootCellar.Science.Air;

/// <summary>
/// Moist air at the cellar door. Temperatures are degrees C, pressures Pa, relative humidity percent over water at every
/// temperature (below 0 C too, as sensors report it and as the WMO defines it).
/// </summary>
/// <remarks>
/// Math.Sqrt is all that dew point, deficit, humidity ratio, absolute humidity and enthalpy need, so they are the same
/// bits everywhere. Math.Exp and Math.Pow come in with ice only (frost point, wet bulb below 0 C).
/// </remarks>
public static class MoistAir
{
    /// <summary>Standard pressure at sea level, Pa.</summary>
    public const double StandardPressurePa = 101325;

    /// <summary>Coldest air taken, C.</summary>
    public const double LowestTemperatureC = -40;

    /// <summary>Warmest air taken, C.</summary>
    public const double HighestTemperatureC = 85;

    /// <summary>Driest air taken, percent: bone-dry air has no dew point.</summary>
    public const double LowestHumidityPercent = 0.1;

    /// <summary>
    /// Above 100 % is supersaturated (mixed airs before the fog falls out, or a sensor reading high); it is worked as it stands.
    /// </summary>
    public const double HighestHumidityPercent = 500;

    /// <summary>Lowest air pressure taken, Pa (about 5.5 km up).</summary>
    public const double LowestPressurePa = 50_000;

    /// <summary>Highest air pressure taken, Pa.</summary>
    public const double HighestPressurePa = 115_000;

    /// <summary>Ratio of the molar masses of water and dry air, 18.015268/28.966 (ASHRAE Fundamentals 2017, ch. 1).</summary>
    public const double MolarMassRatio = 0.621945;

    /// <summary>Specific gas constant of water vapour, J/(kg K) (IAPWS-IF97).</summary>
    public const double WaterGasConstant = 461.526;

    /// <summary>Everything about air of one temperature, humidity and pressure.</summary>
    /// <exception cref="ArgumentOutOfRangeException">A figure outside the ranges named above, or not a number.</exception>
    public static AirState At(double temperatureC, double relativeHumidityPercent, double pressurePa = StandardPressurePa)
    {
        Require.Within(temperatureC, LowestTemperatureC, HighestTemperatureC, nameof(temperatureC));
        Require.Within(relativeHumidityPercent, LowestHumidityPercent, HighestHumidityPercent, nameof(relativeHumidityPercent));
        Require.Within(pressurePa, LowestPressurePa, HighestPressurePa, nameof(pressurePa));
        double saturation = Saturation.OverWaterPa(temperatureC);
        double vapour = saturation * relativeHumidityPercent / 100;
        double ratio = HumidityRatio(vapour, pressurePa);
        return new AirState(
            temperatureC,
            relativeHumidityPercent,
            pressurePa,
            saturation,
            vapour,
            saturation - vapour,
            DewPointC(vapour),
            temperatureC < 0 ? FrostPointC(vapour) : null,
            WetBulb.OfC(temperatureC, vapour, pressurePa),
            ratio,
            AbsoluteHumidityGramsPerCubicMetre(vapour, temperatureC),
            EnthalpyJoulesPerKilogram(temperatureC, ratio));
    }

    /// <summary>
    /// As <see cref="At"/>, or null where a figure is outside what it takes (not a number, 0 % humidity, a wild
    /// temperature): for figures that come from sensors.
    /// </summary>
    public static AirState? TryAt(double temperatureC, double relativeHumidityPercent, double pressurePa = StandardPressurePa) =>
        temperatureC is >= LowestTemperatureC and <= HighestTemperatureC
        && relativeHumidityPercent is >= LowestHumidityPercent and <= HighestHumidityPercent
        && pressurePa is >= LowestPressurePa and <= HighestPressurePa
        && Saturation.OverWaterPa(temperatureC) * relativeHumidityPercent / 100 < pressurePa
            ? At(temperatureC, relativeHumidityPercent, pressurePa)
            : null;

    /// <summary>Vapour pressure of the air, Pa.</summary>
    public static double VapourPressurePa(double temperatureC, double relativeHumidityPercent) =>
        Saturation.OverWaterPa(temperatureC) * relativeHumidityPercent / 100;

    /// <summary>Dew point (over water, also below 0 C) of a vapour pressure from 0.01 Pa up, C. Exact inverse of IF97.</summary>
    public static double DewPointC(double vapourPressurePa) => Saturation.TemperatureOverWaterC(vapourPressurePa);

    /// <summary>
    /// Frost point, C: where ice forms on a cold surface. Air above 611.657 Pa has none below 0.01 C, and gets its dew point.
    /// </summary>
    public static double FrostPointC(double vapourPressurePa) =>
        vapourPressurePa < 611.657 ? Saturation.TemperatureOverIceC(vapourPressurePa) : DewPointC(vapourPressurePa);

    /// <summary>Vapour pressure deficit at the temperature of the air, Pa. Below nought where supersaturated.</summary>
    public static double DeficitPa(double temperatureC, double relativeHumidityPercent) =>
        Saturation.OverWaterPa(temperatureC) * (1 - relativeHumidityPercent / 100);

    /// <summary>
    /// Deficit between the produce and the air, Pa: saturation at pulp temperature less the vapour pressure of the air.
    /// This is what dries a lot; below nought the lot is being wetted. Pure water: the sap's own lowering
    /// (a per cent or two) is not in it.
    /// </summary>
    public static double PulpDeficitPa(double pulpC, double vapourPressurePa) =>
        Saturation.OverWaterPa(pulpC) - vapourPressurePa;

    /// <summary>How far a surface is above the dew point, C. Nought or less: water forms on it.</summary>
    public static double CondensationMarginC(double surfaceC, double dewPointC) => surfaceC - dewPointC;

    /// <summary>Humidity ratio, kg water per kg dry air.</summary>
    /// <remarks>
    /// ASHRAE Fundamentals 2017 ch. 1 equation 20, air and vapour as ideal gases, without the enhancement factor: the
    /// vapour pressure is then exactly humidity times saturation pressure everywhere here. Against the real-gas values of
    /// ASHRAE Table 2 this is 0.4 to 0.5 % low at sea level from -20 to 25 C, 0.6 % at 50 C.
    /// </remarks>
    public static double HumidityRatio(double vapourPressurePa, double pressurePa)
    {
        if (!(vapourPressurePa >= 0 && vapourPressurePa < pressurePa))
        {
            throw new ArgumentOutOfRangeException(
                nameof(vapourPressurePa), vapourPressurePa, "The vapour pressure must be from 0 Pa to below the pressure of the air.");
        }

        return MolarMassRatio * vapourPressurePa / (pressurePa - vapourPressurePa);
    }

    /// <summary>Vapour pressure of a humidity ratio, Pa: the inverse of <see cref="HumidityRatio"/>.</summary>
    public static double VapourPressureOfRatioPa(double humidityRatio, double pressurePa) =>
        pressurePa * humidityRatio / (MolarMassRatio + humidityRatio);

    /// <summary>Water in the air, g/m3, as an ideal gas (0.1 % or better in a cellar).</summary>
    public static double AbsoluteHumidityGramsPerCubicMetre(double vapourPressurePa, double temperatureC) =>
        1000 * vapourPressurePa / (WaterGasConstant * (temperatureC + Saturation.ZeroCelsiusK));

    /// <summary>
    /// Enthalpy of moist air, J per kg dry air, nought for dry air at 0 C. ASHRAE Fundamentals 2017 ch. 1 equation 30.
    /// </summary>
    public static double EnthalpyJoulesPerKilogram(double temperatureC, double humidityRatio) =>
        1006 * temperatureC + humidityRatio * (2_501_000 + 1860 * temperatureC);
}
