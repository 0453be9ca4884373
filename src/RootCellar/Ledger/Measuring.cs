using System.Text.Json;
using System.Text.Json.Nodes;
using RootCellar.Ledger.Events;

namespace RootCellar.Ledger;

/// <summary>
/// Writes beside each measure what one unit weighs and who says so, once, when it comes in: a later table must not change an old entry.
/// Knows the crops of the book and of what came before in the same call.
/// </summary>
internal sealed class Measuring(Book book)
{
    private readonly Dictionary<string, string> cropOfLot = new(StringComparer.Ordinal);
    private readonly Dictionary<string, string> lotOfBin = new(StringComparer.Ordinal);

    /// <summary>The fields with their factors; a measure whose crop nobody knows yet is left as it is.</summary>
    /// <param name="find">The entry a correction is of.</param>
    public JsonElement Fill(NewEntry entry, Func<long, LedgerEntry?> find, out string? wrong)
    {
        wrong = null;
        var (kind, all) = (EventKinds.Find(entry.Event)!, entry.Body);
        if (entry.Of is { } of)
        {
            var chain = new List<JsonElement> { entry.Body };
            var first = find(of);
            for (; first?.Of is { } next; first = find(next)) chain.Add(book.Find(first.Id)?.Fields ?? first.Body);
            if (first is null) return entry.Body;
            kind = first.Kind;
            all = book.Find(first.Id)?.Fields ?? first.Body;
            for (var i = chain.Count - 1; i >= 0; i--) all = Correction.Merge(all, chain[i]);
        }

        // What makes no sense is refused by the book; there is nothing to measure.
        if (kind.Read(Correction.OfItself(all)) is not { } told) return entry.Body;
        Learn(told);
        var body = JsonObject.Create(entry.Body)!;
        Fill(body, kind, told.About().Crop ?? CropOf(told.About()), ref wrong);
        if (body["into"] is JsonArray into)
        {
            foreach (var item in into.OfType<JsonObject>()) Fill(item, kind, CropOf(told.About()), ref wrong);
        }

        return EventReader.Element(body);
    }

    private void Fill(JsonObject holder, EventKind kind, string? crop, ref string? wrong)
    {
        if (holder["measure"] is not JsonObject measure || measure.ContainsKey("kgPerUnit") || measure["unit"] is not JsonValue written
            || !written.TryGetValue(out string? text) || Measures.Unit(text) is not { } unit)
            return;
        if (crop is null && !Measures.IsWeight(unit)) return;
        var cut = measure["as"] is JsonValue given && given.TryGetValue(out string? said) ? said : null;
        if (Measures.Of(unit, crop ?? "", kind == TakenOut.Canned, cut, out var why, book.Crops) is { } factor)
        {
            measure["kgPerUnit"] = factor.KgPerUnit;
            measure["source"] = factor.Source;
        }
        else
        {
            wrong = $"measure: {why}. Right would be weightKg, or the kg of one {unit} of yours: \"measure\": {{\"amount\": 2, \"unit\": \"{unit}\", \"kgPerUnit\": ...}}.";
        }
    }

    private void Learn(LedgerEvent told)
    {
        if (told is Dug dug) cropOfLot[dug.Lot] = dug.Crop;
        if ((told is Sorted sorted ? LotOf(sorted.Bin) : (told as Filled)?.Lot) is not { } lot) return;
        foreach (var bin in told.Fills()) lotOfBin[bin] = lot;
    }

    private string? CropOf(About about) => (about.Lot ?? (about.Bin is null ? null : LotOf(about.Bin))) is { } lot
        ? cropOfLot.GetValueOrDefault(lot) ?? book.Lots.GetValueOrDefault(lot)?.Crop
        : null;

    private string? LotOf(string bin) => lotOfBin.GetValueOrDefault(bin) ?? book.Bins.GetValueOrDefault(bin)?.Lot;
}
