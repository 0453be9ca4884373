using System.Runtime.CompilerServices;
using Microsoft.Data.Sqlite;
using RootCellar.Storage;

namespace RootCellar.Lots;

/// <summary>
/// Kept states: a cache that start-up and replay begin from, never the truth. A row is named by what was folded up to then
/// (<see cref="LotPath.KeyAt"/>), so a correction of the book makes other names and leaves nothing false; only late readings
/// make rows false, and they are taken away with <see cref="RemoveAfter"/>.
/// </summary>
internal static class Snapshots
{
    /// <summary>Kept at every so many pieces: six hours.</summary>
    public const long Every = 6 * TimeStep.PerHour;

    /// <summary>Those of the last two days all stay, of the last sixteen one a day, and before that one in eight days.</summary>
    private const long Recent = 2 * TimeStep.PerDay;

    private const long Daily = 16 * TimeStep.PerDay;

    private const long Sparse = 8 * TimeStep.PerDay;

    /// <summary>Whether a state of <paramref name="cell"/> is worth its room when it is <paramref name="now"/>.</summary>
    public static bool Stays(long cell, long now) =>
        (cell % Every == 0 && cell > now - Recent) || (cell % TimeStep.PerDay == 0 && cell > now - Daily) || cell % Sparse == 0;

    // A lot's learning asks some hundred times in a row: read and planned once for as long as a connection is open, which then closes it as
    // well.
    private static readonly ConditionalWeakTable<SqliteConnection, SqliteCommand> Asking = [];

    /// <summary>The last state kept of a path.</summary>
    /// <param name="cells">When states are kept of a key (<see cref="CellsOf"/>).</param>
    public static Trajectory? Last(SqliteConnection connection, LotPath path, long upTo, Func<string, long[]> cells)
    {
        // From the last stay back: the state at the beginning of a stay does not depend on that stay yet.
        long end = upTo;
        for (int i = path.StayAt(upTo - 1); i >= 0; i--)
        {
            long from = i == 0 ? path.Dug : path.Stays[i].From;
            string key = path.KeyAt(from + 1);
            var there = cells(key);
            int at = Array.BinarySearch(there, end) is var found && found < 0 ? ~found - 1 : found;
            if (at >= 0 && there[at] > from && Body(connection, key, there[at]) is { } body
                && Trajectory.Read(path, there[at], body) is { } course)
                return course;
            end = from;
        }

        return null;
    }

    /// <summary>When states are kept of a key, in the order of time.</summary>
    public static long[] CellsOf(SqliteConnection connection, string key) =>
        [.. connection.Query("SELECT at_ms FROM lot_snapshot WHERE bin = $key ORDER BY at_ms", row => TimeStep.Of(row.GetInt64(0)),
            ("$key", key))];

    private static string? Body(SqliteConnection connection, string key, long cell)
    {
        var ask = Asking.GetValue(connection, static c =>
            c.Command("SELECT body FROM lot_snapshot WHERE bin = $key AND at_ms = $at", ("$key", ""), ("$at", 0L)));
        // A command belongs to the transaction its connection was in when it was made.
        ask.Transaction = connection.CreateCommand().Transaction;
        (ask.Parameters[0].Value, ask.Parameters[1].Value) = (key, cell * TimeStep.Milliseconds);
        return ask.ExecuteScalar() as string;
    }

    public static void Save(SqliteConnection connection, string key, long cell, string body) => connection.Execute(
        "INSERT OR REPLACE INTO lot_snapshot (bin, at_ms, body) VALUES ($key, $at, $body)", ("$key", key),
        ("$at", cell * TimeStep.Milliseconds), ("$body", body));

    /// <summary>Takes away every state that a reading of <paramref name="cell"/> has a part in; how many.</summary>
    public static int RemoveAfter(SqliteConnection connection, long cell) =>
        connection.Execute("DELETE FROM lot_snapshot WHERE at_ms > $at", ("$at", cell * TimeStep.Milliseconds));

    /// <summary>Thins old states: what neither <see cref="Stays"/> nor is in <paramref name="wanted"/>, goes; how many.</summary>
    public static int Thin(SqliteConnection connection, long now, IReadOnlySet<string> keys, IReadOnlySet<(string Key, long Cell)> wanted)
    {
        var all = connection.Query("SELECT bin, at_ms FROM lot_snapshot", row => (Key: row.GetString(0), AtMs: row.GetInt64(1)));
        int gone = 0;
        foreach (var (key, atMs) in all)
        {
            long cell = TimeStep.Of(atMs);
            if (keys.Contains(key) && (Stays(cell, now) || wanted.Contains((key, cell)))) continue;
            // A way no bin takes any more may be taken again within a day: a correction of a correction.
            if (!keys.Contains(key) && cell > now - TimeStep.PerDay) continue;
            gone += connection.Execute("DELETE FROM lot_snapshot WHERE bin = $key AND at_ms = $at", ("$key", key), ("$at", atMs));
        }

        return gone;
    }
}

/// <summary>Rows of air that came for a time already folded. SQLite itself notes them, whoever wrote them.</summary>
internal static class LateAir
{
    private const string Key = "lots_through_ms";

    /// <summary>The earliest piece with late air, and the last of those notes; null where there is none.</summary>
    public static (long Cell, long LastNote)? Earliest(SqliteConnection connection) => connection.Query(
        "SELECT min(at_ms), max(id) FROM air_late HAVING count(*) > 0",
        row => (TimeStep.Of(row.GetInt64(0)), row.GetInt64(1))) is [var found] ? found : null;

    /// <summary>The notes up to one have been dealt with.</summary>
    public static void Done(SqliteConnection connection, long lastNote) =>
        connection.Execute("DELETE FROM air_late WHERE id <= $id", ("$id", lastNote));

    /// <summary>The piece up to which air was folded; null before the first time.</summary>
    public static long? Through(SqliteConnection connection) =>
        long.TryParse(Meta.Get(connection, Key), System.Globalization.CultureInfo.InvariantCulture, out long ms) ? TimeStep.Of(ms) : null;

    /// <summary>From now on air before the beginning of <paramref name="cell"/> is late.</summary>
    public static void FoldedTo(SqliteConnection connection, long cell) =>
        Meta.Set(connection, Key, (cell * TimeStep.Milliseconds).ToString(System.Globalization.CultureInfo.InvariantCulture));
}
