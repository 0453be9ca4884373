using System.Text.Json;
using Microsoft.Data.Sqlite;
using RootCellar.Storage;

namespace RootCellar.Watch;

/// <summary>Alarms in the record, each as it stands, and every raising of theirs (an occurrence) as it was.</summary>
internal static class AlarmRows
{
    private const int MostOccurrences = 100;

    /// <summary>The alarm and its present occurrence, in the transaction of the caller.</summary>
    public static void Save(SqliteConnection connection, Alarm alarm)
    {
        var body = JsonSerializer.Serialize(alarm, JsonRules.Options);
        connection.Execute(
            """
            INSERT INTO alarm (id, state, place, raised_ms, body) VALUES ($id, $state, $place, $raised, $body)
            ON CONFLICT (id) DO UPDATE SET state = excluded.state, place = excluded.place, raised_ms = excluded.raised_ms, body = excluded.body
            """,
            ("$id", alarm.Id),
            ("$state", alarm.State.Slug()),
            ("$place", alarm.Place),
            ("$raised", alarm.RaisedAt.ToUnixTimeMilliseconds()),
            ("$body", body));
        connection.Execute(
            """
            INSERT INTO alarm_occurrence (alarm, number, place, raised_ms, returned_ms, body) VALUES ($id, $number, $place, $raised, $returned, $body)
            ON CONFLICT (alarm, number) DO UPDATE SET raised_ms = excluded.raised_ms, returned_ms = excluded.returned_ms, body = excluded.body
            """,
            Occurrence(alarm.Count, alarm, body));
    }

    /// <summary>Raisings that have a moment in [from, to], each with its number; of what is over by then none older than half a year.</summary>
    public static IReadOnlyList<(long Number, Alarm Alarm)> Stamped(SqliteConnection connection, DateTimeOffset from, DateTimeOffset to) =>
        connection.Query(
            """
            SELECT body, number FROM alarm_occurrence WHERE raised_ms BETWEEN $from AND $to
            UNION ALL SELECT body, number FROM alarm_occurrence WHERE raised_ms BETWEEN $half AND $from - 1
                AND (returned_ms IS NULL OR returned_ms >= $from OR alarm IN (SELECT id FROM alarm WHERE state <> 'normal'
                    OR json_extract(body, '$.acknowledgedAt') IS NOT NULL))
            """,
            row => (row.GetInt64(1), Read(row)),
            ("$from", from.ToUnixTimeMilliseconds()), ("$to", to.ToUnixTimeMilliseconds()),
            ("$half", from.AddDays(-183).ToUnixTimeMilliseconds()));

    /// <summary>One raising as it is now known to have been; of the present one also how the alarm stands.</summary>
    public static void Replace(SqliteConnection connection, long number, Alarm alarm)
    {
        var body = JsonSerializer.Serialize(alarm, JsonRules.Options);
        var row = Occurrence(number, alarm, body);
        connection.Execute(
            "INSERT OR REPLACE INTO alarm_occurrence (alarm, number, place, raised_ms, returned_ms, body) VALUES ($id, $number, $place, $raised, $returned, $body)", row);
        connection.Execute("UPDATE alarm SET raised_ms = $raised, body = $body WHERE id = $id AND json_extract(body, '$.count') = $number", row);
    }

    private static (string, object?)[] Occurrence(long number, Alarm alarm, string body) =>
    [
        ("$id", alarm.Id), ("$number", number), ("$place", alarm.Place), ("$raised", alarm.RaisedAt.ToUnixTimeMilliseconds()),
        ("$returned", alarm.Active ? null : (alarm.ReturnedAt ?? alarm.RaisedAt).ToUnixTimeMilliseconds()), ("$body", body),
    ];

    public static IReadOnlyList<Alarm> Open(SqliteConnection connection) => connection.Query(
        "SELECT body FROM alarm WHERE state <> 'normal' ORDER BY raised_ms",
        Read);

    /// <summary>The newest first; <paramref name="state"/> as ISA-18.2 names it, or null for all.</summary>
    public static IReadOnlyList<Alarm> Latest(SqliteConnection connection, string? state, int count) => connection.Query(
        "SELECT body FROM alarm WHERE $state IS NULL OR state = $state ORDER BY raised_ms DESC, id LIMIT $count",
        Read,
        ("$state", state),
        ("$count", count));

    /// <summary>
    /// Occurrences that are over, the newest first: of alarms that are normal again, and those before the present one of an open alarm.
    /// </summary>
    public static IReadOnlyList<Alarm> Past(SqliteConnection connection, int count) =>
    [
        .. connection.Query(
            """
            SELECT o.body FROM alarm_occurrence o JOIN alarm a ON a.id = o.alarm
            WHERE a.state = 'normal' OR o.number < json_extract(a.body, '$.count') ORDER BY o.raised_ms DESC, o.alarm LIMIT $count
            """,
            Read,
            ("$count", count))
            // One that was raised again before anybody saw it waits for nobody any more: its successor does.
            .Select(a => a with { State = AlarmState.Normal }),
    ];

    /// <summary>The occurrences of these alarms, of each the last hundred, oldest first.</summary>
    public static ILookup<string, Alarm> Of(SqliteConnection connection, IEnumerable<string> alarms) => connection.Query(
        $"""
        SELECT o.body FROM json_each($alarms) j JOIN alarm_occurrence o ON o.alarm = j.value
        WHERE o.number > (SELECT max(number) FROM alarm_occurrence WHERE alarm = j.value) - {MostOccurrences} ORDER BY o.alarm, o.number
        """,
        Read,
        ("$alarms", JsonSerializer.Serialize(alarms))).ToLookup(a => a.Id, StringComparer.Ordinal);

    /// <summary>
    /// Occurrences of a place that were raised before <paramref name="to"/> and not over before <paramref name="from"/>, oldest first; at
    /// most a thousand.
    /// </summary>
    public static IReadOnlyList<Alarm> OfPlace(SqliteConnection connection, string place, DateTimeOffset from, DateTimeOffset to) =>
    [
        .. connection.Query(
            "SELECT body FROM alarm_occurrence WHERE place = $place AND raised_ms < $to ORDER BY raised_ms DESC LIMIT 1000", Read,
            ("$place", place), ("$to", to.ToUnixTimeMilliseconds()))
            .Where(a => a.Active || (a.ReturnedAt ?? a.RaisedAt) >= from)
            .Reverse(),
    ];

    /// <summary>
    /// Occurrences that held at some moment of [from, to), oldest first; of what is long over none older than half a year is looked for.
    /// </summary>
    public static IReadOnlyList<Alarm> Between(SqliteConnection connection, DateTimeOffset from, DateTimeOffset to) =>
    [
        .. connection.Query(
            "SELECT body FROM alarm_occurrence WHERE raised_ms < $to AND (raised_ms >= $half OR returned_ms IS NULL) ORDER BY raised_ms, alarm, number", Read,
            ("$to", to.ToUnixTimeMilliseconds()), ("$half", from.AddDays(-183).ToUnixTimeMilliseconds()))
            .Where(a => a.Active || (a.ReturnedAt ?? a.RaisedAt) >= from),
    ];

    public static long LastSequence(SqliteConnection connection) =>
        connection.Scalar("SELECT max(json_extract(body, '$.sequence')) FROM alarm") is long last ? last : 0;

    private static Alarm Read(SqliteDataReader row) => JsonSerializer.Deserialize<Alarm>(row.GetString(0), JsonRules.Options)!;
}
