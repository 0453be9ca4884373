using System.Text.Json;
using System.Text.Json.Nodes;

namespace RootCellar.Ledger;

/// <summary>
/// Writes beside each measure what one unit weighs and who says so, once, when it comes in: a later table must not change an old entry. Knows
/// the crops of the book and of what came before in the same call.
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
        var (what, all) = (entry.Event, entry.Body);
        if (entry.Of is { } of)
        {
            var chain = new List<JsonElement> { entry.Body };
            var first = find(of);
            for (; first?.Of is { } next; first = find(next)) chain.Add(book.Find(first.Id)?.Fields ?? first.Body);
            if (first is null) return entry.Body;
            what = first.Event;
            all = book.Find(first.Id)?.Fields ?? first.Body;
            for (var i = chain.Count - 1; i >= 0; i--) all = EventReader.Merge(all, chain[i]);
        }

        Learn(what, all);
        var body = JsonObject.Create(entry.Body)!;
        Fill(body, what, Text(all, "crop") ?? CropOf(Text(all, "lot"), Text(all, "bin")), ref wrong);
        if (body["into"] is JsonArray into)
        {
            foreach (var item in into.OfType<JsonObject>()) Fill(item, what, CropOf(null, Text(all, "bin")), ref wrong);
        }

        return EventReader.Element(body);
    }

    private static void Fill(JsonObject holder, string what, string? crop, ref string? wrong)
    {
        if (holder["measure"] is not JsonObject measure || measure.ContainsKey("kgPerUnit") || measure["unit"] is not JsonValue written || !written.TryGetValue(out string? text) || Measures.Unit(text) is not { } unit) return;
        if (crop is null && !Measures.IsWeight(unit)) return;
        var cut = measure["as"] is JsonValue given && given.TryGetValue(out string? said) ? said : null;
        if (Measures.Of(unit, crop ?? "", what == "canned", cut, out var why) is { } factor)
        {
            measure["kgPerUnit"] = factor.KgPerUnit;
            measure["source"] = factor.Source;
        }
        else
        {
            wrong = $"measure: {why}. Right would be weightKg, or the kg of one {unit} of yours: \"measure\": {{\"amount\": 2, \"unit\": \"{unit}\", \"kgPerUnit\": ...}}.";
        }
    }

    private void Learn(string what, JsonElement fields)
    {
        if (what == "dug" && Text(fields, "lot") is { } lot && Text(fields, "crop") is { } crop) cropOfLot[lot] = crop;
        if (what == "filled" && Text(fields, "bin") is { } bin && Text(fields, "lot") is { } of) lotOfBin[bin] = of;
        if (what != "sorted" || Text(fields, "bin") is not { } from || LotOf(from) is not { } same || !fields.TryGetProperty("into", out var into) || into.ValueKind != JsonValueKind.Array) return;
        foreach (var item in into.EnumerateArray())
        {
            if (item.ValueKind == JsonValueKind.Object && Text(item, "bin") is { } target) lotOfBin[target] = same;
        }
    }

    private string? CropOf(string? lot, string? bin)
    {
        lot ??= bin is null ? null : LotOf(bin);
        return lot is null ? null : cropOfLot.GetValueOrDefault(lot) ?? book.Lots.GetValueOrDefault(lot)?.Crop;
    }

    private string? LotOf(string bin) => lotOfBin.GetValueOrDefault(bin) ?? book.Bins.GetValueOrDefault(bin)?.Lot;

    private static string? Text(JsonElement fields, string name) => fields.ValueKind == JsonValueKind.Object && fields.TryGetProperty(name, out var value) && value.ValueKind == JsonValueKind.String ? value.GetString()!.Trim() : null;
}
