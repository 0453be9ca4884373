using Microsoft.AspNetCore.Mvc.RazorPages;
using RootCellar.Advice;
using RootCellar.Api;
using RootCellar.Household;
using RootCellar.Ledger;
using RootCellar.Monitoring;
using RootCellar.Pages.Bins;
using RootCellar.Places;

namespace RootCellar.Pages.Rows;

/// <summary>One row: its plantings, the last first, and what was written down about it.</summary>
internal sealed class RowModel(LedgerDoor door, Pipeline pipeline, EntryLines lines, Show show) : PageModel
{
    private const int Undoable = 3;
    private const int Shown = 100;

    public string Name { get; private set; } = "";

    /// <summary>The last first; empty where nobody planted it.</summary>
    public IReadOnlyList<RowPlan> Plantings { get; private set; } = [];

    public IReadOnlyList<EntryLine> History { get; private set; } = [];

    /// <summary>What has just been written down.</summary>
    public EntryLine? Kept { get; private set; }

    public void OnGet(string row, long? kept) => Load(row, kept);

    /// <summary>As it stands, or as it was first written.</summary>
    private static bool Names(Standing root, string row) =>
        root.Event?.About().Row == row || (root.CorrectedBy.Count > 0 && root.Entry.Kind.Read(root.Entry.Body)?.About().Row == row);

    private void Load(string row, long? kept)
    {
        var book = door.Book;
        Name = NameInAddress.Real(row, name => book.Row(name) is not null);
        IReadOnlyList<Place> places = pipeline.Snapshot.AllPlaces;
        Plantings = [.. book.Rows.Where(r => r.Row == Name).Reverse().Select(r => RowPlan.Of(r, show.Today))];
        var all = book.Entries
            .Where(s => Names(LedgerSelection.Root(book, s), Name))
            .OrderByDescending(s => s.At)
            .ThenByDescending(s => s.Entry.Id)
            .ToList();
        var last = all.Where(s => !s.Void).OrderByDescending(s => s.Entry.Id).Take(Undoable).Select(s => s.Entry.Id).ToHashSet();
        History = [.. all.Take(Shown).Select(s => lines.Of(book, s, places, last.Contains(s.Entry.Id)))];
        Kept = kept is null ? null : History.FirstOrDefault(h => h.Id == kept);
    }
}
