using Microsoft.AspNetCore.Mvc.RazorPages;
using RootCellar.Ledger;
using RootCellar.Places;

namespace RootCellar.Pages.Bins;

/// <summary>Every bin with something in it, by place.</summary>
internal sealed class BinsModel(LedgerDoor door, Pipeline pipeline) : PageModel
{
    public string? Find { get; private set; }

    public IReadOnlyList<Place> Places { get; private set; } = [];

    public IReadOnlyList<IGrouping<string, BinLine>> Groups { get; private set; } = [];

    /// <summary>How many bins have something in them, found or not.</summary>
    public int All { get; private set; }

    /// <summary>Something was dug already, so what comes next is a bin.</summary>
    public bool AnyLot { get; private set; }

    public async Task OnGetAsync(string? find)
    {
        Find = find;
        var book = door.Book;
        Places = [.. await pipeline.AskAsync((h, _, _) => h.AllPlaces)];
        var bins = BinLine.Filled(book).ToList();
        All = bins.Count;
        AnyLot = book.Lots.Count > 0;
        Groups = [.. bins
            .Where(b => b.Fits(find, Name(b.Bin.Place)))
            .GroupBy(b => Name(b.Bin.Place), StringComparer.Ordinal)
            .OrderBy(g => g.Key, StringComparer.CurrentCulture)];
    }

    private string Name(string? place) => EntryWords.PlaceName(place, Places);
}
