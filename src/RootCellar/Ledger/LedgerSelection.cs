using System.Text.Json;

namespace RootCellar.Ledger;

/// <summary>Entries by what they are about.</summary>
internal static class LedgerSelection
{
    /// <summary>Those of a bin, a lot and a time [from, to), oldest first as they stand now; a correction goes with what it corrects.</summary>
    public static IEnumerable<Standing> Of(Book book, string? bin, string? lot, DateTimeOffset from, DateTimeOffset to) => book.Entries
        .Where(s => s.At >= from && s.At < to)
        .Where(s => Root(book, s) is var root && (lot is null || root.Lot == lot) && (bin is null || Names(root.Fields, bin) || Names(root.Entry.Body, bin)))
        .OrderBy(s => s.At)
        .ThenBy(s => s.Entry.Id);

    public static Standing Root(Book book, Standing standing)
    {
        while (standing.Entry.Of is { } of) standing = book.Find(of)!;
        return standing;
    }

    /// <summary>What an entry's fields were before a correction of it, with the corrections before that one.</summary>
    public static JsonElement Before(Book book, Standing correction)
    {
        var target = book.Find(correction.Entry.Of!.Value)!;
        var fields = target.Entry.Body;
        foreach (var id in target.CorrectedBy)
        {
            if (id >= correction.Entry.Id) break;
            if (book.Find(id) is { Counts: true } earlier && !Corrections.IsVoid(earlier.Fields)) fields = EventReader.Merge(fields, earlier.Fields);
        }

        return fields;
    }

    /// <summary>The note of an entry, as corrections have put it right.</summary>
    public static string? Note(Book book, Standing standing)
    {
        var note = standing.Entry.Note;
        foreach (var id in standing.CorrectedBy)
        {
            if (book.Find(id) is not { Counts: true } correction || !correction.Fields.TryGetProperty("rightNote", out var right)) continue;
            note = right.ValueKind == JsonValueKind.String && right.GetString()!.Trim() is { Length: > 0 } text ? text : null;
        }

        return note;
    }

    private static bool Names(JsonElement fields, string bin)
    {
        if (fields.TryGetProperty("bin", out var own) && own.ValueKind == JsonValueKind.String && own.GetString() == bin) return true;
        return fields.TryGetProperty("into", out var into) && into.ValueKind == JsonValueKind.Array && into.EnumerateArray().Any(i => Names(i, bin));
    }
}
