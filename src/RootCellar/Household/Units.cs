using RootCellar.Science;

namespace RootCellar.Household;

/// <summary>What the household counts in: from SI, which all figures are kept in, and back.</summary>
internal abstract class Units(HouseholdOptions household)
{
    public bool InFahrenheit => household.Scale == TemperatureScale.Fahrenheit;

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
}
