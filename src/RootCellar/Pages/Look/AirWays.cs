using Microsoft.AspNetCore.Html;
using RootCellar.Household;
using RootCellar.Places;

namespace RootCellar.Pages.Look;

/// <summary>Where a figure goes.</summary>
internal enum AirWay
{
    Steady,
    Rising,
    Falling,
}

/// <summary>Where the air of a place goes: now against what it was an hour ago, on average.</summary>
internal static class AirWays
{
    /// <summary>How far back is looked.</summary>
    public static readonly TimeSpan Back = TimeSpan.FromMinutes(75);

    /// <summary>Where what was an hour ago ends.</summary>
    private static readonly TimeSpan Before = TimeSpan.FromMinutes(45);

    /// <summary>Less than this in an hour is steady (assumed: a little more than a cheap sensor's noise): K, and % of humidity.</summary>
    private const double SteadyC = 0.3, SteadyPercent = 2;

    private static readonly IHtmlContent Steady = Icons.Of("M3 12h17M15 7l5 5-5 5", "i way");
    private static readonly IHtmlContent Rising = Icons.Of("M5 19L19 5M9 5h10v10", "i way");
    private static readonly IHtmlContent Falling = Icons.Of("M5 5l14 14M19 9v10H9", "i way");

    /// <param name="past">The kept air of the place, from <see cref="Back"/> on.</param>
    public static (AirWay? Temperature, AirWay? Humidity) Of(IReadOnlyList<PlaceAir> past, PlaceAir air, DateTimeOffset now)
    {
        var before = past.Where(a => now - a.At >= Before).ToList();
        return (Of(before.ConvertAll(a => a.TemperatureC), air.TemperatureC, SteadyC),
            Of(before.ConvertAll(a => a.RelativeHumidityPercent), air.RelativeHumidityPercent, SteadyPercent));
    }

    public static string Word(AirWay way) => way switch
    {
        AirWay.Rising => Strings.WayRising,
        AirWay.Falling => Strings.WayFalling,
        _ => Strings.WaySteady,
    };

    /// <summary>The arrow alone: the gauge beside it says the word.</summary>
    public static IHtmlContent Shape(AirWay way) => way switch
    {
        AirWay.Rising => Rising,
        AirWay.Falling => Falling,
        _ => Steady,
    };

    private static AirWay? Of(List<double?> before, double? now, double steady)
    {
        var known = before.OfType<double>().ToList();
        if (known.Count == 0 || now is not { } value) return null;
        var by = value - known.Average();
        return Math.Abs(by) < steady ? AirWay.Steady : by > 0 ? AirWay.Rising : AirWay.Falling;
    }
}
