using RootCellar.Household;
using RootCellar.Lots;
using RootCellar.Science.Crops;

namespace RootCellar.Advice;

/// <summary>What goes with "use first" wherever it is said: of the bins it is said of.</summary>
internal static class Cautions
{
    /// <returns>Sentences; empty where none is due.</returns>
    public static string OfUsing(IEnumerable<BinEstimate> bins)
    {
        var potatoes = bins.Where(b => b.Kind is { Sprouts: SproutKind.Poisonous }).ToList();
        if (potatoes.Count == 0) return "";
        return potatoes.Exists(b => b.ColdSweet) ? $"{Strings.SproutCaution} {Strings.ColdSweetCaution}" : Strings.SproutCaution;
    }
}
