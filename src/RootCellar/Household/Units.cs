using System.Globalization;
using RootCellar.Science;

namespace RootCellar.Household;

/// <summary>What the household counts in: from SI, which all figures are kept in, and back.</summary>
internal abstract class Units(HouseholdOptions household)
{
    private static readonly double[] Steps = [0.1, 0.5, 1, 5, 10, 50, 100, 500, 1000];

    public bool InFahrenheit => household.Scale == TemperatureScale.Fahrenheit;

    /// <summary>What a crate of the household holds, kg; null where it counts in none.</summary>
    public double? CrateKg => household.CrateKg > 0 ? household.CrateKg : null;

    public bool Pounds => household.Weight == "lb";

    /// <summary>The household's unit of weight, as the book writes it.</summary>
    public string WeightUnit => Pounds ? "lb" : "kg";

    public string TemperatureUnit => InFahrenheit ? "°F" : "°C";

    public double WeightOf(double kg) => Pounds ? kg / Pound.Kilograms : kg;

    public double WeightKg(double given) => Pounds ? given * Pound.Kilograms : given;

    /// <summary>A temperature.</summary>
    public double Degrees(double celsius) => InFahrenheit ? Fahrenheit.Of(celsius) : celsius;

    public double Celsius(double given) => InFahrenheit ? Fahrenheit.ToCelsius(given) : given;

    /// <summary>A difference of two temperatures.</summary>
    public double DegreesApart(double kelvin) => InFahrenheit ? kelvin * Fahrenheit.PerCelsius : kelvin;

    /// <summary>A short length, as of a sprout: inches beside pounds, millimetres beside kilograms.</summary>
    public double ShortOf(double mm) => Pounds ? mm / Inch.Millimetres : mm;

    public double ShortMm(double given) => Pounds ? given * Inch.Millimetres : given;

    /// <summary>The unit of what is as light as one piece.</summary>
    public string PieceUnit => Pounds ? "oz" : "g";

    public double PieceOf(double kg) => Pounds ? 16 * kg / Pound.Kilograms : 1000 * kg;

    public double PieceKg(double given) => Pounds ? given * Pound.Kilograms / 16 : given / 1000;

    /// <summary>
    /// The step a weight is rounded to, in the household's unit: no finer than it is known and than the scale, a tenth at least.
    /// </summary>
    /// <param name="knownKg">How far it is known: half of its interval.</param>
    /// <param name="scaleStepKg">Step of the scale it was read off.</param>
    public double WeightStep(double knownKg, double scaleStepKg = 0)
    {
        var known = WeightOf(knownKg);
        // A scale of 50 g is one of a tenth of a pound for this.
        var least = Array.Find(Steps, s => s >= 0.9 * WeightOf(scaleStepKg));
        return Math.Max(least, Array.FindLast(Steps, s => s <= known) is var step and > 0 ? step : Steps[0]);
    }

    /// <summary>Why a text that was to be a number is none, or which two it may be.</summary>
    public static string NotANumber(string text) => Numerals.MayBeTwo(text) switch
    {
        null => Strings.NumberWrong.With(text, Number(41.5, "0.0")),
        (var thousand, double.NaN) => Strings.NumberGrouped.With(text, thousand.ToString("0", CultureInfo.InvariantCulture)),
        var (thousand, fraction) => Strings.NumberTwo.With(
            text, thousand.ToString("0", CultureInfo.InvariantCulture), Number(fraction, "0.##")),
    };

    /// <summary>
    /// A number written out: halves away from nought, and no sign on what rounds to nought. Every figure that people read is made here.
    /// </summary>
    public static string Number(double value, string format)
    {
        var text = value.ToString(format, Numerals.Here);
        return text.Any(c => c is >= '1' and <= '9') ? text : text.TrimStart('-');
    }
}
