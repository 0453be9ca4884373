using Microsoft.Data.Sqlite;
using RootCellar.Storage;

namespace RootCellar.Readings;

/// <summary>Late readings of one sensor that have made no air yet: of which time they speak (UTC), and how many there are.</summary>
internal sealed record LateNote(int Sensor, DateTimeOffset From, DateTimeOffset To, long Readings);

/// <summary>
/// Readings that arrived more than five minutes after their device's own time. The file notes them itself (migration 0009), whoever wrote
/// them; a note stands until the air of those hours has been made.
/// </summary>
internal static class LateNotes
{
    /// <summary>Those of sensors that have a place; the others keep theirs until they are let in.</summary>
    public static IReadOnlyList<LateNote> Due(SqliteConnection connection) => connection.Query(
        """
        SELECT sensor, from_ms, to_ms, readings FROM reading_late l
        WHERE EXISTS (SELECT 1 FROM sensor_stay s WHERE s.sensor = l.sensor AND s.place IS NOT NULL)
        ORDER BY sensor
        """,
        row => new LateNote(row.GetInt32(0), row.Time(1), row.Time(2), row.GetInt64(3)));

    /// <summary>Strikes a note off, unless more came meanwhile: then all of it is done once more.</summary>
    public static void Done(SqliteConnection connection, LateNote note) => connection.Execute(
        "DELETE FROM reading_late WHERE sensor = $sensor AND readings = $readings", ("$sensor", note.Sensor), ("$readings", note.Readings));
}
