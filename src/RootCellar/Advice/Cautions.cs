using RootCellar.Household;
using RootCellar.Lots;
using RootCellar.Science.Crops;

namespace RootCellar.Advice;

/// <summary>What goes with "use first" wherever it is said: of the bins it is said of.</summary>
internal static class Cautions
{
    // 60 to 70 F, in which cold-sweetened potatoes turn back.
    private const double WarmLowC = 15.6;
    private const double WarmHighC = 21.1;

    /// <returns>Sentences; empty where none is due.</returns>
    public static string OfUsing(IEnumerable<BinEstimate> bins, Units units)
    {
        var potatoes = bins.Where(b => b.Kind is { Sprouts: SproutKind.Poisonous }).ToList();
        if (potatoes.Count == 0) return "";
        if (!potatoes.Exists(b => b.ColdSweet)) return Strings.SproutCaution;
        var warm = Strings.Range.With(
            Units.Number(units.Degrees(WarmLowC), "0"), Units.Number(units.Degrees(WarmHighC), "0") + "\u00A0" + units.TemperatureUnit);
        return $"{Strings.SproutCaution} {Strings.ColdSweetCaution.With(warm)}";
    }
}
