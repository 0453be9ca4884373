using RootCellar.Ledger;
using RootCellar.Places;

namespace RootCellar.Pages.Bins;

/// <summary>Where a bin is likely to go next, so that one tap is enough.</summary>
internal static class MoveTo
{
    /// <summary>
    /// Where the lot's other bins were moved to; else, out of a curing room, the storage room kept for its crop where there is only one
    /// such. Null where nothing speaks for one place: a bin that was moved into storage already stays there.
    /// </summary>
    public static Place? Proposed(Book book, BinView bin, IReadOnlyList<Place> places)
    {
        var here = places.FirstOrDefault(p => p.Id == bin.Place);
        if (here is { Purpose: Purpose.Storage } && bin.Stays.Count > 1) return null;
        var others = book.Lots[bin.Lot].Bins
            .Where(b => b.EmptiedAt is null && b.Id != bin.Id && b.Stays.Count > 1 && b.Place != bin.Place)
            .GroupBy(b => b.Place, StringComparer.Ordinal)
            .OrderByDescending(g => g.Count()).ThenBy(g => g.Key, StringComparer.Ordinal)
            .Select(g => places.FirstOrDefault(p => p.Id == g.Key && p.Purpose != Purpose.Outdoors))
            .FirstOrDefault(p => p is not null);
        if (others is not null || here is { Purpose: Purpose.Storage }) return others;
        var storage = places.Where(p => p.Purpose == Purpose.Storage && p.Id != bin.Place).ToList();
        var crop = book.Lots[bin.Lot].Crop;
        var kept = storage.FindAll(p => p.Crops.Contains(crop, StringComparer.Ordinal));
        return kept.Count == 1 ? kept[0] : storage.Count == 1 ? storage[0] : null;
    }
}
