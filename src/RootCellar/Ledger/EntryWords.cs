using System.Globalization;
using System.Text.Json;
using RootCellar.Household;
using RootCellar.Pages.Bins;
using RootCellar.Places;
using RootCellar.Science.Crops;
using RootCellar.Science.Keeping;

namespace RootCellar.Ledger;

/// <summary>Entries of the book in the words of the pages and the household's units.</summary>
internal sealed partial class EntryWords(Show show)
{
    /// <summary>How far its skins, necks or rind are.</summary>
    /// <summary>What has been moved already is not called fit to move.</summary>
    public static string Stage(HealingStage stage, bool inCuring) => stage == HealingStage.Adequate && !inCuring ? Strings.StageAdequateMoved : Stage(stage);

    public static string Stage(HealingStage stage) => stage switch
    {
        HealingStage.Healed => Strings.StageHealed,
        HealingStage.Adequate => Strings.StageAdequate,
        HealingStage.Sealed => Strings.StageSealed,
        _ => Strings.StageOpen,
    };

    /// <summary>An entry as it stands; a correction says what it changed.</summary>
    public string Of(Book book, Standing standing, IReadOnlyList<Place> places)
    {
        if (standing.Entry.Of is not { } of) return Say(standing.Entry.Event, standing.Fields, places);
        var target = book.Find(of)!;
        if (Corrections.IsVoid(standing.Fields)) return Strings.TakenBack.With(Of(book, target, places));
        var before = LedgerSelection.Before(book, standing);
        var root = LedgerSelection.Root(book, standing).Entry.Event;
        var (was, now) = (Say(root, before, places), Say(root, EventReader.Merge(before, standing.Fields), places));
        return was == now ? Strings.PutRight.With(was) : Strings.PutRightTo.With(was, now);
    }

    /// <summary>As it was first written.</summary>
    public string AsWritten(LedgerEntry entry, IReadOnlyList<Place> places) => Say(entry.Event, entry.Body, places);

    public static string CropName(string id) => CropTable.Default.Find(id)?.Name ?? id;

    public static string PlaceName(string? id, IReadOnlyList<Place> places) =>
        id is null ? Strings.NoPlaceGiven : places.FirstOrDefault(p => p.Id == id)?.Name ?? id;

    /// <summary>What a lot is, in two words: its variety where it has one, else its crop.</summary>
    public static string Kind(LotView lot) => lot.Variety ?? CropName(lot.Crop);

    public string Say(string what, JsonElement fields, IReadOnlyList<Place> places)
    {
        var parts = Parts(what, fields, places).Where(p => !string.IsNullOrEmpty(p)).ToList();
        return parts.Count == 0 ? LogKinds.Name(what) : Strings.EntryLine.With(LogKinds.Name(what), string.Join(", ", parts));
    }

    private IEnumerable<string?> Parts(string what, JsonElement fields, IReadOnlyList<Place> places)
    {
        if (what == "dug")
        {
            yield return Text(fields, "lot") is { } dug ? Strings.LotIs.With(NameRules.Seen(dug)) : null;
            yield return Text(fields, "crop") is { } crop ? CropName(crop) : null;
            yield return Text(fields, "variety");
        }

        foreach (var part in OfRow(what, fields)) yield return part;
        yield return Amount(fields, what);
        if (what == "promised")
        {
            yield return Text(fields, "crop") is { } wanted ? CropName(wanted) : null;
            yield return Text(fields, "due") is { } due && HouseholdCalendar.TryDay(due, out var day) ? Strings.DueIs.With(show.Day(day)) : null;
        }

        if (fields.TryGetProperty("tareKg", out var tare) && tare.ValueKind == JsonValueKind.Number) yield return Strings.TareIs.With(show.Weight(tare.GetDouble()));
        foreach (var choice in (string[])["reason", "share", "what", "skin"]) yield return Text(fields, choice) is { } word ? LogKinds.Choice(word) : null;
        if (what == "filled" && Text(fields, "lot") is { } lot) yield return Strings.LotIs.With(NameRules.Seen(lot));
        if (Text(fields, "grade") is { } grade) yield return Strings.GradeIs.With(grade);
        if (Text(fields, "place") is { } place) yield return Strings.ToPlace.With(PlaceName(place, places));
        if (Text(fields, "order") is { } order) yield return Strings.OrderIs.With(order);
        if (fields.TryGetProperty("empties", out var empties) && empties.ValueKind == JsonValueKind.True) yield return Strings.NothingLeft;
        if (fields.TryGetProperty("length", out var length) && length.ValueKind == JsonValueKind.Number) yield return show.Pounds
            ? Strings.Inches.With((length.GetDouble() / 25.4).ToString("0.##", CultureInfo.CurrentCulture))
            : Strings.Millimetres.With(length.GetDouble().ToString("0.#", CultureInfo.CurrentCulture));
        if (!fields.TryGetProperty("into", out var into) || into.ValueKind != JsonValueKind.Array) yield break;
        foreach (var item in into.EnumerateArray()) yield return Strings.IntoIs.With(Text(item, "bin"), Amount(item, what), Text(item, "grade")).Trim();
    }

    private string? Amount(JsonElement fields, string what)
    {
        if (fields.TryGetProperty("measure", out var measure) && measure.ValueKind == JsonValueKind.Object
            && measure.TryGetProperty("amount", out var amount) && amount.ValueKind == JsonValueKind.Number && Text(measure, "unit") is { } unit)
        {
            var number = amount.GetDouble();
            if (unit == show.WeightUnit) return number.ToString("0.0#", CultureInfo.CurrentCulture) + "\u00A0" + unit;
            return number.ToString("0.###", CultureInfo.CurrentCulture) + "\u00A0" + LogKinds.Unit(unit, what).ToLowerInvariant();
        }

        return fields.TryGetProperty("weightKg", out var kg) && kg.ValueKind == JsonValueKind.Number ? show.Weight(kg.GetDouble()) : null;
    }

    private static string? Text(JsonElement fields, string name) =>
        fields.ValueKind == JsonValueKind.Object && fields.TryGetProperty(name, out var value) && value.ValueKind == JsonValueKind.String ? value.GetString() : null;
}
