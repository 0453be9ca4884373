using System.Text.Json;
using RootCellar.Ledger.Events;

namespace RootCellar.Ledger;

/// <summary>Entries by what they are about.</summary>
internal static class LedgerSelection
{
    /// <summary>Those of a bin, a lot and a time [from, to), oldest first as they stand now; a correction goes with what it corrects.</summary>
    /// <param name="after">Only those that stand after this one in that order.</param>
    public static IEnumerable<Standing> Of(Book book, string? bin, string? lot, DateTimeOffset from, DateTimeOffset to, Standing? after = null)
    {
        return Where(book, bin, lot)
            .Where(s => s.At >= from && s.At < to && (after is null || s.At > after.At || (s.At == after.At && s.Entry.Id > after.Entry.Id)))
            .Where(s => (lot is null && bin is null) || (Root(book, s) is var root && (lot is null || root.Lot == lot) && (bin is null || Names(root, bin))))
            .OrderBy(s => s.At)
            .ThenBy(s => s.Entry.Id);
    }

    /// <summary>Where to look: all that is asked for is there, and more.</summary>
    private static IEnumerable<Standing> Where(Book book, string? bin, string? lot)
    {
        if (book is not { Naming: { } bins, NamingLots: { } lots }) return book.Entries;
        if (bin is not null) return Family(book, bins.GetValueOrDefault(bin, EntryNumbers.None));
        if (lot is null) return book.Entries;
        var said = lots.GetValueOrDefault(lot, EntryNumbers.None).AsEnumerable();
        if (book.Lots.TryGetValue(lot, out var view)) said = said.Concat(view.Bins.Select(b => b.Id).Distinct(StringComparer.Ordinal).SelectMany(b => bins.GetValueOrDefault(b, EntryNumbers.None)));
        return Family(book, said.Distinct());
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
            if (book.Find(id) is { Counts: true } earlier && !Correction.IsVoid(earlier.Fields)) fields = Correction.Merge(fields, earlier.Fields);
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

    private static bool Names(Standing root, string bin) =>
        root.Event?.Bins().Contains(bin, StringComparer.Ordinal) == true
        || (root.CorrectedBy.Count > 0 && root.Entry.Kind.Read(root.Entry.Body)?.Bins().Contains(bin, StringComparer.Ordinal) == true);

    /// <summary>Entries with the corrections of them, and the corrections of those.</summary>
    private static IEnumerable<Standing> Family(Book book, IEnumerable<long> ids)
    {
        foreach (var id in ids)
        {
            if (book.Find(id) is not { } standing) continue;
            yield return standing;
            foreach (var correction in Family(book, standing.CorrectedBy)) yield return correction;
        }
    }
}
