using System.Text.Json;
using System.Text.Json.Serialization;
using RootCellar.Ledger;

namespace RootCellar.Api;

/// <summary>What a correction made of one field.</summary>
internal sealed record FieldChangeShape(JsonElement? From, JsonElement? To);

/// <summary>
/// An entry as it was written, with the fields of its event beside these. <c>asCorrected</c> is there when corrections changed it;
/// <c>changed</c> on a correction says what it changed; <c>state</c> is counted, to-be-checked, not-counted or void.
/// </summary>
internal sealed record EntryShape(
    long Id,
    string Event,
    DateTimeOffset At,
    DateTimeOffset RecordedAt,
    string? By,
    string? Note,
    string? Lot,
    [property: JsonPropertyName("of")] long? CorrectionOf,
    string State,
    string? Question,
    string? QuestionCode,
    IReadOnlyList<long>? CorrectedBy,
    CorrectedEntryShape? AsCorrected,
    IReadOnlyDictionary<string, FieldChangeShape>? Changed)
{
    [JsonExtensionData]
    public Dictionary<string, JsonElement>? Fields { get; init; }

    public static EntryShape Of(Book book, Standing s)
    {
        var e = s.Entry;
        var fields = e.Body.EnumerateObject().Where(p => p.Name != "lot").ToDictionary(p => p.Name, p => p.Value, StringComparer.Ordinal);
        var corrected = s.CorrectedBy.Count > 0 && e.Of is null && !s.Void;
        return new EntryShape(
            e.Id,
            e.Event,
            e.At,
            e.RecordedAt,
            e.By,
            e.Note,
            e.Body.TryGetProperty("lot", out var lot) && lot.ValueKind == JsonValueKind.String
                ? lot.GetString() : LedgerSelection.Root(book, s).Lot,
            e.Of,
            s.Void ? "void" : s.Counts ? "counted" : e.Question is not null ? "to-be-checked" : "not-counted",
            s.Question?.Text,
            s.Question is { Code.Length: > 0 } question ? question.Code : null,
            s.CorrectedBy.Count == 0 ? null : s.CorrectedBy,
            corrected ? new CorrectedEntryShape(s.At, s.Fields) : null,
            e.Of is null ? null : Changes(book, s))
        {
            Fields = fields,
        };
    }

    private static Dictionary<string, FieldChangeShape> Changes(Book book, Standing correction)
    {
        var before = LedgerSelection.Before(book, correction);
        var changes = new Dictionary<string, FieldChangeShape>(StringComparer.Ordinal);
        foreach (var field in correction.Fields.EnumerateObject())
        {
            JsonElement? from = before.TryGetProperty(field.Name, out var was) ? was : null;
            if (field.Name == "rightAt" && from is null)
                from = JsonSerializer.SerializeToElement(book.Find(correction.Entry.Of!.Value)!.Entry.At);
            changes.Add(field.Name, new FieldChangeShape(from, field.Value));
        }

        return changes;
    }
}

/// <summary>An entry with its corrections in it.</summary>
internal sealed record CorrectedEntryShape(DateTimeOffset At, JsonElement Fields);
