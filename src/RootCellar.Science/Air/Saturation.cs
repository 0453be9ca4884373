namespace RootCellar.Science.Air;

/// <summary>
/// Saturation vapour pressure of water over its liquid and over ice, and the inverses. Temperatures are degrees C
/// (ITS-90), pressures Pa. Pure water, no air: the enhancement by air (about 0.4 %) is left out.
/// </summary>
/// <remarks>
/// Over water: IAPWS-IF97 region 4. Chosen because it is the international standard, its inverse is exact in closed
/// form, and it needs only + - * / and Math.Sqrt, which IEEE 754 rounds correctly: the same bits on every machine,
/// which a replay leans on. Over ice: IAPWS R14-08, which needs Math.Exp and Math.Pow, whose last bit may differ
/// between machines; nothing that is replayed uses it.
/// </remarks>
public static class Saturation
{
    /// <summary>0 C in K.</summary>
    public const double ZeroCelsiusK = 273.15;

    /// <summary>Lowest temperature taken over supercooled water, C.</summary>
    public const double LowestOverWaterC = -100;

    /// <summary>Highest temperature taken over water, C (critical point 647.096 K).</summary>
    public const double HighestOverWaterC = 373.946;

    // IAPWS-IF97 (R7-97(2012)), Table 34.
    private const double N1 = 0.11670521452767e4;
    private const double N2 = -0.72421316703206e6;
    private const double N3 = -0.17073846940092e2;
    private const double N4 = 0.12020824702470e5;
    private const double N5 = -0.32325550322333e7;
    private const double N6 = 0.14915108613530e2;
    private const double N7 = -0.48232657361591e4;
    private const double N8 = 0.40511340542057e6;
    private const double N9 = -0.23855557567849;
    private const double N10 = 0.65017534844798e3;

    /// <summary>Saturation vapour pressure over liquid water, Pa.</summary>
    /// <remarks>
    /// IAPWS-IF97 equation 30, whose range is 0 to 373.946 C. Below 0 C the same equation is extended to supercooled
    /// water, because sensors go on reporting humidity over water there: it stays within 0.05 % of Murphy and Koop
    /// (2005, Q. J. R. Meteorol. Soc. 131:1539, equation 10) down to -30 C, 0.3 % at -40 C, and is only a smooth tail
    /// below -60 C.
    /// </remarks>
    /// <exception cref="ArgumentOutOfRangeException">Outside -100 to 373.946 C, or not a number.</exception>
    public static double OverWaterPa(double temperatureC)
    {
        Require.Within(temperatureC, LowestOverWaterC, HighestOverWaterC, nameof(temperatureC));
        double t = temperatureC + ZeroCelsiusK;
        double theta = t + N9 / (t - N10);
        double a = theta * theta + N1 * theta + N2;
        double b = N3 * theta * theta + N4 * theta + N5;
        double c = N6 * theta * theta + N7 * theta + N8;
        double root = 2 * c / (-b + Math.Sqrt(b * b - 4 * a * c));
        double square = root * root;
        return square * square * 1e6;
    }

    /// <summary>Temperature at which water is saturated at a vapour pressure, C: the dew point of that pressure.</summary>
    /// <remarks>
    /// IAPWS-IF97 equation 31, the exact inverse of equation 30; below 611.213 Pa it is the inverse of the same
    /// supercooled extension.
    /// </remarks>
    /// <exception cref="ArgumentOutOfRangeException">Outside 0.01 Pa to 22.064 MPa, or not a number.</exception>
    public static double TemperatureOverWaterC(double vapourPressurePa)
    {
        Require.Within(vapourPressurePa, 0.01, 22.064e6, nameof(vapourPressurePa));
        double beta = Math.Sqrt(Math.Sqrt(vapourPressurePa * 1e-6));
        double e = beta * beta + N3 * beta + N6;
        double f = N1 * beta * beta + N4 * beta + N7;
        double g = N2 * beta * beta + N5 * beta + N8;
        double d = 2 * g / (-f - Math.Sqrt(f * f - 4 * e * g));
        double sum = N10 + d;
        return (sum - Math.Sqrt(sum * sum - 4 * (N9 + N10 * d))) / 2 - ZeroCelsiusK;
    }

    /// <summary>Sublimation pressure over ice Ih, Pa.</summary>
    /// <remarks>IAPWS R14-08(2011) equation 6; 50 K to the triple point, 273.16 K. Math.Exp and Math.Pow.</remarks>
    /// <exception cref="ArgumentOutOfRangeException">Outside -200 to 0.01 C, or not a number.</exception>
    public static double OverIcePa(double temperatureC)
    {
        Require.Within(temperatureC, -200, 0.01, nameof(temperatureC));
        double theta = (temperatureC + ZeroCelsiusK) / 273.16;
        double sum = -0.212144006e2 * Math.Pow(theta, 0.333333333e-2)
            + 0.273203819e2 * Math.Pow(theta, 0.120666667e1)
            - 0.610598130e1 * Math.Pow(theta, 0.170333333e1);
        return 611.657 * Math.Exp(sum / theta);
    }

    /// <summary>Temperature at which ice is in balance with a vapour pressure, C: the frost point of that pressure.</summary>
    /// <remarks>Bisection on R14-08 to 1e-9 C; there is no closed inverse.</remarks>
    /// <exception cref="ArgumentOutOfRangeException">Outside 0.0001 to 611.657 Pa, or not a number.</exception>
    public static double TemperatureOverIceC(double vapourPressurePa)
    {
        Require.Within(vapourPressurePa, 1e-4, 611.657, nameof(vapourPressurePa));
        double low = -120;
        double high = 0.01;
        while (high - low > 1e-9)
        {
            double middle = (low + high) / 2;
            if (OverIcePa(middle) < vapourPressurePa)
                low = middle;
            else
                high = middle;
        }

        return (low + high) / 2;
    }
}
