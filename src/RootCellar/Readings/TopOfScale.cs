using RootCellar.Science.Air;
using RootCellar.Science.Keeping;

namespace RootCellar.Readings;

/// <summary>
/// What a humidity sensor says that has read the top of its scale for half a day: the air holds <see cref="LowPercent"/> or more.
/// A good root cellar stands there for weeks, and cheap parts creep up to the top in such air, so it is neither 100 % nor nothing.
/// </summary>
internal static class TopOfScale
{
    public const double LowPercent = Wetness.MaybeSaturatedPercent;

    /// <summary>What stands in for it, percent: the middle of what it may be.</summary>
    public const double MiddlePercent = (LowPercent + 100) / 2;

    public const double PlusOrMinusPercent = (100 - LowPercent) / 2;

    /// <summary>A reading that contradicts it: the most that a sensor may mean by it is below the least that this one says.</summary>
    public static bool IsContradictedBy(double percent, double? plusOrMinus = null) =>
        percent + (plusOrMinus ?? Uncertainty.CheapHumidityPercent) < LowPercent;
}
