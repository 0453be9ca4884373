using System.Text.Json;
using System.Text.Json.Nodes;

namespace RootCellar.Ledger.Events;

/// <summary>
/// An entry was wrong: the fields that were, as they should have been. It stands beside the entry, which stays as it was written.
/// <c>void</c> takes the entry back, <c>rightAt</c> and <c>rightNote</c> say when it was and what was meant; a null takes a field off.
/// </summary>
internal static class Correction
{
    public const string Name = "correction";

    public static readonly EventKind Event = new(Name, null);

    private static readonly string[] AboutTheEntry = ["rightAt", "rightNote"];

    public static bool IsVoid(JsonElement fields) => fields.TryGetProperty("void", out var gone) && gone.ValueKind == JsonValueKind.True;

    /// <summary>Whether it says anything at all.</summary>
    public static bool IsEmpty(JsonElement fields) =>
        fields.EnumerateObject().All(p => p is { Name: "void", Value.ValueKind: JsonValueKind.False });

    /// <summary>When the entry put right is to have happened: a correction's own "at" says when it was corrected.</summary>
    public static bool RightAt(JsonElement fields, out DateTimeOffset at)
    {
        at = default;
        return fields.TryGetProperty("rightAt", out var given) && given.ValueKind == JsonValueKind.String
            && FieldReader.TryTime(given.GetString()!, out at);
    }

    /// <summary>The note put right; <paramref name="note"/> where it says nothing of it.</summary>
    public static string? RightNote(JsonElement fields, string? note) => !fields.TryGetProperty("rightNote", out var right) ? note
        : right.ValueKind == JsonValueKind.String && right.GetString()!.Trim() is { Length: > 0 } text ? text : null;

    /// <summary>What can be wrong with its own fields; those of what it corrects are read when they are laid over it.</summary>
    public static void Check(FieldReader head, JsonElement given)
    {
        if (given.TryGetProperty("rightAt", out _) && !RightAt(given, out _))
            head.Say("rightAt: it is not a time; right would be \"2026-10-03T16:30:00-05:00\".");
        if (given.TryGetProperty("void", out var gone) && gone.ValueKind is not (JsonValueKind.True or JsonValueKind.False))
            head.Say("void: true or false.");
        if (!given.TryGetProperty("rightNote", out var note) || note.ValueKind == JsonValueKind.Null) return;
        if (note.ValueKind != JsonValueKind.String || note.GetString()!.Length > EventReader.LongestNote)
            head.NoteTooLong("rightNote", note);
    }

    /// <summary>
    /// The fields of an entry with those of a correction laid over them; a null takes a field off. <c>rightAt</c> and <c>rightNote</c> stay
    /// among them. That a figure was looked at holds for that figure: another in its place is doubted anew.
    /// </summary>
    public static JsonElement Merge(JsonElement first, JsonElement correction)
    {
        var merged = JsonObject.Create(first)!;
        if (correction.EnumerateObject().Any(p => p.Name is not ("void" or "rightNote"))) merged.Remove("checked");
        foreach (var property in correction.EnumerateObject())
        {
            if (property.Name == "void") continue;
            // One of the two says how much, how long, when it is ripe.
            if (Instead(property.Name) is { } other) merged.Remove(other);
            merged[property.Name] = JsonNode.Parse(property.Value.GetRawText());
        }

        return EventReader.Element(merged);
    }

    /// <summary>The field that says the same in another way: an entry has one of the two.</summary>
    public static string? Instead(string field) => field switch
    {
        "weightKg" => "measure",
        "measure" => "weightKg",
        "lengthM" => "lengthFt",
        "lengthFt" => "lengthM",
        "maturity" => "maturityDays",
        "maturityDays" => "maturity",
        _ => null,
    };

    /// <summary>Takes off what is about an entry rather than of it.</summary>
    public static JsonElement OfItself(JsonElement fields)
    {
        if (!AboutTheEntry.Any(name => fields.TryGetProperty(name, out _))) return fields;
        var left = JsonObject.Create(fields)!;
        foreach (var name in AboutTheEntry) left.Remove(name);
        return EventReader.Element(left);
    }
}
