namespace RootCellar.Household;

/// <summary>What the household reads temperatures in.</summary>
internal enum TemperatureScale
{
    Fahrenheit,
    Celsius,
}
