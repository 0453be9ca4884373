using System.Collections.Frozen;

namespace RootCellar.Ledger.Events;

/// <summary>Every kind of event there is.</summary>
internal static class EventKinds
{
    public static IReadOnlyList<EventKind> All { get; } =
    [
        Dug.Event, Filled.Event, Moved.Event, Weighed.Event, Sorted.Event, TakenOut.Culled, TakenOut.Sold, TakenOut.Canned, TakenOut.Eaten,
        TakenOut.Given, TakenOut.Planted, Promised.Event, Sprouts.Event, Appearance.Event, RowPlanted.Event, VinesDead.Event,
        CropDescribed.Event, Correction.Event,
    ];

    public static IReadOnlyList<string> Names { get; } = [.. All.Select(k => k.Name)];

    private static readonly FrozenDictionary<string, EventKind> ByName = All.ToFrozenDictionary(k => k.Name, StringComparer.Ordinal);

    /// <summary>The kind of a name; null where there is none.</summary>
    public static EventKind? Find(string? name) => name is null ? null : ByName.GetValueOrDefault(name);
}
