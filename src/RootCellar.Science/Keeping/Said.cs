using System.Globalization;

namespace RootCellar.Science.Keeping;

/// <summary>How a figure is written in a sentence for a grower: both scales, invariant numbers.</summary>
internal static class Said
{
    /// <summary>Such as "38 F (3.3 C)".</summary>
    public static string Degrees(double c)
    {
        double f = Math.Round(Fahrenheit.Of(c), 1, MidpointRounding.AwayFromZero);
        double rounded = Math.Round(c, 1, MidpointRounding.AwayFromZero);
        return string.Create(CultureInfo.InvariantCulture, $"{f + 0.0:0.#} F ({rounded + 0.0:0.#} C)");
    }

    /// <summary>A difference of temperatures, such as "1.8 F (1 C)".</summary>
    public static string DegreesApart(double c) =>
        string.Create(CultureInfo.InvariantCulture, $"{Round(c * Fahrenheit.PerCelsius, 1):0.#} F ({Round(c, 1):0.#} C)");

    /// <summary>"an hour", "30 hours", "3 days" from three days up.</summary>
    public static string Hours(double hours) => hours switch
    {
        < 1.5 and >= 0.95 => "an hour",
        < 0.95 => string.Create(CultureInfo.InvariantCulture, $"{Round(hours * 60, 0):0} minutes"),
        < 72 => string.Create(CultureInfo.InvariantCulture, $"{Round(hours, 0):0} hours"),
        _ => string.Create(CultureInfo.InvariantCulture, $"{Round(hours / 24, 0):0} days"),
    };

    /// <summary>A whole number.</summary>
    public static string Number(double value) => Round(value, 0).ToString("0", CultureInfo.InvariantCulture);

    // Plus nought: minus nought would print its sign.
    private static double Round(double value, int decimals) => Math.Round(value, decimals, MidpointRounding.AwayFromZero) + 0.0;
}
