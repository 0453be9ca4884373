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
/// air suits the crop best. Made for one look at the book; not for several threads at once.
/// </summary>
/// <param name="book">The book as it stands.</param>
/// <param name="places">The places as set up.</param>
/// <param name="airOf">The mean air of a place over the last days; null where it is not known.</param>
internal sealed class NextPlace(Book book, IReadOnlyList<Place> places, Func<string, LotAir?> airOf)
{
    /// <summary>
    /// Percent of humidity beside the band that weigh as one degree C (assumed: either doubles a potato's loss in some three of them).
    /// </summary>
    private const double PercentPerDegree = 5;

    private readonly List<Place> storage = [.. places.Where(p => p.Purpose == Purpose.Storage).OrderBy(p => p.Id, StringComparer.Ordinal)];
    private readonly Dictionary<string, string?> byCrop = new(StringComparer.Ordinal);
    private readonly Dictionary<string, string?> byLot = new(StringComparer.Ordinal);

    /// <summary>Null where there is no storage place.</summary>
    public string? Of(string lot, Crop crop)
    {
        if (storage.Count == 0) return null;
        if (!byLot.TryGetValue(lot, out var went)) byLot.Add(lot, went = Most(book.Lots[lot].Bins));
        if (went is not null) return went;
        if (!byCrop.TryGetValue(crop.Id, out var stands))
            byCrop.Add(crop.Id, stands = Most(book.AllBins.Where(b => b.EmptiedAt is null && IsOf(b, crop))) ?? Best(crop));
        return stands;
    }

    private bool IsOf(BinView bin, Crop crop) => CropTable.Default.Find(book.Lots[bin.Lot].Crop)?.Id == crop.Id;

    /// <summary>The storage place most of these stand in, or stood in at the end.</summary>
    private string? Most(IEnumerable<BinView> bins) => bins
        .Where(b => b.Place is not null && storage.Exists(p => p.Id == b.Place))
        .GroupBy(b => b.Place!, StringComparer.Ordinal)
        .OrderByDescending(g => g.Count()).ThenBy(g => g.Key, StringComparer.Ordinal).FirstOrDefault()?.Key;

    /// <summary>In whole degrees, so that a day's weather does not send the crop to another cellar.</summary>
    private string Best(Crop crop) => storage
        .OrderByDescending(p => p.Crops.Contains(crop.Id, StringComparer.Ordinal))
        .ThenBy(p => airOf(p.Id) is { } air ? Math.Round(RootSumSquare(crop.Storage, air)) : double.MaxValue)
        .First().Id;

    private static double RootSumSquare(Science.Crops.Band band, LotAir air) =>
        Out(air.TemperatureC, band.TemperatureLowC, band.TemperatureHighC)
        + (Out(air.RelativeHumidityPercent, band.HumidityLowPercent, band.HumidityHighPercent) / PercentPerDegree);

    private static double Out(double value, double low, double high) => Math.Max(0, Math.Max(low - value, value - high));
}
