namespace RootCellar.Science;

/// <summary>
/// Exponential, logarithm and power that give the same bits on every machine. Math.Exp, Math.Log and Math.Pow call the C
/// library of the platform, whose last bit differs between x86-64 and ARM; a lot replayed on another machine must agree bit
/// for bit. Only + - * /, floor and the bits of a double are used here; IEEE 754 fixes those, and .NET never fuses a
/// multiply with an add by itself.
/// </summary>
/// <remarks>Relative error below 1e-15 for Exp and Log; Pow below 1e-13 in the ranges met here. Pure; safe from any thread.</remarks>
public static class Portable
{
    // ln 2 in two parts, the first exact in 32 bits (W. J. Cody and W. Waite, Software Manual for the Elementary Functions, 1980, from
    // memory).
    private const double Ln2High = 6.93147180369123816490e-01;
    private const double Ln2Low = 1.90821492927058770002e-10;

    /// <summary>e to the power of <paramref name="x"/>; 0 below -708, infinity above 709.</summary>
    public static double Exp(double x)
    {
        if (double.IsNaN(x))
            return double.NaN;
        if (x > 709)
            return double.PositiveInfinity;
        if (x < -708)
            return 0;
        double k = Math.Floor(x * 1.4426950408889634 + 0.5);
        double r = x - k * Ln2High - k * Ln2Low;
        // Taylor series in |r| <= 0.347 to the 13th power: the next term is below 5e-18. Coefficients 1/n!, added in pairs (Estrin's
        // scheme), for one long chain would take three times as long.
        double r2 = r * r;
        double r4 = r2 * r2;
        double low = (1 + r) + (0.5 + 0.16666666666666666 * r) * r2;
        double second = (0.041666666666666664 + 0.008333333333333333 * r) + (0.001388888888888889 + 0.0001984126984126984 * r) * r2;
        double third = (2.48015873015873e-05 + 2.7557319223985893e-06 * r) + (2.755731922398589e-07 + 2.505210838544172e-08 * r) * r2;
        double high = 2.08767569878681e-09 + 1.6059043836821613e-10 * r;
        double sum = (low + second * r4) + (third + high * r4) * (r4 * r4);
        return sum * BitConverter.Int64BitsToDouble(((long)k + 1023) << 52);
    }

    /// <summary>Natural logarithm of a normal number above 0; NaN below 0, minus infinity at 0.</summary>
    public static double Log(double x)
    {
        if (!(x > 0))
            return x == 0 ? double.NegativeInfinity : double.NaN;
        if (double.IsPositiveInfinity(x))
            return x;
        long bits = BitConverter.DoubleToInt64Bits(x);
        long exponent = (bits >> 52) - 1023;
        double m = BitConverter.Int64BitsToDouble((bits & 0x000F_FFFF_FFFF_FFFFL) | 0x3FF0_0000_0000_0000L);
        if (m > 1.4142135623730951)
        {
            m /= 2;
            exponent++;
        }

        // ln m = 2 artanh((m-1)/(m+1)), |s| <= 0.1716; the term after the last is below 1e-17.
        double s = (m - 1) / (m + 1);
        double q = s * s;
        double q2 = q * q;
        double q4 = q2 * q2;
        double low = (1 + 0.3333333333333333 * q) + (0.2 + 0.14285714285714285 * q) * q2;
        double second = (0.1111111111111111 + 0.09090909090909091 * q) + (0.07692307692307693 + 0.06666666666666667 * q) * q2;
        double high = (0.058823529411764705 + 0.05263157894736842 * q) + 0.047619047619047616 * q2;
        double sum = (low + second * q4) + high * (q4 * q4);
        return exponent * Ln2High + (2 * s * sum + exponent * Ln2Low);
    }

    /// <summary><paramref name="x"/> to the power of <paramref name="y"/>, for x from 0 up.</summary>
    public static double Pow(double x, double y) => x == 0 ? (y == 0 ? 1 : 0) : Exp(y * Log(x));

    /// <summary>
    /// Share of a standard normal distribution below <paramref name="x"/> (G. West, Better approximations to cumulative normal functions,
    /// Wilmott 2005, after Hart 1968; from memory), about 1e-14.
    /// </summary>
    public static double NormalCdf(double x)
    {
        double a = Math.Abs(x);
        double tail = 0;
        if (a <= 37)
        {
            double e = Exp(-a * a / 2);
            if (a < 7.07106781186547)
            {
                double top = ((((((3.52624965998911e-02 * a + 0.700383064443688) * a + 6.37396220353165) * a + 33.912866078383) * a
                    + 112.079291497871) * a + 221.213596169931) * a) + 220.206867912376;
                double bottom = (((((((8.83883476483184e-02 * a + 1.75566716318264) * a + 16.064177579207) * a + 86.7807322029461) * a
                    + 296.564248779674) * a + 637.333633378831) * a + 793.826512519948) * a) + 440.413735824752;
                tail = e * top / bottom;
            }
            else
            {
                tail = e / (a + 1 / (a + 2 / (a + 3 / (a + 4 / (a + 0.65))))) / 2.506628274631;
            }
        }

        return x > 0 ? 1 - tail : tail;
    }

    /// <summary>
    /// The value a standard normal distribution stays below with probability <paramref name="p"/> (P. J. Acklam's rational
    /// approximation, from memory, with one Halley step), about 1e-12.
    /// </summary>
    /// <exception cref="ArgumentOutOfRangeException"><paramref name="p"/> is not between 0 and 1.</exception>
    public static double NormalQuantile(double p)
    {
        if (!(p > 0 && p < 1))
            throw new ArgumentOutOfRangeException(nameof(p), p, "A probability must lie between 0 and 1, the ends left out.");
        if (p > 0.5)
            return -NormalQuantile(1 - p);
        double x;
        if (p < 0.02425)
        {
            double q = Math.Sqrt(-2 * Log(p));
            x = (((((-7.784894002430293e-03 * q - 3.223964580411365e-01) * q - 2.400758277161838) * q - 2.549732539343734) * q
                    + 4.374664141464968) * q + 2.938163982698783)
                / ((((7.784695709041462e-03 * q + 3.224671290700398e-01) * q + 2.445134137142996) * q + 3.754408661907416) * q + 1);
        }
        else
        {
            double q = p - 0.5;
            double r = q * q;
            x = (((((-3.969683028665376e+01 * r + 2.209460984245205e+02) * r - 2.759285104469687e+02) * r + 1.383577518672690e+02) * r
                    - 3.066479806614716e+01) * r + 2.506628277459239) * q
                / (((((-5.447609879822406e+01 * r + 1.615858368580409e+02) * r - 1.556989798598866e+02) * r + 6.680131188771972e+01) * r
                    - 1.328068155288572e+01) * r + 1);
        }

        double error = (NormalCdf(x) - p) * 2.5066282746310002 * Exp(x * x / 2);
        return x - error / (1 + x * error / 2);
    }
}
