using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.Mvc.RazorPages;
using RootCellar.Household;
using RootCellar.Ledger;
using RootCellar.Lots;
using RootCellar.Monitoring;
using RootCellar.Places;

namespace RootCellar.Pages.Bins;

/// <summary>The first of the three taps, for whoever has no label to scan: which bin.</summary>
internal sealed class LogModel(LedgerDoor door, LotKeeper lots, Pipeline pipeline, EntryLines lines) : PageModel
{
    private const int Shown = 24;
    private const int Lately = 10;

    public string? Find { get; private set; }

    public IReadOnlyList<BinLine> Found { get; private set; } = [];

    /// <summary>What was written down last, by anybody.</summary>
    public IReadOnlyList<EntryLine> Recent { get; private set; } = [];

    /// <summary>What has just been written down.</summary>
    public EntryLine? Kept { get; private set; }

    /// <summary>The row planted last: the next is often of its kind.</summary>
    public string? LastRow { get; private set; }

    public int All { get; private set; }

    public int More { get; private set; }

    public IActionResult OnGet(string? find, long? kept)
    {
        Find = find;
        var book = door.Book;
        // Who types the whole name wants that bin, not a list with it.
        if (find?.Trim() is { Length: > 0 } name && book.AllBins.FirstOrDefault(
            b => string.Equals(b.Id, name, StringComparison.OrdinalIgnoreCase)) is { } exact)
            return LocalRedirect(BinLine.Address(exact.Id));
        IReadOnlyList<Place> places = pipeline.Snapshot.AllPlaces;
        var bins = BinLine.Filled(book, lots.Views).ToList();
        var fitting = bins.FindAll(b => b.Fits(find, EntryWords.PlaceName(b.Bin.Place, places)));
        // Work goes on where it was: the bins last touched stand first.
        Found = [.. fitting.OrderByDescending(b => b.Bin.Entries[^1]).Take(Shown)];
        All = bins.Count;
        LastRow = book.Rows.MaxBy(r => r.Entry)?.Row;
        More = fitting.Count - Found.Count;
        if (!string.IsNullOrWhiteSpace(find)) return Page();
        Recent = [.. book.Entries.TakeLast(Lately).Reverse().Select(s => lines.Of(book, s, places, canUndo: true))];
        Kept = kept is { } id && book.Find(id) is { } standing ? lines.Of(book, standing, places, canUndo: false) : null;
        return Page();
    }
}
