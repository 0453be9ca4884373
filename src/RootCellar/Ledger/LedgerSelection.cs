using System.Text.Json;
using RootCellar.Ledger.Events;

namespace RootCellar.Ledger;

/// <summary>Entries by what they are about.</summary>
internal static class LedgerSelection
{
    /// <summary>
    /// Those of a bin, a lot and a time [from, to), oldest first as they stand now; a correction goes with what it corrects.
    /// </summary>
    /// <param name="after">Only those that stand after this one in that order.</param>
    public static IEnumerable<Standing> Of(Book book, string? bin, string? lot, DateTimeOffset from, DateTimeOffset to,
        Standing? after = null)
    {
        return Where(book, bin, lot)
            .Where(s => s.At >= from && s.At < to
                && (after is null || s.At > after.At || (s.At == after.At && s.Entry.Id > after.Entry.Id)))
            .OrderBy(s => s.At)
            .ThenBy(s => s.Entry.Id);
    }

    private static IEnumerable<Standing> Where(Book book, string? bin, string? lot)
    {
        if (bin is null) return lot is null ? book.Entries : Family(book, book.OfLot(lot));
        return Family(book, book.OfBin(bin).Where(s => lot is null || s.Lot == lot));
    }

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
            if (book.Find(id) is { Counts: true } earlier && !Correction.IsVoid(earlier.Fields))
                fields = Correction.Merge(fields, earlier.Fields);
        }

        return fields;
    }

    /// <summary>The note of an entry, as corrections have put it right.</summary>
    public static string? Note(Book book, Standing standing)
    {
        var note = standing.Entry.Note;
        foreach (var id in standing.CorrectedBy)
        {
            if (book.Find(id) is { Counts: true } correction) note = Correction.RightNote(correction.Fields, note);
        }

        return note;
    }

    /// <summary>Entries with the corrections of them, and the corrections of those.</summary>
    private static IEnumerable<Standing> Family(Book book, IEnumerable<Standing> entries)
    {
        foreach (var standing in entries)
        {
            yield return standing;
            foreach (var correction in Family(book, standing.CorrectedBy.Select(book.Find).OfType<Standing>())) yield return correction;
        }
    }
}
