using Microsoft.AspNetCore.Mvc.RazorPages;
using RootCellar.Api;
using RootCellar.Household;
using RootCellar.Ledger;
using RootCellar.Lots;
using RootCellar.Monitoring;
using RootCellar.Places;

namespace RootCellar.Pages.Bins;

/// <summary>One bin: what is in it, where, what happened to it, and what can be logged. Its label's QR code leads here.</summary>
internal sealed class BinModel(LedgerDoor door, LotKeeper lots, Pipeline pipeline, EntryLines lines) : PageModel
{
    private const int Undoable = 3;
    private const int Shown = 100;

    public string Name { get; private set; } = "";

    /// <summary>Null where nothing was ever filled into it, or all of that was taken back.</summary>
    public BinView? Bin { get; private set; }

    public LotView? Lot { get; private set; }

    /// <summary>What the air has done to it; null until it has been followed, and of a crop the table does not know.</summary>
    public BinEstimate? Estimate { get; private set; }

    public IReadOnlyList<Place> Places { get; private set; } = [];

    /// <summary>Where it is likely to go next; null where nothing speaks for one place.</summary>
    public Place? MoveTo { get; private set; }

    public IReadOnlyList<EntryLine> History { get; private set; } = [];

    /// <summary>Which part of its history that is.</summary>
    public OlderPart Part { get; private set; } = null!;

    /// <summary>Weigh-ins the estimate did not expect.</summary>
    public IReadOnlyList<EntryLine> Doubted { get; private set; } = [];

    /// <summary>What has just been written down.</summary>
    public EntryLine? Kept { get; private set; }

    public bool Holds => Bin is { EmptiedAt: null };

    public void OnGet(string bin, long? kept, int? older) => Load(bin, kept, older);

    private void Load(string bin, long? kept, int? older)
    {
        var book = door.Book;
        Name = NameInAddress.Real(bin, book.Bins.ContainsKey);
        Places = pipeline.Snapshot.AllPlaces;
        Bin = book.Bins.GetValueOrDefault(Name);
        Lot = Bin is null ? null : book.Lots[Bin.Lot];
        Estimate = Holds ? lots.Views.Bins.GetValueOrDefault(Name) : null;
        MoveTo = Holds ? Bins.MoveTo.Proposed(lots.Views, Bin!, Places) : null;
        var all = LedgerSelection.Of(book, Name, null, DateTimeOffset.MinValue, DateTimeOffset.MaxValue).Reverse().ToList();
        var last = all.Where(s => !s.Void).OrderByDescending(s => s.Entry.Id).Take(Undoable).Select(s => s.Entry.Id).ToHashSet();
        (var shown, Part) = OlderPart.Of(all, older, Shown, BinLine.Address(Name), "history", Strings.OlderEntries);
        History = [.. shown.Select(s => lines.Of(book, s, Places, last.Contains(s.Entry.Id)))];
        Doubted = [.. all.Where(lines.IsDoubted).Select(s => lines.Of(book, s, Places, canUndo: false))];
        Kept = kept is null ? null : History.FirstOrDefault(h => h.Id == kept);
    }
}
