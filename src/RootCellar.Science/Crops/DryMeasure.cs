namespace RootCellar.Science.Crops;

/// <summary>
/// US dry measure, in which produce is sold by volume: NIST Handbook 44, Appendix C. Struck measures: a heaped bushel holds more.
/// A dry quart is no canning quart: jars hold liquid quarts, which are smaller. Exact but for the rounding of double.
/// </summary>
public static class DryMeasure
{
    /// <summary>A struck US bushel in litres: 2150.42 cubic inches (Handbook 44 App. C, exact).</summary>
    public const double BushelLitres = 2150.42 * CubicInchLitres;

    /// <summary>A dry quart in litres: 1/32 of a bushel.</summary>
    public const double DryQuartLitres = BushelLitres / 32;

    /// <summary>A liquid quart, which a canning jar holds, in litres: 57.75 cubic inches.</summary>
    public const double LiquidQuartLitres = 57.75 * CubicInchLitres;

    /// <summary>Liquid (canning) quarts in a dry quart: about 1.16365. Never turn one into the other without saying so.</summary>
    public const double LiquidQuartsPerDryQuart = DryQuartLitres / LiquidQuartLitres;

    /// <summary>Pecks in a bushel.</summary>
    public const int PecksPerBushel = 4;

    /// <summary>Dry quarts in a bushel.</summary>
    public const int DryQuartsPerBushel = 32;

    // An inch is 25.4 mm by definition.
    private const double CubicInchLitres = 0.016387064;
}
