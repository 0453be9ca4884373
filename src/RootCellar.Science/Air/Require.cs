using System.Globalization;

namespace RootCellar.Science.Air;

internal static class Require
{
    /// <summary>Refuses what is outside low..high, and NaN, naming the figure and the range.</summary>
    public static void Within(double value, double low, double high, string name)
    {
        if (!(value >= low && value <= high))
        {
            throw new ArgumentOutOfRangeException(
                name,
                value,
                string.Create(CultureInfo.InvariantCulture, $"{name} must be from {low} to {high}."));
        }
    }
}
