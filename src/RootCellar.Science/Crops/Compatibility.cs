namespace RootCellar.Science.Crops;

/// <summary>What two crops of one room differ over.</summary>
public enum ConflictKind
{
    /// <summary>Bands of temperature that do not meet.</summary>
    Temperature,

    /// <summary>Bands of humidity that do not meet.</summary>
    Humidity,

    /// <summary>One gives off ethylene, the other minds it.</summary>
    Ethylene,

    /// <summary>One smells, the other takes it up.</summary>
    Odour,
}

/// <summary>How much it matters.</summary>
public enum Severity
{
    /// <summary>Bearable for a while, or with a little care.</summary>
    Minor,

    /// <summary>Costs quality or keeping time unless something is done.</summary>
    Serious,

    /// <summary>Not in one room.</summary>
    Never,
}

/// <summary>What speaks against keeping two crops in one room.</summary>
/// <param name="A">The crop whose id comes first in the alphabet.</param>
/// <param name="B">The other.</param>
/// <param name="Kind">What they differ over.</param>
/// <param name="Severity">How much it matters.</param>
/// <param name="First">Of the two the one that wants it colder or drier, or that gives off the ethylene or the smell.</param>
/// <param name="Second">The one that wants it warmer or damper, or that suffers.</param>
public sealed record Conflict(Crop A, Crop B, ConflictKind Kind, Severity Severity, Crop First, Crop Second)
{
    /// <summary>How far apart the bands are, C or percent; 0 where it is not about bands.</summary>
    public double Gap { get; init; }

    /// <summary>Each does it to the other.</summary>
    public bool Mutual { get; init; }

    /// <summary>Of a smell: the ethylene of the one that takes it up harms the other, so that neither place downwind is right.</summary>
    public bool EthyleneBack { get; init; }
}

/// <summary>The band in which every crop of a room keeps.</summary>
/// <param name="TemperatureLowC">Low edge, C.</param>
/// <param name="TemperatureHighC">High edge, C.</param>
/// <param name="HumidityLowPercent">Low edge, percent over water.</param>
/// <param name="HumidityHighPercent">High edge, percent over water.</param>
public sealed record CommonBand(double TemperatureLowC, double TemperatureHighC, double HumidityLowPercent, double HumidityHighPercent);

/// <summary>
/// Whether crops can share a room, judged by the storage bands, ethylene and odour columns of the crop table. Advice for keeping
/// quality only. How far apart is how bad is this project's own (assumed); the columns carry their sources.
/// </summary>
public static class Compatibility
{
    // One room can be a few degrees warmer at the top or by a door, seldom more.
    private const double MinorGapC = 2;
    private const double SeriousGapC = 5;

    // Packing makes a damp place in a dry room, so humidity alone never forbids a room.
    private const double MinorGapPercent = 5;

    /// <summary>Everything that speaks against keeping these crops in one room, the worst first; empty where nothing does.</summary>
    /// <param name="crops">The crops, in any order; the same crop twice counts once.</param>
    /// <returns>Conflicts by severity, then ids, then kind: the same for every order of the crops.</returns>
    public static IReadOnlyList<Conflict> Check(IReadOnlyList<Crop> crops)
    {
        ArgumentNullException.ThrowIfNull(crops);
        Crop[] sorted = [.. crops.DistinctBy(crop => crop.Id, StringComparer.Ordinal).OrderBy(crop => crop.Id, StringComparer.Ordinal)];
        return
        [
            .. sorted.SelectMany((a, i) => sorted.Skip(i + 1)
                .SelectMany(b => new[] { Temperature(a, b), Humidity(a, b), Ethylene(a, b), Odour(a, b) }))
                .OfType<Conflict>()
                .OrderByDescending(conflict => conflict.Severity)
                .ThenBy(conflict => conflict.A.Id, StringComparer.Ordinal)
                .ThenBy(conflict => conflict.B.Id, StringComparer.Ordinal)
                .ThenBy(conflict => conflict.Kind),
        ];
    }

    /// <summary>The band that lies within every crop's storage band; null where there is none, or no crop.</summary>
    /// <param name="crops">The crops.</param>
    /// <returns>The band, or null.</returns>
    public static CommonBand? Common(IReadOnlyList<Crop> crops)
    {
        ArgumentNullException.ThrowIfNull(crops);
        if (crops.Count == 0)
            return null;
        var band = new CommonBand(
            crops.Max(crop => crop.Storage.TemperatureLowC),
            crops.Min(crop => crop.Storage.TemperatureHighC),
            crops.Max(crop => crop.Storage.HumidityLowPercent),
            crops.Min(crop => crop.Storage.HumidityHighPercent));
        return band.TemperatureLowC <= band.TemperatureHighC && band.HumidityLowPercent <= band.HumidityHighPercent ? band : null;
    }

    private static Conflict? Temperature(Crop a, Crop b)
    {
        var (cold, warm) = a.Storage.TemperatureHighC <= b.Storage.TemperatureHighC ? (a, b) : (b, a);
        double gap = warm.Storage.TemperatureLowC - cold.Storage.TemperatureHighC;
        if (gap <= 0)
            return null;
        var severity = gap <= MinorGapC ? Severity.Minor : gap <= SeriousGapC ? Severity.Serious : Severity.Never;
        return new Conflict(a, b, ConflictKind.Temperature, severity, cold, warm) { Gap = gap };
    }

    private static Conflict? Humidity(Crop a, Crop b)
    {
        var (dry, damp) = a.Storage.HumidityHighPercent <= b.Storage.HumidityHighPercent ? (a, b) : (b, a);
        double gap = damp.Storage.HumidityLowPercent - dry.Storage.HumidityHighPercent;
        if (gap <= 0)
            return null;
        return new Conflict(a, b, ConflictKind.Humidity, gap <= MinorGapPercent ? Severity.Minor : Severity.Serious, dry,
            damp)
        { Gap = gap };
    }

    private static Conflict? Ethylene(Crop a, Crop b)
    {
        var (ab, ba) = (EthyleneFrom(a, b), EthyleneFrom(b, a));
        if (ab is { } one && ba is { } other)
        {
            // Each lives in its own ethylene already.
            return new Conflict(a, b, ConflictKind.Ethylene, one >= other ? one : other, a, b) { Mutual = true };
        }

        if (ab is null && ba is null)
            return null;
        var (from, to, severity) = ab is { } toB ? (a, b, toB) : (b, a, ba!.Value);
        return new Conflict(a, b, ConflictKind.Ethylene, severity, from, to);
    }

    private static Severity? EthyleneFrom(Crop from, Crop to) => (from.EthyleneProduction, to.EthyleneSensitivity) switch
    {
        // What makes plenty itself loses little by a neighbour's.
        ( >= EthyleneLevel.High, >= EthyleneLevel.Moderate) when to.EthyleneProduction >= EthyleneLevel.High => Severity.Minor,
        ( >= EthyleneLevel.High, >= EthyleneLevel.High) => Severity.Never,
        ( >= EthyleneLevel.High, EthyleneLevel.Moderate) => Severity.Serious,
        (EthyleneLevel.Moderate, >= EthyleneLevel.High) => Severity.Serious,
        (EthyleneLevel.Moderate, EthyleneLevel.Moderate) => Severity.Minor,
        (EthyleneLevel.Low, >= EthyleneLevel.High) when to.EthyleneProduction < EthyleneLevel.High => Severity.Minor,
        _ => null,
    };

    private static Conflict? Odour(Crop a, Crop b)
    {
        var (ab, ba) = (OdourFrom(a, b), OdourFrom(b, a));
        if (ab is null && ba is null)
            return null;
        bool fromA = ba is null || ab >= ba;
        var (from, to, severity) = fromA ? (a, b, ab!.Value) : (b, a, ba!.Value);
        return new Conflict(a, b, ConflictKind.Odour, severity, from, to)
        {
            Mutual = ab is not null && ba is not null,
            EthyleneBack = EthyleneFrom(to, from) is not null
        };
    }

    private static Severity? OdourFrom(Crop from, Crop to) => (from.Odours.Gives, to.Odours.TakesUp) switch
    {
        (OdourLevel.Strong, OdourLevel.Strong) => Severity.Serious,
        (OdourLevel.Strong, OdourLevel.Some) or (OdourLevel.Some, OdourLevel.Strong) => Severity.Minor,
        _ => null,
    };
}
