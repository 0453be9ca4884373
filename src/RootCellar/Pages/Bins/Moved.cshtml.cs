using System.Globalization;
using System.Text.Json.Nodes;
using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.Mvc.RazorPages;
using RootCellar.Household;
using RootCellar.Ledger;
using RootCellar.Ledger.Events;
using RootCellar.Lots;
using RootCellar.Monitoring;
using RootCellar.Places;

namespace RootCellar.Pages.Bins;

/// <summary>Bins of one lot that stand together: what is carried in one go.</summary>
internal sealed record Load(LotView Lot, string? Place, IReadOnlyList<BinLine> Bins, bool Ticked);

/// <summary>Moving: one bin, or several in one go under one key, all of them or none.</summary>
internal sealed class MovedModel(LedgerDoor door, LotKeeper lots, Pipeline pipeline, Show show, EntryDesk taking) : PageModel
{
    private const int Most = 1_000;

    private HashSet<string> chosen = [];

    public LogForm Form { get; private set; } = new();

    /// <summary>The one bin that is moved; null for several.</summary>
    public BinView? Bin { get; private set; }

    public LotView? Lot { get; private set; }

    /// <summary>What is ticked, by name.</summary>
    public IReadOnlyCollection<string> Chosen => chosen;

    public IReadOnlyList<Load> Loads { get; private set; } = [];

    /// <summary>Where it can go, the likely place first.</summary>
    public IReadOnlyList<Place> To { get; private set; } = [];

    public IReadOnlyList<Place> Places { get; private set; } = [];

    public Place? Proposed { get; private set; }

    public string? Question { get; private set; }

    public string? Problem { get; private set; }

    public bool OnlyKeep { get; private set; }

    /// <summary>What has just been written down, in words; and what of it could be taken back.</summary>
    public string? Done { get; private set; }

    public IReadOnlyList<Standing> DoneEntries { get; private set; } = [];

    public bool IsChosen(string bin) => chosen.Contains(bin);

    public bool CanUndo => DoneEntries.Any(e => e is { Event: Moved, Void: false });

    /// <param name="bin">One bin: its own form. None, or several: a list to tick.</param>
    /// <param name="lot">Ticks the bins of this lot.</param>
    /// <param name="from">And only those that stand here.</param>
    public IActionResult OnGet(string[] bin, string? lot, string? from, long? kept, int count)
    {
        Form = new LogForm { Key = LogForm.NewKey() };
        Places = pipeline.Snapshot.AllPlaces;
        var book = door.Book;
        if (kept is { } first) SayDone(book, first, count);
        if (bin.Length == 1)
        {
            if (book.Bins.GetValueOrDefault(bin[0].Trim()) is not { EmptiedAt: null } one)
                return Redirect(string.IsNullOrWhiteSpace(bin[0]) ? "/log" : BinLine.Address(bin[0].Trim()));
            Load(book, [one.Id]);
            return Page();
        }

        IEnumerable<string> ticked = bin.Length > 0 ? bin
            : lot is null && from is null ? lots.Views.MoveNow.Select(b => b.Bin)
            : book.AllBins.Where(b => b.EmptiedAt is null && (lot is null || b.Lot == lot) && (from is null || b.Place == from))
                .Select(b => b.Id);
        Load(book, [.. ticked.Where(b => book.Bins.GetValueOrDefault(b) is { EmptiedAt: null })], several: true);
        return Page();
    }

    public async Task<IActionResult> OnPostAsync(string[] bin, bool several, LogForm form)
    {
        Form = form with { Key = string.IsNullOrWhiteSpace(form.Key) ? LogForm.NewKey() : form.Key };
        Places = pipeline.Snapshot.AllPlaces;
        string[] names = [.. bin.Select(b => b.Trim()).Where(b => b.Length > 0).Distinct(StringComparer.Ordinal)];
        var entries = new List<NewEntry>();
        if (names.Length == 0) Problem = Strings.NoBinTicked;
        else if (names.Length > Most) Problem = Strings.TooManyBins.With(Most);
        foreach (var name in names)
        {
            if (Problem is not null) break;
            var reader = new FormReader(Form with { Bin = name }, show);
            if (reader.Read(Moved.Event, door.Now) is { } entry) entries.Add(entry);
            Problem = reader.Problem;
        }

        if (Problem is null)
        {
            var taken = await taking.TakeAllAsync(entries, Form.Key, User.Identity?.Name, HttpContext.RequestAborted);
            if (taken.Kept is { } kept)
                return LocalRedirect(several ? $"/log/moved?kept={kept}&count={entries.Count}"
                    : $"{BinLine.Address(names[0])}?kept={kept}");
            (Question, Problem, OnlyKeep) = (taken.Question, taken.Problem, Form.Answer == "checked");
            if (taken.Later) Response.StatusCode = StatusCodes.Status503ServiceUnavailable;
            if (taken.Problem == Strings.WrittenAlready) Form = Form with { Key = LogForm.NewKey() };
        }

        Load(door.Book, names, several);
        return Page();
    }

    /// <summary>Takes a move of several back, in one go as well.</summary>
    public async Task<IActionResult> OnPostUndoAsync(long first, int count, LogForm form)
    {
        Places = pipeline.Snapshot.AllPlaces;
        SayDone(door.Book, first, count);
        var ids = DoneEntries.Where(e => e.Event is Moved).Select(e => e.Entry.Id).ToList();
        if (ids.Count == 0) return NotFound();
        var taken = await taking.CorrectAsync(ids, new JsonObject { ["void"] = true }, form, User.Identity?.Name,
            HttpContext.RequestAborted);
        if (taken.Kept is { } kept) return LocalRedirect($"/log/moved?kept={kept}&count={ids.Count}");
        // Taken back by an earlier tap, or something hangs on it: each bin's page has its own undo.
        (Problem, Form) = (taken.Question ?? taken.Problem, new LogForm { Key = LogForm.NewKey() });
        Load(door.Book, [], several: true);
        return Page();
    }

    private void Load(Book book, IReadOnlyList<string> names, bool several = false)
    {
        chosen = names.ToHashSet(StringComparer.Ordinal);
        var bins = names.Select(c => book.Bins.GetValueOrDefault(c)).OfType<BinView>().ToList();
        if (!several && bins.Count == 1) (Bin, Lot) = (bins[0], book.Lots[bins[0].Lot]);
        var proposed = bins.Select(b => MoveTo.Proposed(lots.Views, b, Places)).OfType<Place>()
            .GroupBy(p => p.Id, StringComparer.Ordinal).OrderByDescending(g => g.Count()).FirstOrDefault();
        Proposed = proposed?.First()
            ?? (bins.Count == 0 && Places.Count(p => p.Purpose == Purpose.Storage) == 1
                ? Places.First(p => p.Purpose == Purpose.Storage) : null);
        To =
        [
            .. Places.Where(p => Bin is null || p.Id != Bin.Place)
                .OrderBy(p => p.Id == Proposed?.Id ? 0 : bins.Count > 0 && bins.TrueForAll(b => b.Place == p.Id) ? 2 : 1)
                    .ThenBy(p => p.Purpose).ThenBy(p => p.Name, NameOrder.Instance),
        ];
        if (!several) return;
        Loads =
        [
            .. BinLine.Filled(book, lots.Views).GroupBy(b => (b.Lot.Id, b.Bin.Place))
                .Select(g => new Load(g.First().Lot, g.Key.Place, [.. g], g.Any(b => chosen.Contains(b.Bin.Id))))
                .OrderByDescending(l => l.Ticked).ThenBy(l => EntryWords.PlaceName(l.Place, Places), NameOrder.Instance)
                    .ThenBy(l => l.Lot.Id, NameOrder.Instance),
        ];
    }

    private void SayDone(Book book, long first, int count)
    {
        DoneEntries = [.. Enumerable.Range(0, Math.Clamp(count, 1, Most)).Select(i => book.Find(first + i)).OfType<Standing>()
            .Where(s => s.Event is Moved || Back(book, s) is not null)];
        if (DoneEntries.Count == 0) return;
        var moves = DoneEntries.Select(s => (Moved)(Back(book, s) ?? s).Event!).ToList();
        var names = string.Join(", ", moves.Select(m => m.Bin).Order(NameOrder.Instance));
        var place = EntryWords.PlaceName(moves[0].Place, Places);
        Done = (DoneEntries[0].Entry.Of is null ? Strings.SeveralMoved : Strings.SeveralMovedBack)
            .With(moves.Count.ToString(CultureInfo.CurrentCulture), place, names);
    }

    private static Standing? Back(Book book, Standing correction) =>
        correction.Entry.Of is { } of && Correction.IsVoid(correction.Fields) && book.Find(of) is { Event: Moved } move ? move : null;
}
