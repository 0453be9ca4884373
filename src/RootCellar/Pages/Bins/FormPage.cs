using Microsoft.AspNetCore.Mvc.RazorPages;
using RootCellar.Household;
using RootCellar.Ledger;
using RootCellar.Ledger.Events;
using RootCellar.Monitoring;
using RootCellar.Places;
using RootCellar.Science.Crops;

namespace RootCellar.Pages.Bins;

/// <summary>What every page with the form of an entry has: for writing one and for correcting one.</summary>
internal abstract class FormPage(LedgerDoor door, Pipeline pipeline, Show show) : PageModel
{
    public EventKind What { get; private set; } = null!;

    public LogForm Form { get; protected set; } = new();

    public BinView? Bin { get; private set; }

    public LotView? Lot { get; private set; }

    /// <summary>Where bins stand, those outdoors last: they may hold a clamp or a pit.</summary>
    public IReadOnlyList<Place> Places { get; private set; } = [];

    /// <summary>The last touched first.</summary>
    public IReadOnlyList<LotView> Lots => field ??= [.. door.Book.Lots.Values.OrderByDescending(l => l.Entries[^1])];

    public IReadOnlyList<string> Grades => field ??=
    [
        .. door.Book.AllBins.Select(b => b.Grade).OfType<string>().Distinct(StringComparer.Ordinal).Order(StringComparer.Ordinal),
    ];

    public IReadOnlyList<string> Orders => field ??=
    [
        .. door.Book.Orders.Where(o => o.OpenGrams > 0).Select(o => o.Order).Distinct(StringComparer.Ordinal).Order(StringComparer.Ordinal),
    ];

    /// <summary>What can be promised: the crops in bins first.</summary>
    public IReadOnlyList<Crop> Wanted => field ??=
    [
        .. door.Book.AllBins.Where(b => b.EmptiedAt is null).GroupBy(b => door.Book.Lots[b.Lot].Crop, StringComparer.Ordinal)
            .OrderByDescending(g => g.Count())
            .Select(g => door.Book.Crops.Find(g.Key)).OfType<Crop>().UnionBy(Crops, c => c.Id, StringComparer.Ordinal),
    ];

    public string? Question { get; protected set; }

    public string? Problem { get; protected set; }

    /// <summary>The book cannot count it even when it is insisted on: it can wait to be checked.</summary>
    public bool OnlyKeep { get; protected set; }

    /// <summary>One tap on one of its choices writes it down.</summary>
    public bool IsChoice => What == Sprouts.Event || What == Appearance.Event || What == Moved.Event;

    /// <summary>How many bins one can be sorted into on the page.</summary>
    public int IntoLines => Math.Max(4, Form.IntoBin.Length + 1);

    /// <summary>What its amount may be counted in, with what it was entered in.</summary>
    public IReadOnlyList<string> Units =>
        [.. LogKinds.Units(What, show).Append(Form.Unit).Where(u => !string.IsNullOrEmpty(u)).OfType<string>()
            .Distinct(StringComparer.Ordinal)];

    /// <summary>Every crop the household knows, by name.</summary>
    public IReadOnlyList<Crop> Crops => HarvestForm.ByName(door.Book.Crops);

    /// <summary>Crops of the household that are known to the book only.</summary>
    public IReadOnlyList<string> BookOnly => door.Book.Crops.BookOnly;

    /// <summary>The crop chosen in the form; null where it is none of the table's.</summary>
    public Crop? Kind => door.Book.Crops.Find(Form.Crop ?? "");

    protected LedgerDoor Door => door;

    protected Show Words => show;

    protected void Load(EventKind what)
    {
        What = what;
        var book = door.Book;
        Places = [.. pipeline.Snapshot.AllPlaces.OrderBy(p => p.Purpose).ThenBy(p => p.Name, NameOrder.Instance)];
        Bin = Form.Bin is { } bin ? book.Bins.GetValueOrDefault(bin.Trim()) : null;
        Lot = Bin is null ? null : book.Lots[Bin.Lot];
    }
}
