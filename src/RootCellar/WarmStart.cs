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
    long LastAlarm);

/// <summary>Reads the record at a start.</summary>
internal static class WarmStart
{
    /// <summary>Older readings say nothing about now.</summary>
    private static readonly TimeSpan Recent = TimeSpan.FromHours(2);

    public static Known Load(Store store, DateTimeOffset wall)
    {
        var copy = store.StartProblem is null ? null : SetUpCopy.Read(store.Folder);
        return store.Read(c => Read(c, copy, wall));
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

        Read(connection, null, wall);
        ContactRows.All(connection);
        OutboxRows.Unsent(connection);
    }

    private static Known Read(SqliteConnection c, SetUpCopy? copy, DateTimeOffset wall) => new(
        copy?.Places ?? PlaceRows.All(c),
        copy?.Sensors ?? SensorRows.All(c),
        // A clock that was wrong leaves readings in the future; they cannot be given an age.
        [.. SensorRows.Since(c, wall - Recent).Where(r => r.Reading.ArrivedAt <= wall)],
        AlarmRows.Open(c),
        AlarmRows.LastSequence(c));
}
