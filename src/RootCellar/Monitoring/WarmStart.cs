using System.Text.Json;
using Microsoft.Data.Sqlite;
using RootCellar.Places;
using RootCellar.Readings;
using RootCellar.Storage;
using RootCellar.Tell;
using RootCellar.Watch;

namespace RootCellar.Monitoring;

/// <summary>What the record knows at a start.</summary>
internal sealed record Known(
    IReadOnlyList<Place> Places,
    KnownSensors Sensors,
    IReadOnlyList<Alarm> Alarms,
    long LastAlarm,
    bool SetUpFinished);

/// <summary>Sensors at a start.</summary>
/// <param name="Rows">Those that are taken up.</param>
/// <param name="Next">The number of the next new one.</param>
/// <param name="Forgotten">Numbers, by name, of those that were forgotten and whose readings stay.</param>
/// <param name="SilentFor">By number, how long one that never was placed had been silent when the service ended.</param>
internal sealed record KnownSensors(
    IReadOnlyList<SensorRow> Rows,
    int Next,
    IReadOnlyDictionary<string, int> Forgotten,
    IReadOnlyDictionary<int, TimeSpan> SilentFor)
{
    /// <summary>What each replaced, by the number of the one that did.</summary>
    public IReadOnlyDictionary<int, Replacement> Replacements { get; init; } = new Dictionary<int, Replacement>();
}

/// <summary>Reads the record at a start.</summary>
internal static class WarmStart
{
    /// <summary>Older readings say nothing about now.</summary>
    private static readonly TimeSpan Recent = TimeSpan.FromHours(2);

    // Of each quantity of a sensor: what a sensor that speaks twice a minute says in two hours.
    private const int MostOfASeries = 256;

    /// <param name="mostSensors">The most sensors that are taken up; those that were placed are, however many they are.</param>
    public static Known Load(Store store, DateTimeOffset wall, int mostSensors, ILogger log)
    {
        var copy = store.StartProblem is null ? null : SetUpCopy.Read(store.Folder);
        return new Known(
            copy?.Places ?? Try("places", PlaceRows.All, SetUpCopy.Read(store.Folder)?.Places ?? []),
            copy is null
                ? Try(
                    "sensors",
                    c => Sensors(c, mostSensors),
                    Copied(SetUpCopy.Read(store.Folder)?.Sensors ?? []))
                : Copied(copy.Sensors),
            Try("alarms", AlarmRows.Open, []),
            // Without the record's last number, one that it cannot have reached.
            Try("alarm numbers", AlarmRows.LastSequence, wall.ToUnixTimeSeconds()),
            // Where it cannot be known, nobody comes in by himself.
            store.StartProblem is null ? Try("set-up", c => Meta.Get(c, Meta.SetUpFinished) is not null, true) : copy?.Door?.SetUpFinished
                ?? true);

        T Try<T>(string what, Func<SqliteConnection, T> read, T without) => WarmStart.Try(store, what, read, without, log);
    }

    /// <summary>
    /// Hands on the readings of the last two hours, oldest first, one by one: after a flood they are more than fit into memory.
    /// </summary>
    public static void Replay(Store store, DateTimeOffset wall, ILogger log, Action<StoredReading> take) => Try(
        store,
        "readings",
        c =>
        {
            foreach (var reading in SensorRows.Since(c, wall - Recent, MostOfASeries))
            {
                // A clock that was wrong leaves readings in the future; they cannot be given an age.
                if (reading.Reading.ArrivedAt <= wall) take(reading);
            }

            return true;
        },
        false,
        log);

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
            c => PlaceRows.All(c), c => SensorRows.All(c),
            c => GC.KeepAlive(SensorRows.Since(c, wall - Recent, MostOfASeries).LastOrDefault()),
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

    private static T Try<T>(Store store, string what, Func<SqliteConnection, T> read, T without, ILogger log)
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

    private static KnownSensors Sensors(SqliteConnection connection, int most) => new(
        SensorRows.All(connection, most), SensorLeaving.NextNumber(connection), SensorLeaving.Forgotten(connection),
        SensorLeaving.SilentFor(connection))
    {
        Replacements = ReplacementRows.All(connection),
    };

    private static KnownSensors Copied(IReadOnlyList<SensorRow> rows) => new(
        rows, rows.Count == 0 ? 1 : rows.Max(r => r.Id) + 1, new Dictionary<string, int>(StringComparer.Ordinal), new Dictionary<int,
        TimeSpan>());
}
