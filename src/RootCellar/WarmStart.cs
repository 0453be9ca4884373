using System.Text.Json;
using Microsoft.Data.Sqlite;
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

    public static Known Load(Store store, DateTimeOffset wall, ILogger log)
    {
        var copy = store.StartProblem is null ? null : SetUpCopy.Read(store.Folder);
        return new Known(
            copy?.Places ?? Try("places", PlaceRows.All, SetUpCopy.Read(store.Folder)?.Places ?? []),
            copy?.Sensors ?? Try("sensors", SensorRows.All, SetUpCopy.Read(store.Folder)?.Sensors ?? []),
            // A clock that was wrong leaves readings in the future; they cannot be given an age.
            Try<IReadOnlyList<StoredReading>>("readings", c => [.. SensorRows.Since(c, wall - Recent).Where(r => r.Reading.ArrivedAt <= wall)], []),
            Try("alarms", AlarmRows.Open, []),
            // Without the record's last number, one that it cannot have reached.
            Try("alarm numbers", AlarmRows.LastSequence, wall.ToUnixTimeSeconds()));

        T Try<T>(string what, Func<SqliteConnection, T> read, T without)
        {
            try
            {
                return store.Read(read);
            }
            catch (Exception e) when (e is SqliteException or JsonException or ArgumentException)
            {
                log.LogError("The {What} of the record cannot be read ({Problem}); the watch begins without them", what, e.Message);
                return without;
            }
        }
    }
}
