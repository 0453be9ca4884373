using RootCellar.Places;

namespace RootCellar.Watch;

/// <summary>Air temperature (C) and relative humidity (%) between which a crop is well for one purpose.</summary>
internal sealed record ClimateBand(
    double TemperatureLowC,
    double TemperatureHighC,
    double HumidityLowPercent,
    double HumidityHighPercent);

/// <summary>What judging needs to know of a crop. A null curing band means: not cured, cool it quickly.</summary>
internal sealed record CropBands(
    string Id,
    string Name,
    ClimateBand? Curing,
    ClimateBand Storage,
    double FreezingC,
    bool GreensInLight,
    string Source,
    string? CuringSource = null);

/// <summary>One crop's share in a band: its own wish, for which purpose, and who says so.</summary>
internal sealed record BandReason(string Crop, Purpose Purpose, ClimateBand Wish, string Source);

/// <summary>
/// What a place's air is held against. <see cref="FreezingPointC"/> is the highest among all crops there, also those in
/// conflict; <see cref="LightLimitLux"/> is null when no crop there turns green.
/// </summary>
/// <param name="Why">The crops the band satisfies, first the one that decides.</param>
/// <param name="Conflicts">Crops whose own band does not overlap with that of the crops before them; the air is not judged for
/// these.</param>
/// <param name="UnknownCrops">Ids the crop table does not know.</param>
internal sealed record Band(
    ClimateBand Air,
    double FreezingPointC,
    double? LightLimitLux,
    IReadOnlyList<BandReason> Why,
    IReadOnlyList<BandReason> Conflicts,
    IReadOnlyList<string> UnknownCrops)
{
    /// <summary>
    /// Crops kept dry (onion, garlic, squash) want no more humidity than the band's high limit; roots can hardly have too much short of
    /// dew.
    /// </summary>
    public bool KeptDry => Air.HumidityHighPercent < 90;
}

/// <summary>Works out the band in force for a place from its crops and what the place is for.</summary>
internal sealed class BandsInForce(Func<string, CropBands?> find, WatchOptions options)
{
    // A common band narrower than this cannot be held by a cellar and would sound an alarm that never ends (assumed).
    private const double NarrowestC = 1.0;
    private const double NarrowestPercent = 3.0;

    /// <summary>The band, or null where nothing is judged: outdoors, and where no crop is known.</summary>
    public Band? For(Place place)
    {
        if (place.Purpose == Purpose.Outdoors)
            return null;

        List<BandReason> why = [];
        List<BandReason> conflicts = [];
        List<string> unknown = [];
        ClimateBand? common = null;
        var freezing = double.NegativeInfinity;
        var greens = false;

        foreach (var id in place.Crops.Distinct(StringComparer.Ordinal))
        {
            if (find(id) is not { } crop)
            {
                unknown.Add(id);
                continue;
            }

            freezing = Math.Max(freezing, crop.FreezingC);
            greens |= crop.GreensInLight;
            var reason = place.Purpose == Purpose.Curing && crop.Curing is { } curing
                ? new BandReason(crop.Id, Purpose.Curing, curing, crop.CuringSource ?? crop.Source)
                : new BandReason(crop.Id, Purpose.Storage, crop.Storage, crop.Source);

            var narrowed = common is null ? reason.Wish : Overlap(common, reason.Wish);
            if (narrowed is null)
            {
                conflicts.Add(reason);
                continue;
            }

            common = narrowed;
            why.Add(reason);
        }

        return common is null ? null : new Band(common, freezing, greens ? options.LightLux : null, why, conflicts, unknown);
    }

    private static ClimateBand? Overlap(ClimateBand a, ClimateBand b)
    {
        var lowC = Math.Max(a.TemperatureLowC, b.TemperatureLowC);
        var highC = Math.Min(a.TemperatureHighC, b.TemperatureHighC);
        var low = Math.Max(a.HumidityLowPercent, b.HumidityLowPercent);
        var high = Math.Min(a.HumidityHighPercent, b.HumidityHighPercent);
        var wideEnough =
            highC - lowC >= Narrowest(NarrowestC, a.TemperatureHighC - a.TemperatureLowC, b.TemperatureHighC - b.TemperatureLowC)
            && high - low >= Narrowest(NarrowestPercent, a.HumidityHighPercent - a.HumidityLowPercent,
                b.HumidityHighPercent - b.HumidityLowPercent);
        return wideEnough ? new ClimateBand(lowC, highC, low, high) : null;

        // A crop whose own band is narrower still may keep it. The slack is for bounds converted from whole degrees F.
        static double Narrowest(double usual, double widthA, double widthB) => Math.Min(usual, Math.Min(widthA, widthB)) - 1e-9;
    }
}
