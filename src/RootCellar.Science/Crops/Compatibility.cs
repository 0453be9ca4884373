using System.Globalization;

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
/// <param name="What">What happens, in one sentence.</param>
/// <param name="WhatToDo">What can be done, in one sentence.</param>
public sealed record Conflict(Crop A, Crop B, ConflictKind Kind, Severity Severity, string What, string WhatToDo);

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
            .. sorted.SelectMany((a, i) => sorted.Skip(i + 1).SelectMany(b => new[] { Temperature(a, b), Humidity(a, b), Ethylene(a, b), Odour(a, b) }))
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
        string chilling = warm.ChillingBelowC > cold.Storage.TemperatureHighC
            ? Text($"; chilling injures {warm.Name} below {warm.ChillingBelowC:0.#} C")
            : "";
        string what = Text($"{cold.Name}: {Degrees(cold)}; {warm.Name}: {Degrees(warm)}; {gap:0.#} C ({gap * Fahrenheit.PerCelsius:0.#} F) apart{chilling}.");
        string todo = severity == Severity.Never
            ? $"Another room for {warm.Name}, a cool one in the house perhaps."
            : $"Another room; else {warm.Name} high up and {cold.Name} on the floor by the inlet, with a sensor in each place to show that it holds.";
        return new Conflict(a, b, ConflictKind.Temperature, severity, what, todo);
    }

    private static Conflict? Humidity(Crop a, Crop b)
    {
        var (dry, damp) = a.Storage.HumidityHighPercent <= b.Storage.HumidityHighPercent ? (a, b) : (b, a);
        double gap = damp.Storage.HumidityLowPercent - dry.Storage.HumidityHighPercent;
        if (gap <= 0)
            return null;
        return new Conflict(
            a,
            b,
            ConflictKind.Humidity,
            gap <= MinorGapPercent ? Severity.Minor : Severity.Serious,
            Text($"{dry.Name}: {Percent(dry)}; {damp.Name}: {Percent(damp)}; {gap:0.#} % apart. Damp rots the one, dry air shrivels the other."),
            $"Another room; else hold the room dry for {dry.Name} and pack {damp.Name} in perforated bags or lined boxes (roots in damp sand), with a sensor among them.");
    }

    private static Conflict? Ethylene(Crop a, Crop b)
    {
        var (ab, ba) = (EthyleneFrom(a, b), EthyleneFrom(b, a));
        if (ab is { } one && ba is { } other)
        {
            // Each lives in its own ethylene already.
            return new Conflict(a, b, ConflictKind.Ethylene, one >= other ? one : other,
                $"{a.Name} and {b.Name} both give off ethylene and mind it: each hastens the other.",
                "Change the air more, sort often, and take out what ripens first.");
        }

        if (ab is null && ba is null)
            return null;
        var (from, to, severity) = ab is { } toB ? (a, b, toB) : (b, a, ba!.Value);
        string effect = to.EthyleneEffect is { } known ? $"{to.Name} {known.Text}" : $"it harms {to.Name}";
        return new Conflict(a, b, ConflictKind.Ethylene, severity,
            $"Ethylene from {from.Name}: {effect}.",
            $"Another room for {from.Name}; else a closed box with a vent of its own to the outdoors, or a place at the exhaust where the air goes from {to.Name} to {from.Name} and out.");
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
        string both = ab is not null && ba is not null ? ", and the other way about" : "";
        return new Conflict(a, b, ConflictKind.Odour, severity,
            $"The smell of {from.Name} gets into {to.Name}{both}.",
            // Ethylene wants the taker downwind, smell wants it upwind: then only walls help both.
            EthyleneFrom(to, from) is null
                ? $"{from.Name} at the exhaust or in a closed, vented box, {to.Name} where the fresh air comes in; use first what lies nearest."
                : $"As for the ethylene of {to.Name}: another room, or a closed, vented box for it.");
    }

    private static Severity? OdourFrom(Crop from, Crop to) => (from.Odours.Gives, to.Odours.TakesUp) switch
    {
        (OdourLevel.Strong, OdourLevel.Strong) => Severity.Serious,
        (OdourLevel.Strong, OdourLevel.Some) or (OdourLevel.Some, OdourLevel.Strong) => Severity.Minor,
        _ => null,
    };

    private static string Degrees(Crop crop) => Text(
        $"{crop.Storage.TemperatureLowC:0.#} to {crop.Storage.TemperatureHighC:0.#} C ({Fahrenheit.Of(crop.Storage.TemperatureLowC):0.#} to {Fahrenheit.Of(crop.Storage.TemperatureHighC):0.#} F)");

    private static string Percent(Crop crop) => Text($"{crop.Storage.HumidityLowPercent:0.#} to {crop.Storage.HumidityHighPercent:0.#} %");

    private static string Text(FormattableString text) => text.ToString(CultureInfo.InvariantCulture);
}
