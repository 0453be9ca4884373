using RootCellar.Science.Air;

namespace RootCellar.Science.Crops;

/// <summary>A published rate of respiration at one temperature.</summary>
/// <param name="TemperatureC">Temperature of the produce, C.</param>
/// <param name="MgCo2PerKgH">Carbon dioxide given off, mg/(kg h) of fresh mass.</param>
public readonly record struct RespirationPoint(double TemperatureC, double MgCo2PerKgH);

/// <summary>
/// How fast a crop breathes, as published at a few temperatures. For sound, rested produce: freshly dug, wounded or sprouting
/// produce breathes faster, which is the caller's to reckon with. Two tables are equal when source and point list are the same list.
/// </summary>
/// <param name="Points">By rising temperature; at least one.</param>
/// <param name="Source">Where they were read.</param>
public sealed record RespirationTable(IReadOnlyList<RespirationPoint> Points, string Source)
{
    /// <summary>
    /// Rate at a temperature. Between points a straight line; below the lowest flat, since some crops breathe faster again in
    /// the cold; above the highest it doubles every 10 C (Q10 of 2, assumed), straight within each ten, so that only + - * /
    /// are used and every machine gives the same bits.
    /// </summary>
    /// <param name="temperatureC">Temperature of the produce, C; -5 to 45.</param>
    /// <returns>Carbon dioxide given off, mg/(kg h).</returns>
    /// <exception cref="ArgumentOutOfRangeException">The temperature is outside the range.</exception>
    public double At(double temperatureC)
    {
        Require.Within(temperatureC, -5, 45, nameof(temperatureC));
        var below = Points[0];
        if (temperatureC <= below.TemperatureC)
            return below.MgCo2PerKgH;
        foreach (var above in Points)
        {
            if (temperatureC <= above.TemperatureC)
            {
                double share = (temperatureC - below.TemperatureC) / (above.TemperatureC - below.TemperatureC);
                return below.MgCo2PerKgH + (share * (above.MgCo2PerKgH - below.MgCo2PerKgH));
            }

            below = above;
        }

        double rate = below.MgCo2PerKgH;
        double beyond = temperatureC - below.TemperatureC;
        for (; beyond > 10; beyond -= 10)
            rate *= 2;
        return rate * (1 + (beyond / 10));
    }
}
