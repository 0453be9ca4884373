using RootCellar.Api;
using RootCellar.Household;
using RootCellar.Ledger;
using RootCellar.Ledger.Events;
using RootCellar.Lots;
using RootCellar.Pages.Look;

namespace RootCellar.Pages.Bins;

/// <summary>A bin with the lot it holds.</summary>
/// <param name="Estimate">What the air has done to it; null until it has been followed, and of a crop the table does not know.</param>
/// <param name="Rank">Where it stands in what to use first, from 1; 0 where it is not estimated.</param>
internal sealed record BinLine(BinView Bin, LotView Lot, BinEstimate? Estimate, int Rank)
{
    /// <summary>Healed far enough and still where it was cured.</summary>
    public bool Fit => Estimate is { Cured: true, FitNow: true, InCuring: true };

    /// <summary>How soon it wants something done; null where it can be left.</summary>
    public Meaning? Due => Estimate?.Advice.Urgency switch
    {
        Urgency.Now => Meaning.Now,
        Urgency.Soon => Meaning.Soon,
        _ => null,
    };

    /// <summary>A weight as it is said, cut into "about ", "27" and " lb".</summary>
    public static (string About, string Figure, string Unit) Parts(string says)
    {
        var (from, to) = (says.AsSpan().IndexOfAnyInRange('0', '9'), says.LastIndexOf('\u00A0'));
        return from < 0 || to < from ? ("", says, "") : (says[..from], says[from..to], says[to..]);
    }

    public static BinLine Of(Book book, BinView bin, LotViews views) =>
        views.Of(bin) is { } estimate
            ? new(bin, book.Lots[bin.Lot], estimate, views.UseRank(bin.Id))
            : new(bin, book.Lots[bin.Lot], null, 0);

    /// <summary>Every bin with something in it, by name as people count: B2 before B10.</summary>
    public static IEnumerable<BinLine> Filled(Book book, LotViews views) => book.AllBins
        .Where(b => b.EmptiedAt is null)
        .OrderBy(b => b.Id, NameOrder.Instance)
        .Select(b => Of(book, b, views));

    /// <summary>Whether every word searched for is somewhere in it.</summary>
    public bool Fits(string? find, string place)
    {
        if (string.IsNullOrWhiteSpace(find)) return true;
        string?[] texts = [Bin.Id, Lot.Id, Lot.Variety, CropWords.Name(Lot.Crop), Bin.Grade, place];
        var keys = texts.OfType<string>().Select(NameOrder.Key).ToList();
        return find.Split(' ', StringSplitOptions.RemoveEmptyEntries | StringSplitOptions.TrimEntries)
            .Select(NameOrder.Key).All(word => keys.Exists(key => key.Contains(word, StringComparison.Ordinal)));
    }

    /// <summary>Where what happened to a bin is written down: its form, or the bin's page where there are several.</summary>
    public static string Address(string bin, string then) => then is Weighed.Name or Sorted.Name or Moved.Name
        ? $"/log/{then}?bin={Uri.EscapeDataString(bin)}" : Address(bin) + "#what";

    /// <summary>The bin's page. A slash in a name stays part of the name.</summary>
    public static string Address(string bin) => "/bins/" + NameInAddress.Of(bin);
}
