using RootCellar.Places;
using RootCellar.Science.Crops;
using RootCellar.Science.Keeping;

namespace RootCellar.Lots;

/// <summary>The storage places with the air they had over the last days, and which of them suits a crop. Unchanging.</summary>
/// <param name="storage">The places; the air is null where it is not known.</param>
internal sealed class SuitingPlaces(IReadOnlyList<(Place Place, LotAir? Air)> storage)
{
    /// <summary>
    /// Percent of humidity beside the band that weigh as one degree C (assumed: either doubles a potato's loss in some three of them).
    /// </summary>
    private const double PercentPerDegree = 5;

    public static readonly SuitingPlaces None = new([]);

    public bool Any => storage.Count > 0;

    public bool Contains(string place) => storage.Any(s => s.Place.Id == place);

    public Place? Find(string? place) => storage.FirstOrDefault(s => s.Place.Id == place).Place;

    /// <summary>The temperature of a place if it would harm the crop, C; null where it would not, or is not known.</summary>
    public double? HarmingC(string place, Crop crop) =>
        storage.FirstOrDefault(s => s.Place.Id == place).Air is { } air && air.TemperatureC < Cold.HarmBelowC(crop) ? air.TemperatureC : null;

    /// <summary>The place that suits the crop best; null where every one would harm it.</summary>
    public Place? Best(Crop crop) => Suiting(crop).FirstOrDefault().Place;

    /// <summary>The best place that is known not to harm the crop, with its air; null where none is known.</summary>
    public (Place Place, LotAir Air)? KnownToSuit(Crop crop) =>
        Suiting(crop).FirstOrDefault(s => s.Air is not null) is (var place, { } air) ? (place, air) : null;

    /// <summary>
    /// Those that would not harm it: first what is kept for it, then by how far the air is beside its band, in whole degrees, so that a
    /// day's weather does not send the crop to another cellar.
    /// </summary>
    private IEnumerable<(Place Place, LotAir? Air)> Suiting(Crop crop) => storage
        .Where(s => HarmingC(s.Place.Id, crop) is null)
        .OrderByDescending(s => s.Place.Crops.Contains(crop.Id, StringComparer.Ordinal))
        .ThenBy(s => s.Air is { } air ? Math.Round(Beside(crop.Storage, air)) : double.MaxValue);

    private static double Beside(Science.Crops.Band band, LotAir air) =>
        Out(air.TemperatureC, band.TemperatureLowC, band.TemperatureHighC)
        + (Out(air.RelativeHumidityPercent, band.HumidityLowPercent, band.HumidityHighPercent) / PercentPerDegree);

    private static double Out(double value, double low, double high) => Math.Max(0, Math.Max(low - value, value - high));
}
