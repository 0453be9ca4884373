using System.Text.Json;
using Microsoft.Data.Sqlite;
using RootCellar.Storage;

namespace RootCellar.Watch;

/// <summary>Alarms in the record, each as it stands with its whole life so far.</summary>
internal static class AlarmRows
{
    public static void Save(SqliteConnection connection, Alarm alarm) => connection.Execute(
        """
        INSERT INTO alarm (id, state, place, raised_ms, body) VALUES ($id, $state, $place, $raised, $body)
        ON CONFLICT (id) DO UPDATE SET state = excluded.state, place = excluded.place, raised_ms = excluded.raised_ms, body = excluded.body
        """,
        ("$id", alarm.Id),
        ("$state", alarm.State.Slug()),
        ("$place", alarm.Place),
        ("$raised", alarm.RaisedAt.ToUnixTimeMilliseconds()),
        ("$body", JsonSerializer.Serialize(alarm, Json.Options)));

    public static IReadOnlyList<Alarm> Open(SqliteConnection connection) => connection.Query(
        "SELECT body FROM alarm WHERE state <> 'normal' ORDER BY raised_ms",
        Read);

    /// <summary>The newest first; <paramref name="state"/> as ISA-18.2 names it, or null for all.</summary>
    public static IReadOnlyList<Alarm> Latest(SqliteConnection connection, string? state, int count) => connection.Query(
        "SELECT body FROM alarm WHERE $state IS NULL OR state = $state ORDER BY raised_ms DESC, id LIMIT $count",
        Read,
        ("$state", state),
        ("$count", count));

    /// <summary>Those of a place that were raised before <paramref name="to"/> and not over before <paramref name="from"/>, oldest first; at most a thousand.</summary>
    public static IReadOnlyList<Alarm> OfPlace(SqliteConnection connection, string place, DateTimeOffset from, DateTimeOffset to) =>
    [
        .. connection.Query(
            "SELECT body FROM alarm WHERE place = $place AND raised_ms < $to ORDER BY raised_ms DESC LIMIT 1000", Read, ("$place", place), ("$to", to.ToUnixTimeMilliseconds()))
            .Where(a => a.Active || (a.ReturnedAt ?? a.RaisedAt) >= from)
            .Reverse(),
    ];

    /// <summary>Those that were open at some moment of [from, to), oldest first; of what is long over none older than half a year is looked for.</summary>
    public static IReadOnlyList<Alarm> Between(SqliteConnection connection, DateTimeOffset from, DateTimeOffset to) =>
    [
        .. connection.Query(
            "SELECT body FROM alarm WHERE raised_ms < $to AND (raised_ms >= $half OR state <> 'normal') ORDER BY raised_ms, id", Read,
            ("$to", to.ToUnixTimeMilliseconds()), ("$half", from.AddDays(-183).ToUnixTimeMilliseconds()))
            .Where(a => a.Active || (a.ReturnedAt ?? a.RaisedAt) >= from),
    ];

    public static long LastSequence(SqliteConnection connection) =>
        connection.Scalar("SELECT max(json_extract(body, '$.sequence')) FROM alarm") is long last ? last : 0;

    private static Alarm Read(SqliteDataReader row) => JsonSerializer.Deserialize<Alarm>(row.GetString(0), Json.Options)!;
}
