using System.Globalization;
using System.Text;
using RootCellar.Science.Keeping;

namespace RootCellar.Science.Tests.Keeping;

/// <summary>One structure, fitted to all trials, and how it predicts each source left out.</summary>
internal sealed record StructureResult(WaterLossStructure Structure, WaterFigures Figures, double Fitted, double LeftOut,
    IReadOnlyDictionary<string, (double Rms, double Bias)> BySource);

/// <summary>A published loss beside ours, with our 90 % interval.</summary>
internal sealed record LossRow(StorageTrial Trial, Seen Seen, double Ours, double Low, double High)
{
    public bool Inside => Seen.LossPercent >= Low && Seen.LossPercent <= High;
}

/// <summary>docs/science/water-loss.md.</summary>
internal static class WaterLossPage
{
    public static string Of(IReadOnlyList<StructureResult> results, IReadOnlyList<LossRow> rows)
    {
        var page = new StringBuilder();
        var chosen = results.Single(r => r.Structure == WaterLossStructure.Chosen);
        page.Append(CultureInfo.InvariantCulture, $"""
            # Water loss of potatoes: the law, the trials, and the laws that lost

            Written by the tests (`WaterLossTests`); do not edit it by hand.

            A lot loses, per hour and per weight still there,

                K(H) x share x drive x sprouts  +  early loss as the skin closes  +  breath

            - **K(H)**, ng/(kg s Pa): {WaterLoss.PotatoFreshCoefficient} fresh (ASHRAE Transpiration coefficients, Sastry, Baird and Buffington 1978: uncured Sebago 158
              and Kennebec 171, from memory), 44 closed (the same table, average of all published, from memory; Manona mature 25),
              going from one to the other as exp(-H/{WaterLoss.PotatoHealingScaleDays}), H in days at 20 C (healing.md). A tender skin starts at twice the fresh figure (assumed).
            - **share**: 1 for a single layer, {WaterLoss.PotatoPackedCoupling:0.00} in a crate, bin or heap (fitted), whose air is damper than the room's.
            - **drive** = 100 Pa x sqrt(deficit / 100 Pa), the deficit being 0.98 x saturation at the tuber less the vapour of the air. At 100 Pa
              it is the deficit itself, so that K means what it does in the tables.
            - **early loss**: {WaterLoss.PotatoEarlyPercent:0.00} % of the weight over the time the skin closes, whatever the humidity (fitted), {WaterLoss.ScuffedPercent} % more when scuffed,
              {WaterLoss.CutPercent} % more when cut (fitted to Daniels-Lake et al. 2014).
            - **sprouts**: the rate doubles with 30 mm on every tuber (Burton 1966: sprouts of 1 % of the tuber's weight, from memory; the length assumed).
            - **breath**: carbon only, 0.273 of the carbon dioxide (`Breath`); the water of breathing is in the first term.
            - Without a pulp probe the tuber is taken {PackingTraits.Of(Packing.SingleLayer).WarmerC}, {PackingTraits.Of(Packing.Crate).WarmerC} or {PackingTraits.Of(Packing.DeepBin).WarmerC} C warmer than the air (layer, crate, bin; assumed), which gives the loss seen "at 100 %".

            ## Structures tried

            Each was fitted to the logarithm of ours over published, every source with the same weight, and then fitted again with one source
            left out at a time. "Left out" is what counts: the root mean square of ln(ours/published) for sources the fit had not seen
            (0.3 is about a third off, 0.7 twice or half).

            | structure | law | free figures | fitted | left out |
            |---|---|--:|--:|--:|

            """);
        foreach (var result in results)
            page.Append(CultureInfo.InvariantCulture,
                $"| {result.Structure.Name} | {result.Structure.Law} | {result.Structure.Start.Length} | {result.Fitted:0.00} | {result.LeftOut:0.00} |\n");
        page.Append(CultureInfo.InvariantCulture, $"""

            Kept: **{chosen.Structure.Name}**. A constant K misses the first week by a factor of seven. A healing K with a plain deficit
            cannot meet cold damp stores and warm dry ones together; feeding the bin's air does not help, for it is linear too. Bending the deficit
            does; a free exponent comes out at {results[^1].Figures.Exponent:0.0} and predicts no better than the square root. The closed and the fresh K are published figures, not fitted.
            Why a drier store pulls less than in proportion is not settled: dry periderm lets less through, and heaps wet their own air.

            | source left out | rms | bias of ln(ours/published) |
            |---|--:|--:|

            """);
        foreach (var (source, (rms, bias)) in chosen.BySource)
            page.Append(CultureInfo.InvariantCulture, $"| {source} | {rms:0.00} | {bias:+0.00;-0.00} |\n");

        int inside = rows.Count(row => row.Inside);
        page.Append(CultureInfo.InvariantCulture, $"""

            ## Every published value, and the program's own interval

            The program's interval for a lot it knows nothing of spans a factor of {WaterLoss.UnknownLotFactor} either way on the water (5 to 95 %): published varieties, sites
            and years differ 2.3 to 3 times from end to end. It holds **{inside} of {rows.Count}** published values ({100.0 * inside / rows.Count:0} %). These values took part in the fit;
            figures that did not are in validation.md.

            | source | trial | days | published % | ours % | 90 % interval | |
            |---|---|---|--:|--:|---|---|

            """);
        foreach (var row in rows)
        {
            page.Append(CultureInfo.InvariantCulture,
                $"| {row.Trial.Source} | {row.Trial.What} | {row.Seen.FromDay:0} to {row.Seen.ToDay:0} | {row.Seen.LossPercent:0.0#} | {row.Ours:0.0} | {row.Low:0.0} to {row.High:0.0} | {(row.Inside ? "" : "outside")} |\n");
        }

        page.Append("\n## What the sources do not say, and was assumed\n\n| source | trial | assumed |\n|---|---|---|\n");
        foreach (var trial in StorageTrials.All)
            page.Append(CultureInfo.InvariantCulture, $"| {trial.Source} | {trial.What} | {trial.Assumed} |\n");
        page.Append("""

            Norms are allowances of ordinary stores, practice figures are rounded, and most sources were read as abstracts: temperature and humidity
            in particular are what the source prints or what was assumed above, and 2 to 3 % of humidity is half the deficit of a damp store. That is
            in the spread, and it is why weighing a crate now and then beats any forecast (scale.md).

            Other crops: transpiration coefficient of the crop table in a plain law, with the bin's air fed by the produce (K G/(K + G), G 120 in a
            crate, 25 in a deep bin, fitted to loss norms of beets and a regression of cabbages; see `PackingTraits`).

            """);
        return page.ToString();
    }
}
