using System.Security.Cryptography;
using System.Text;
using System.Text.Json;
using System.Text.Json.Nodes;
using RootCellar.Household;
using RootCellar.Ledger.Events;
using RootCellar.Storage;

namespace RootCellar.Ledger;

/// <summary>Reads an event as it is sent.</summary>
internal static class EventReader
{
    /// <summary>Letters.</summary>
    public const int LongestNote = 2_000;

    /// <summary>What every event has beside its own fields.</summary>
    public static readonly string[] OfEvery = ["event", "at", "by", "note", "of", "keep", "checked"];

    /// <summary>The event, or what is wrong with it: which field, what, and what would be right.</summary>
    /// <param name="now">For what hangs on the day; an event without a time happened now.</param>
    public static NewEntry? Read(JsonElement given, DateTimeOffset now, out string? wrong)
    {
        var entry = Examine(given, now, out var refused);
        wrong = refused?.Text;
        return entry;
    }

    /// <summary>The same, where what is wrong is said in words of one's own.</summary>
    public static NewEntry? Examine(JsonElement given, DateTimeOffset now, out Question? wrong)
    {
        if (given.ValueKind != JsonValueKind.Object)
        {
            wrong = No($"An event is an object, such as {EventKind.Write(new Moved("B12", "cellar")).ToJsonString()}.");
            return null;
        }

        try
        {
            return ExamineFields(given, now, out wrong);
        }
        catch (InvalidOperationException)
        {
            // JSON may hold half a character ("\ud800"), which no text can be made of.
            wrong = No("There is half a character in one of the texts (\\ud800 to \\udfff without its other half). Leave it out.");
            return null;
        }
    }

    private static Question No(string text) => Question.Of(QuestionCode.Unreadable, text, null);

    private static NewEntry? ExamineFields(JsonElement given, DateTimeOffset now, out Question? wrong)
    {
        var names = new HashSet<string>(StringComparer.Ordinal);
        foreach (var property in given.EnumerateObject())
        {
            if (names.Add(property.Name)) continue;
            wrong = No($"{property.Name}: it is there twice.");
            return null;
        }

        var (head, body) = (new FieldReader(given, "an event"), Body(given));
        if (GivenDates.Impossible(given) is { } impossible) head.Refuse(impossible);
        var what = head.Choice("event", required: true, [.. EventKinds.Names]);
        var by = head.OptionalName("by", 80);
        var note = Note(head, given);
        var keep = head.Flag("keep");
        var sure = head.Flag("checked");
        var at = Time(head, given);
        var of = Of(head, given, what);
        if (EventKinds.Find(what) is { } kind && kind != Correction.Event)
        {
            kind.Read(body, out var problem);
            if (problem is not null) head.Refuse(problem);
        }

        wrong = head.Refused;
        if (wrong is not null) return null;
        if (what == Correction.Name && Correction.IsEmpty(body))
        {
            wrong = No($$"""{{what}}: it says nothing; right would be the fields that were wrong, such as {"event":"{{what}}","of":12,"weightKg":21.4}, or "void": true to take the entry back.""");
            return null;
        }

        return new NewEntry(what!, at, by, note, body, of, keep, sure, Fingerprint(given));
    }

    public static JsonElement Element(JsonNode node)
    {
        using var document = JsonDocument.Parse(node.ToJsonString(JsonRules.Options));
        return document.RootElement.Clone();
    }

    private static JsonElement Body(JsonElement given)
    {
        var body = new JsonObject();
        foreach (var property in given.EnumerateObject())
        {
            if (OfEvery.Contains(property.Name) && property is not { Name: "checked", Value.ValueKind: JsonValueKind.True }) continue;
            body[property.Name] = JsonNode.Parse(property.Value.GetRawText());
        }

        return Element(body);
    }

    private static string? Note(FieldReader head, JsonElement given)
    {
        if (!given.TryGetProperty("note", out var note) || note.ValueKind == JsonValueKind.Null) return null;
        if (note.ValueKind != JsonValueKind.String || note.GetString()!.Length > LongestNote)
        {
            head.NoteTooLong("note", note);
            return null;
        }

        return note.GetString()!.Replace("\r\n", "\n", StringComparison.Ordinal).Trim() is { Length: > 0 } text ? text : null;
    }

    private static DateTimeOffset? Time(FieldReader head, JsonElement given)
    {
        if (!given.TryGetProperty("at", out var at) || at.ValueKind == JsonValueKind.Null) return null;
        if (at.ValueKind == JsonValueKind.String && FieldReader.TryTime(at.GetString()!, out var time)) return time;
        head.Say($"at: {at.GetRawText()} is not a time; right would be \"2026-10-03T16:30:00-05:00\".");
        return null;
    }

    private static long? Of(FieldReader head, JsonElement given, string? what)
    {
        var there = given.TryGetProperty("of", out var of) && of.ValueKind != JsonValueKind.Null;
        if (what != Correction.Name)
        {
            if (there && what is not null) head.Say($"of: {what} has no such field; it is for a correction.");
            return null;
        }

        Correction.Check(head, given);
        if (there && of.ValueKind == JsonValueKind.Number && of.TryGetInt64(out var id) && id > 0) return id;
        head.Say(there ? $"of: {of.GetRawText()} is not the number of an entry."
            : $"of: it is missing from {what}; right would be the number of the entry that was wrong, such as \"of\": 12.");
        return null;
    }

    // Sent again with "keep" or "checked" it is still the same event.
    private static string Fingerprint(JsonElement given)
    {
        var sorted = new StringBuilder();
        foreach (var property in given.EnumerateObject().Where(p => p.Name is not ("keep" or "checked"))
            .OrderBy(p => p.Name, StringComparer.Ordinal))
            sorted.Append(property.Name).Append('\0').Append(JsonSerializer.Serialize(property.Value)).Append('\0');
        return Convert.ToHexStringLower(SHA256.HashData(Encoding.UTF8.GetBytes(sorted.ToString())).AsSpan(0, 16));
    }
}
