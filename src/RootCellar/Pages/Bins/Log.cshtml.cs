using Microsoft.AspNetCore.Html;
using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.Mvc.RazorPages;
using RootCellar.Household;
using RootCellar.Ledger;
using RootCellar.Ledger.Events;
using RootCellar.Lots;
using RootCellar.Monitoring;
using RootCellar.Pages.Look;
using RootCellar.Places;
using RootCellar.Science.Crops;

namespace RootCellar.Pages.Bins;

/// <summary>A verb of the page to write down on.</summary>
/// <param name="Then">What is written of the bin that is chosen then; null where no bin is asked for.</param>
internal sealed record LogVerb(IHtmlContent Icon, string Name, string Address, string? Then);

/// <summary>The first of the three taps, for whoever has no label to scan: which bin.</summary>
internal sealed class LogModel(LedgerDoor door, LotKeeper lots, Pipeline pipeline, EntryLines lines) : PageModel
{
    private const int Shown = 24;
    private const int Lately = 10;
    private const string TakeOut = "take-out";
    private const string Look = "seen";

    /// <summary>So many of what was written last are in sight.</summary>
    public const int InSight = 3;

    public string? Find { get; private set; }

    /// <summary>What is to be written of the bin that is looked for; null where that is chosen on the bin's page.</summary>
    public string? Then { get; private set; }

    public IReadOnlyList<BinLine> Found { get; private set; } = [];

    /// <summary>What was written down last, by anybody.</summary>
    public IReadOnlyList<EntryLine> Recent { get; private set; } = [];

    /// <summary>What has just been written down.</summary>
    public EntryLine? Kept { get; private set; }

    /// <summary>The row planted last: the next is often of its kind.</summary>
    public string? LastRow { get; private set; }

    /// <summary>How what the household has kept comes in; null: each in its own way.</summary>
    public Harvest? Harvest { get; private set; }

    public int All { get; private set; }

    public int More { get; private set; }

    /// <summary>What can be written down, by the verb people use; those of a bin ask which one.</summary>
    /// <param name="lastRow">The row that was planted last.</param>
    /// <param name="harvest">How the household's crops come in.</param>
    public static IReadOnlyList<LogVerb> Verbs(string? lastRow, Harvest? harvest) =>
    [
        new(Icons.Weigh, Strings.VerbWeigh, "/log?then=" + Weighed.Name, Weighed.Name),
        new(Icons.Move, Strings.VerbMove, "/log/moved", null),
        new(Icons.Take, Strings.VerbTake, "/log?then=" + TakeOut, TakeOut),
        new(Icons.Sort, Strings.VerbSort, "/log?then=" + Sorted.Name, Sorted.Name),
        new(Icons.Fill, Strings.VerbFill, "/log/filled", null),
        new(Icons.Dig, HarvestWords.Do(harvest), "/log/dug", null),
        new(Icons.Seen, Strings.VerbSeen, "/log?then=" + Look, Look),
        new(Icons.Plant, Strings.VerbPlant, "/log/row-planted" + (lastRow is null ? "" : "?like=" + Uri.EscapeDataString(lastRow)), null),
    ];

    public IActionResult OnGet(string? find, long? kept, string? then)
    {
        Find = find;
        Then = then is Weighed.Name or Sorted.Name or TakeOut or Look ? then : null;
        var book = door.Book;
        // Who types the whole name wants that bin, not a list with it.
        if (find?.Trim() is { Length: > 0 } name && book.AllBins.FirstOrDefault(
            b => string.Equals(b.Id, name, StringComparison.OrdinalIgnoreCase)) is { } exact)
            return LocalRedirect(Then is null ? BinLine.Address(exact.Id) : BinLine.Address(exact.Id, Then));
        IReadOnlyList<Place> places = pipeline.Snapshot.AllPlaces;
        var bins = BinLine.Filled(book, lots.Views).ToList();
        var fitting = bins.FindAll(b => b.Fits(find, EntryWords.PlaceName(b.Bin.Place, places)));
        // Work goes on where it was: the bins last touched stand first.
        Found = [.. fitting.OrderByDescending(b => b.Bin.Entries[^1]).Take(Shown)];
        All = bins.Count;
        Harvest = HarvestWords.Of(book.Lots.Values.Select(l => l.Known));
        LastRow = book.Rows.MaxBy(r => r.Entry)?.Row;
        More = fitting.Count - Found.Count;
        if (!string.IsNullOrWhiteSpace(find)) return Page();
        Recent = [.. book.Entries.TakeLast(Lately).Reverse().Select(s => lines.Of(book, s, places, canUndo: true))];
        Kept = kept is { } id && book.Find(id) is { } standing ? lines.Of(book, standing, places, canUndo: false) : null;
        return Page();
    }
}
