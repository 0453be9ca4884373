using System.Text.Json;
using RootCellar.Places;
using RootCellar.Readings;
using RootCellar.Storage;
using RootCellar.Watch;

namespace RootCellar;

/// <summary>What the record knows at a start.</summary>
internal sealed record Known(
    IReadOnlyList<Place> Places,
    IReadOnlyList<SensorRow> Sensors,
    IReadOnlyList<StoredReading> Readings,
    IReadOnlyList<Alarm> Alarms,
    long LastAlarm);

/// <summary>Reads the record at a start; what cannot be read is said and left out, so that the watch begins all the same.</summary>
internal static class WarmStart
{
    /// <summary>Older readings say nothing about now.</summary>
    private static readonly TimeSpan Recent = TimeSpan.FromHours(2);

    public static Known Load(Store store, DateTimeOffset wall)
    {
        var copy = store.StartProblem is null ? null : SetUpCopy.Read(store.Folder);
        return store.Read(c => new Known(
            copy?.Places ?? PlaceRows.All(c),
            copy?.Sensors ?? SensorRows.All(c),
            // A clock that was wrong leaves readings in the future; they cannot be given an age.
            [.. SensorRows.Since(c, wall - Recent).Where(r => r.Reading.ArrivedAt <= wall)],
            AlarmRows.Open(c),
            AlarmRows.LastSequence(c)));
    }
}
