namespace RootCellar.Science;

/// <summary>The Fahrenheit scale, exact (NIST SP 811, appendix B.8).</summary>
public static class Fahrenheit
{
    /// <summary>Degrees Fahrenheit in a degree Celsius, for differences.</summary>
    public const double PerCelsius = 1.8;

    /// <summary>A temperature in F.</summary>
    public static double Of(double celsius) => (celsius * PerCelsius) + 32;

    /// <summary>A temperature in C.</summary>
    public static double ToCelsius(double fahrenheit) => (fahrenheit - 32) / PerCelsius;
}
