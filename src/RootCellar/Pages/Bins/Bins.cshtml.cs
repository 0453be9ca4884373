using Microsoft.AspNetCore.Mvc.RazorPages;
using RootCellar.Advice;
using RootCellar.Household;
using RootCellar.Ledger;
using RootCellar.Lots;
using RootCellar.Monitoring;
using RootCellar.Pages.Look;
using RootCellar.Places;

namespace RootCellar.Pages.Bins;

/// <summary>What the list of bins is narrowed down to, and its order; empty: all, by place.</summary>
internal sealed record BinFilter(string? Find, string? Place, string? Crop, string? Lot, bool UseFirst, string? Show = null)
{
    public bool Any => !string.IsNullOrEmpty(Find) || Narrow || Show is not null;

    /// <summary>Something is chosen besides what is searched for.</summary>
    public bool Narrow => !string.IsNullOrEmpty(Place) || !string.IsNullOrEmpty(Crop) || !string.IsNullOrEmpty(Lot) || UseFirst;
}

/// <summary>Bins under one heading. <see cref="Place"/> is its id; all of them where the order is what to use first.</summary>
internal sealed record BinGroup(string Name, string Id, IReadOnlyList<BinLine> Bins)
{
    public double Kg => Bins.Sum(b => b.Estimate?.Kg.Value ?? b.Bin.BookKg);

    public int Fit => Bins.Count(b => b.Fit);

    public int Due => Bins.Count(b => b.Due is not null);

    /// <summary>The most urgent of what is due; null where nothing is.</summary>
    public Meaning? Sign => Bins.Any(b => b.Due == Meaning.Now) ? Meaning.Now : Due > 0 ? Meaning.Soon : null;

    /// <summary>What its bins call for, said once for all of whom it is the same: the bins, and the advice of one of them.</summary>
    public IEnumerable<(IReadOnlyList<BinLine> Bins, BinAdvice Advice)> Advice(Func<BinAdvice, string> words) => Bins
        .Where(b => b.Estimate?.Advice.Urgency > Urgency.Nothing)
        .GroupBy(b => words(b.Estimate!.Advice), StringComparer.Ordinal)
        .Select(g => ((IReadOnlyList<BinLine>)[.. g], g.First().Estimate!.Advice))
        .OrderByDescending(g => g.Advice.Urgency);
}

/// <summary>Every bin with something in it, by place, or in the order to use them.</summary>
internal sealed class BinsModel(LedgerDoor door, LotKeeper lots, Pipeline pipeline, Show show) : PageModel
{
    /// <summary>Up to so many bins every place stands open; a longer list begins with its places only.</summary>
    private const int OpenUpTo = 40;

    public BinFilter Filter { get; private set; } = new(null, null, null, null, UseFirst: false);

    public IReadOnlyList<Place> Places { get; private set; } = [];

    public IReadOnlyList<BinGroup> Groups { get; private set; } = [];

    /// <summary>How many bins have something in them, found or not.</summary>
    public int All { get; private set; }

    public int Found { get; private set; }

    /// <summary>Of all bins: how many are fit to move, and how many want something done.</summary>
    public (int Fit, int Due) Counts { get; private set; }

    /// <summary>What all of them hold, kg.</summary>
    public double AllKg { get; private set; }

    public bool Open => Found <= OpenUpTo || Groups.Count == 1;

    /// <summary>Something was dug already, so what comes next is a bin.</summary>
    public bool AnyLot { get; private set; }

    /// <summary>What can be chosen among: value and name.</summary>
    public IReadOnlyList<(string Value, string Name)> OfPlace { get; private set; } = [];

    public IReadOnlyList<(string Value, string Name)> OfCrop { get; private set; } = [];

    public IReadOnlyList<(string Value, string Name)> OfLot { get; private set; } = [];

    public void OnGet(string? find, string? place, string? crop, string? lot, string? sort, string? show)
    {
        Filter = new BinFilter(find, place, crop, lot, sort == "first", show is "fit" or "due" ? show : null);
        var book = door.Book;
        Places = pipeline.Snapshot.AllPlaces;
        var bins = BinLine.Filled(book, lots.Views).ToList();
        All = bins.Count;
        Counts = (bins.Count(b => b.Fit), bins.Count(b => b.Due is not null));
        AllKg = bins.Sum(b => b.Estimate?.Kg.Value ?? b.Bin.BookKg);
        AnyLot = book.Lots.Count > 0;
        OfPlace = Choices(bins, b => b.Bin.Place ?? "", b => Name(b.Bin.Place));
        OfCrop = Choices(bins, b => b.Lot.Crop, b => CropWords.Name(b.Lot.Crop));
        OfLot = Choices(bins, b => b.Lot.Id, b => $"{b.Lot.Id} · {EntryWords.Kind(b.Lot)}");
        var found = bins.FindAll(b => Is(place, b.Bin.Place) && Is(crop, b.Lot.Crop) && Is(lot, b.Lot.Id)
            && b.Fits(find, Name(b.Bin.Place)) && (Filter.Show != "fit" || b.Fit) && (Filter.Show != "due" || b.Due is not null));
        Found = found.Count;
        Groups = Filter.UseFirst
            ? found.Count == 0 ? []
                : [new BinGroup(Strings.UseFirstOrder, "all", [.. found.OrderBy(b => b.Rank == 0 ? int.MaxValue : b.Rank)])]
            : [.. found.GroupBy(b => b.Bin.Place ?? "", StringComparer.Ordinal)
                .Select(g => new BinGroup(Name(g.First().Bin.Place), g.Key, [.. g])).OrderBy(g => g.Name, NameOrder.Instance)];
    }

    /// <summary>What goes with using the bins shown before others; empty where nothing does.</summary>
    public string FirstCaution => Cautions.OfUsing(Groups.SelectMany(g => g.Bins).Select(b => b.Estimate).OfType<BinEstimate>(), show);

    public string PlaceOf(BinLine line) => Name(line.Bin.Place);

    private static bool Is(string? wanted, string? there) => string.IsNullOrEmpty(wanted) || wanted == there;

    private static IReadOnlyList<(string Value, string Name)> Choices(
        List<BinLine> bins, Func<BinLine, string> value, Func<BinLine, string> name) =>
        [.. bins.DistinctBy(value, StringComparer.Ordinal).Select(b => (Value: value(b), Name: name(b))).Where(c => c.Value.Length > 0)
            .OrderBy(c => c.Name, NameOrder.Instance)];

    private string Name(string? place) => EntryWords.PlaceName(place, Places);
}
