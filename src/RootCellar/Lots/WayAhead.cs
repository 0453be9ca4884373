using System.Text.Json.Serialization;
using RootCellar.Ledger;
using RootCellar.Places;
using RootCellar.Science.Crops;
using RootCellar.Science.Keeping;

namespace RootCellar.Lots;

/// <summary>
/// The way a bin is thought to take from now on, which its dates rest on. A bin in a curing room is moved once it is fit to; any other
/// stays.
/// </summary>
/// <param name="Place">Where it will stand; null: no storage place is set up.</param>
/// <param name="Since">From when on; null where it stands there already and is left there.</param>
/// <param name="Assumed">
/// Nothing is known of the air there over the last three days: the last day known, or the middle of the crop's band, stands in.
/// </param>
internal sealed record WayAhead(string? Place, DateTimeOffset? Since, bool Assumed)
{
    [JsonIgnore]
    public bool Moves => Since is not null;
}

/// <summary>
/// Where a bin goes when it leaves the curing room: where most of its lot went, else where most of its crop stands, else the place whose
/// air suits the crop best; never to a place whose air would harm it. Made for one look at the book; not for several threads at once.
/// </summary>
/// <param name="book">The book as it stands.</param>
/// <param name="storage">The storage places and their air.</param>
internal sealed class NextPlace(Book book, SuitingPlaces storage)
{
    private readonly Dictionary<string, string?> byCrop = new(StringComparer.Ordinal);
    private readonly Dictionary<string, string?> byLot = new(StringComparer.Ordinal);

    public SuitingPlaces Storage => storage;

    /// <summary>Null where there is no storage place, or none that would not harm it.</summary>
    public string? Of(string lot, Crop crop)
    {
        if (!storage.Any) return null;
        if (!byLot.TryGetValue(lot, out var went)) byLot.Add(lot, went = Most(book.Lots[lot].Bins, crop));
        if (went is not null) return went;
        if (!byCrop.TryGetValue(crop.Id, out var stands))
            byCrop.Add(crop.Id, stands = Most(book.AllBins.Where(b => b.EmptiedAt is null && IsOf(b, crop)), crop) ?? storage.Best(crop)?.Id);
        return stands;
    }

    private bool IsOf(BinView bin, Crop crop) => book.Lots[bin.Lot].Known?.Id == crop.Id;

    /// <summary>The storage place most of these stand in, or stood in at the end.</summary>
    private string? Most(IEnumerable<BinView> bins, Crop crop) => bins
        .Where(b => b.Place is not null && storage.Contains(b.Place) && storage.HarmingC(b.Place, crop) is null)
        .GroupBy(b => b.Place!, StringComparer.Ordinal)
        .OrderByDescending(g => g.Count()).ThenBy(g => g.Key, StringComparer.Ordinal).FirstOrDefault()?.Key;
}
