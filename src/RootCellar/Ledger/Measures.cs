using RootCellar.Science;
using RootCellar.Science.Crops;

namespace RootCellar.Ledger;

/// <summary>What one unit weighs and who says so.</summary>
internal sealed record Factor(double KgPerUnit, string Source);

/// <summary>Weights and measures a grower counts in. A dry quart is no canning quart: jars hold liquid quarts, which are smaller.</summary>
internal static class Measures
{
    /// <summary>A sack is filled by weight; 50 lb is common practice for roots, onions and cabbage.</summary>
    private const double SackKg = 50 * Pound.Kilograms;

    private static readonly Dictionary<string, Factor> Weights = new(StringComparer.Ordinal)
    {
        ["kg"] = new(1, "SI"),
        ["g"] = new(0.001, "SI"),
        ["lb"] = new(Pound.Kilograms, "NIST Handbook 44, Appendix C: exact"),
        ["zentner"] = new(50, "the German Zentner, 50 kg (from memory; Austria and Switzerland count 100 kg)"),
        ["oz"] = new(Pound.Kilograms / 16, "NIST Handbook 44, Appendix C: exact"),
    };

    private static readonly Dictionary<string, double> BushelsOf = new(StringComparer.Ordinal)
    {
        ["bushel"] = 1,
        ["peck"] = 1.0 / DryMeasure.PecksPerBushel,
        ["quart"] = 1.0 / DryMeasure.DryQuartsPerBushel,
    };

    public static IReadOnlyList<string> Units { get; } =
        ["kg", "g", "lb", "oz", "quart", "pint", "peck", "bushel", "sack", "bag", "crate", "zentner"];

    public static bool IsWeight(string unit) => Weights.ContainsKey(unit);

    /// <summary>The unit as it is kept, whatever plural it was written in; null where there is none such.</summary>
    public static string? Unit(string written)
    {
        var word = written.Trim().ToLowerInvariant();
        return word switch
        {
            "pound" or "pounds" => "lb",
            "ounce" or "ounces" => "oz",
            _ => Units.FirstOrDefault(u => u == word || u + "s" == word),
        };
    }

    /// <summary>What one unit weighs of a crop; null with the reason where no figure is published.</summary>
    /// <param name="canned">Whether it went into jars, whose quarts and pints are liquid ones.</param>
    /// <param name="crops">The crops the household knows; null: those of the table.</param>
    /// <param name="cut">How it was cut for the jars, as the crop table says it; null: the first there.</param>
    public static Factor? Of(string unit, string crop, bool canned, string? cut, out string? why,
        CropTable? crops = null)
    {
        why = null;
        if (Weights.TryGetValue(unit, out var weight)) return weight;
        if (unit is "sack" or "bag") return new Factor(SackKg, "a sack of 50 lb, common practice");
        if (unit == "crate")
        {
            why = "a crate holds what yours holds";
            return null;
        }

        if ((crops ?? CropTable.Default).Find(crop) is not { } row)
        {
            why = $"'{crop}' is not in the crop table";
            return null;
        }

        if (canned && unit is "quart" or "pint") return InJars(unit, row, cut, out why);
        if (!BushelsOf.TryGetValue(unit, out var bushels))
        {
            why = "a pint is for canned only; give quarts, or a weight";
            return null;
        }

        if (row.BushelKg is { } bushel)
            return new Factor(bushel.Value * bushels, $"bushel of {bushel.Value / Pound.Kilograms:0.#} lb: {bushel.Source}");
        if (row is { BulkDensityLowKgPerM3: { } low, BulkDensityHighKgPerM3: { } high })
        {
            var kg = (low.Value + high.Value) / 2 * DryMeasure.BushelLitres / 1000;
            return new Factor(kg * bushels, $"struck bushel of {DryMeasure.BushelLitres:0.00} l at the density of a pile: {low.Source}");
        }

        why = $"no bushel weight is published for {row.Name.ToLowerInvariant()}";
        return null;
    }

    private static Factor? InJars(string unit, Crop crop, string? cut, out string? why)
    {
        why = null;
        var yield = cut is null && crop.Canning is [var first, ..]
            ? first : crop.Canning.FirstOrDefault(c => cut is not null && c.As.Contains(cut, StringComparison.OrdinalIgnoreCase));
        if (yield is null)
        {
            why = crop.Canning.Count == 0
                ? $"no canning quantity is published for {crop.Name.ToLowerInvariant()}"
                : $"'{cut}' is not how it is cut; known are {string.Join("; ", crop.Canning.Select(c => c.As))}";
            return null;
        }

        var pounds = unit == "quart" ? yield.PoundsPer7LiquidQuarts / 7 : yield.PoundsPer9LiquidPints / 9;
        return new Factor(pounds * Pound.Kilograms,
            $"fresh weight to a liquid {unit} ({yield.As}): {yield.Source}. {CanningYield.CautionOf(crop.Canned)}");
    }
}
