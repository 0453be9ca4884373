using RootCellar.Ledger;

namespace RootCellar.Report;

/// <summary>The book as it was at a moment gone by: what had happened by then, in the light of all corrections made since.</summary>
internal static class BookThen
{
    public static Book At(Book book, DateTimeOffset end)
    {
        var later = book.Entries.Where(s => BookBuilder.HappenedAt(Root(book, s), book.Calendar) >= end).Select(s => s.Entry.Id).ToHashSet();
        return later.Count == 0 ? book : BookBuilder.Build([.. book.Entries.Where(s => !later.Contains(s.Entry.Id)).Select(s => Recorded.Of(s.Entry, book.Calendar))], book.Calendar);
    }

    // A correction goes with what it corrects, whenever it was written.
    private static Standing Root(Book book, Standing standing)
    {
        while (standing.Entry.Of is { } of && book.Find(of) is { } target) standing = target;
        return standing;
    }
}
