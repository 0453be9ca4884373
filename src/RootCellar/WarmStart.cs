using System.Text.Json;
using Microsoft.Data.Sqlite;
using RootCellar.Places;
using RootCellar.Readings;
using RootCellar.Storage;
using RootCellar.Tell;
using RootCellar.Watch;

namespace RootCellar;

/// <summary>What the record knows at a start.</summary>
internal sealed record Known(
    IReadOnlyList<Place> Places,
    IReadOnlyList<SensorRow> Sensors,
    IReadOnlyList<StoredReading> Readings,
    IReadOnlyList<Alarm> Alarms,
    long LastAlarm,
    bool SetUpFinished);

/// <summary>Reads the record at a start.</summary>
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
            Try("alarm numbers", AlarmRows.LastSequence, wall.ToUnixTimeSeconds()),
            // Where it cannot be known, nobody comes in by himself.
            store.StartProblem is null ? Try("set-up", c => Meta.Get(c, Meta.SetUpFinished) is not null, true) : copy?.Door?.SetUpFinished ?? true);

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

    /// <summary>
    /// Reads once what a start reads, and where each table begins, so that a file damaged there is found while the service
    /// can still choose to run without it. The long history is not read through: that takes minutes on a card.
    /// </summary>
    /// <exception cref="SqliteException">The file is damaged.</exception>
    public static void Try(SqliteConnection connection, DateTimeOffset wall)
    {
        foreach (var table in connection.Query("SELECT name FROM sqlite_schema WHERE type = 'table'", row => row.GetString(0)))
        {
            connection.Scalar($"SELECT * FROM \"{table}\" LIMIT 1");
        }

        Action<SqliteConnection>[] reads =
        [
            c => PlaceRows.All(c), c => SensorRows.All(c), c => SensorRows.Since(c, wall - Recent),
            c => AlarmRows.Open(c), c => AlarmRows.LastSequence(c), c => ContactRows.All(c), c => OutboxRows.Unsent(c),
        ];
        foreach (var read in reads)
        {
            try
            {
                read(connection);
            }
            catch (Exception e) when (e is JsonException or ArgumentException)
            {
                // One row that makes no sense is not a damaged file: who needs it goes on without it.
            }
        }
    }
}
