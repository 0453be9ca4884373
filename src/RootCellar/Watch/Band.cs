using RootCellar.Lots;
using RootCellar.Places;
using RootCellar.Science.Crops;

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
    HarmLimits Harm,
    HarmLimits? CuringHarm = null,
    string? CuringSource = null);

/// <summary>One crop's share in a band: its own wish, for which purpose, and who says so.</summary>
internal sealed record BandReason(string Crop, Purpose Purpose, ClimateBand Wish, string Source);

/// <summary>
/// What a place's air is held against. <see cref="FreezingPointC"/> is the highest among all crops there, also those it does not suit;
/// <see cref="LightLimitLux"/> is null when no crop there turns green.
/// </summary>
/// <param name="Air">The band that keeps best: advice, gauges and the report go by it. It lies within the limits.</param>
/// <param name="Limits">Where harm begins: alarms go by these.</param>
/// <param name="Why">The crops the band satisfies, first the one that decides.</param>
/// <param name="Conflicts">Crops whose own band does not overlap with that of the crops before them.</param>
/// <param name="UnknownCrops">Ids the crop table does not know.</param>
internal sealed record Band(
    ClimateBand Air,
    AlarmLimits Limits,
    double FreezingPointC,
    double? LightLimitLux,
    IReadOnlyList<BandReason> Why,
    IReadOnlyList<BandReason> Conflicts,
    IReadOnlyList<string> UnknownCrops)
{
    /// <summary>
    /// Crops kept dry (onion, garlic, squash) are harmed by humidity itself; roots can hardly have too much short of dew.
    /// </summary>
    public bool KeptDry => Limits.KeptDry;

    /// <summary>
    /// Bins outdoors, in a clamp or a pit: the air around them says nothing of them, so all that is watched is frost by a probe in the
    /// produce.
    /// </summary>
    public bool FrostOnly { get; init; }

    /// <summary>
    /// Something stands there too that wants it drier than the air is to be, such as onions that cure beside potatoes: the room is
    /// not made damp.
    /// </summary>
    public bool KeepsDryToo => DriestWish.Forbids(
        DriestWish.Percent(Why.Concat(Conflicts).Select(c => c.Wish.HumidityHighPercent)), Air.HumidityLowPercent);

    /// <summary>Every figure of it; what has the same holds the air to the same.</summary>
    public (ClimateBand, double, double, double, double) Figures =>
        (Air, Limits.ColdC, Limits.WarmC, Limits.DryPercent, Limits.WetPercent);
}

/// <summary>Works out the band and the limits in force for a place from its crops and what the place is for.</summary>
internal sealed class BandsInForce(Func<string, CropBands?> find, WatchOptions options)
{
    // A common band narrower than this cannot be held by a cellar (assumed).
    private const double NarrowestC = 1.0;
    private const double NarrowestPercent = 3.0;

    // No air outdoors is beyond these.
    private static readonly ClimateBand AnyAir = new(-60, 60, 0, 100);

    /// <summary>The band, or null where nothing is judged: outdoors without bins, and where no crop is known.</summary>
    /// <param name="standing">Crops of the bins there, beside the place's own.</param>
    public Band? For(Place place, IEnumerable<string>? standing = null)
    {
        List<CropBands> crops = [];
        List<string> unknown = [];
        var outdoors = place.Purpose == Purpose.Outdoors;
        foreach (var id in (outdoors ? [] : place.Crops).Concat(standing ?? []).Distinct(StringComparer.Ordinal))
        {
            if (find(id) is { } crop) crops.Add(crop);
            else unknown.Add(id);
        }

        if (crops.Count == 0)
            return null;
        if (outdoors)
        {
            var any = new AlarmLimits(
                AnyAir.TemperatureLowC, AnyAir.TemperatureHighC, AnyAir.HumidityLowPercent, AnyAir.HumidityHighPercent, [], []);
            return new Band(AnyAir, any, crops.Max(c => c.FreezingC), null, [], [], unknown) { FrostOnly = true };
        }

        var limits = AlarmLimits.Of([.. crops.Select(c => new CropHarm(
            c.Id, place.Purpose == Purpose.Curing && c.Curing is not null ? c.CuringHarm ?? c.Harm : c.Harm,
            place.Crops.Contains(c.Id, StringComparer.Ordinal)))]);
        List<BandReason> why = [];
        List<BandReason> conflicts = [];
        ClimateBand? common = null;
        // The band is theirs first whom the limits protect.
        foreach (var crop in crops.OrderBy(c => limits.Unsuited.Any(u => u.Crop == c.Id)))
        {
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

        return new Band(
            Within(common!, limits), limits, crops.Max(c => c.FreezingC), crops.Any(c => c.GreensInLight) ? options.LightLux : null, why,
            conflicts, unknown);
    }

    // Nothing is advised that rings, nor that an alarm would not end in.
    private ClimateBand Within(ClimateBand band, AlarmLimits limits)
    {
        var (low, high) = Part(band.TemperatureLowC, band.TemperatureHighC, limits.ColdC, limits.WarmC, NarrowestC,
            options.Temperature.DeadbandC);
        var (dry, damp) = Part(band.HumidityLowPercent, band.HumidityHighPercent, limits.DryPercent, limits.WetPercent, NarrowestPercent,
            options.Humidity.DeadbandPercent);
        return new ClimateBand(low, high, dry, damp);

        static (double, double) Part(double low, double high, double from, double to, double narrowest, double deadband)
        {
            var (a, b) = (Math.Max(low, from), Math.Min(high, to));
            var middle = (a + b) / 2;
            return b - a >= Math.Min(narrowest, high - low) - 1e-9 && middle >= from + deadband && middle <= to - deadband
                ? (a, b) : (from + deadband, to - deadband);
        }
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
