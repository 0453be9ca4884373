using Microsoft.Data.Sqlite;
using RootCellar.Storage;

namespace RootCellar.Mirror;

/// <summary>A stretch of a series that is on its way: later than <see cref="After"/>, up to and with <see cref="To"/>, ms.</summary>
internal readonly record struct ReadingSpan(int Sensor, int Quantity, long After, long To);

internal readonly record struct AirSpan(string Place, long After, long To);

/// <summary>What goes out together. Ids: later than the first, up to and with the second.</summary>
internal sealed record Claim(IReadOnlyList<ReadingSpan> Readings, IReadOnlyList<AirSpan> Air, long LedgerAfter, long LedgerTo, long LogTo)
{
    public bool IsEmpty => Readings.Count == 0 && Air.Count == 0 && LedgerTo == LedgerAfter && LogTo == 0;
}

/// <summary>Counts that stay over a restart.</summary>
internal sealed record MirrorCounts(long Sent, long Dropped, long Aside, DateTimeOffset? Since);

/// <summary>
/// How far the mirror is, in the record. What is to be sent is found by asking the record itself for what lies beyond a mark, so
/// taking a reading in costs nothing more however long the other server is away. See docs/decisions/mirror.md.
/// </summary>
internal static class MirrorRows
{
    public const string TargetKey = "mirror_target";
    public const string StateKey = "mirror_state";

    /// <summary>Changes of alarms and estimates that wait: about a month of a house with seventy bins and lots.</summary>
    public const int MostLogged = 50_000;

    private const int MostAside = 1_000;
    private const int MostCounted = 1_000_000;

    private const string NewSeries =
        """
        SELECT s.id, q.value FROM sensor s JOIN json_each('[1,2,3,4,5,6,7,8,9,10]') q
        WHERE NOT EXISTS (SELECT 1 FROM mirror_reading m WHERE m.sensor = s.id AND m.quantity = q.value)
          AND EXISTS (SELECT 1 FROM reading r WHERE r.sensor = s.id AND r.quantity = q.value)
        """;

    /// <summary>
    /// Makes marks for a server that was not written to before: what comes from now on goes there, and what was before by the backfill.
    /// False when it is the one of the last run.
    /// </summary>
    public static bool SwitchOn(SqliteConnection c, string target, DateTimeOffset now)
    {
        if (Meta.Get(c, TargetKey) == target) return false;
        c.Execute("DELETE FROM mirror_reading; DELETE FROM mirror_air; DELETE FROM mirror_log; DELETE FROM mirror_aside; DELETE FROM mirror_number;");
        Meta.Set(c, TargetKey, target);
        Meta.Remove(c, StateKey);
        AddSeries(c, c.Query(NewSeries, row => (row.GetInt32(0), row.GetInt32(1))), fromNow: true, now);
        c.Execute(
            """
            INSERT INTO mirror_air (place, at_ms, reach_ms)
            SELECT id, coalesce((SELECT max(at_ms) FROM air WHERE place = id AND at_ms <= $now), -1), coalesce((SELECT max(at_ms) FROM air WHERE place = id AND at_ms <= $now), -1) FROM place
            """,
            ("$now", now.ToUnixTimeMilliseconds()));
        SetNumber(c, "ledger_id", c.Scalar("SELECT max(id) FROM ledger") is long last ? last : 0);
        SetNumber(c, "since_ms", now.ToUnixTimeMilliseconds());
        return true;
    }

    /// <summary>Series the record has and the mirror has no mark for yet.</summary>
    public static IReadOnlyList<(int Sensor, int Quantity)> SeriesToAdd(SqliteConnection c) =>
        c.Query(NewSeries, row => (row.GetInt32(0), row.GetInt32(1)));

    /// <summary>
    /// Takes the next points, at most about <paramref name="most"/>, and notes how far that reaches. Those of the future wait for their
    /// time.
    /// </summary>
    public static Claim Take(SqliteConnection c, IReadOnlyList<(int Sensor, int Quantity)> fresh, DateTimeOffset now, int most)
    {
        AddSeries(c, fresh, fromNow: false, now);
        c.Execute("INSERT OR IGNORE INTO mirror_air (place, at_ms, reach_ms) SELECT id, -1, -1 FROM place");
        var over = c.Execute("DELETE FROM mirror_log WHERE id <= (SELECT max(id) FROM mirror_log) - $most", ("$most", MostLogged));
        if (over > 0) AddTo(c, "dropped", over);

        long left = most;
        var (logged, logTo) =
            Stretch(c, "SELECT count(*), max(id) FROM (SELECT id FROM mirror_log ORDER BY id LIMIT $left)", ("$left", left));
        left -= logged;
        var ledgerAfter = Number(c, "ledger_id");
        var (entries, ledgerTo) =
            Stretch(c, "SELECT count(*), max(id) FROM (SELECT id FROM ledger WHERE id > $after ORDER BY id LIMIT $left)",
                ("$after", ledgerAfter), ("$left", left));
        left -= entries;

        var air = new List<AirSpan>();
        foreach (var (place, after) in c.Query("SELECT place, at_ms FROM mirror_air ORDER BY at_ms", row =>
            (row.GetString(0), row.GetInt64(1))))
        {
            if (left <= 0) break;
            var (count, to) = Stretch(
                c,
                "SELECT count(*), max(at_ms) FROM (SELECT at_ms FROM air WHERE place = $place AND at_ms > $after AND at_ms <= $now ORDER BY at_ms LIMIT $left)",
                ("$place", place),
                ("$after", after),
                ("$now", now.ToUnixTimeMilliseconds()),
                ("$left", left));
            if (count == 0) continue;
            left -= count;
            air.Add(new AirSpan(place, after, to));
            c.Execute("UPDATE mirror_air SET reach_ms = $to WHERE place = $place", ("$place", place), ("$to", to));
        }

        var readings = new List<ReadingSpan>();
        foreach (var (sensor, quantity, after) in c.Query(
            "SELECT sensor, quantity, at_ms FROM mirror_reading ORDER BY at_ms",
            row => (row.GetInt32(0), row.GetInt32(1), row.GetInt64(2))))
        {
            if (left <= 0) break;
            var (count, to) = Stretch(
                c,
                """
                SELECT count(*), max(at_ms) FROM
                (SELECT at_ms FROM reading WHERE sensor = $sensor AND quantity = $quantity AND at_ms > $after AND at_ms <= $now ORDER BY at_ms LIMIT $left)
                """,
                ("$sensor", sensor),
                ("$quantity", quantity),
                ("$after", after),
                ("$now", now.ToUnixTimeMilliseconds()),
                ("$left", left));
            if (count == 0) continue;
            left -= count;
            readings.Add(new ReadingSpan(sensor, quantity, after, to));
            c.Execute("UPDATE mirror_reading SET reach_ms = $to WHERE sensor = $sensor AND quantity = $quantity", ("$sensor", sensor),
                ("$quantity", quantity), ("$to", to));
        }

        return new Claim(readings, air, ledgerAfter, entries == 0 ? ledgerAfter : ledgerTo, logged == 0 ? 0 : logTo);
    }

    /// <summary>
    /// The other server has it. What came in between for a time within it has moved the reach back, and is sent with the next.
    /// </summary>
    public static void Confirm(SqliteConnection c, Claim claim, long sent, IReadOnlyList<(string Point, string Why)> aside,
        DateTimeOffset now)
    {
        foreach (var r in claim.Readings)
            c.Execute("UPDATE mirror_reading SET at_ms = reach_ms WHERE sensor = $s AND quantity = $q", ("$s", r.Sensor),
                ("$q", r.Quantity));
        foreach (var a in claim.Air) c.Execute("UPDATE mirror_air SET at_ms = reach_ms WHERE place = $place", ("$place", a.Place));
        if (claim.LedgerTo > claim.LedgerAfter) SetNumber(c, "ledger_id", claim.LedgerTo);
        if (claim.LogTo > 0) c.Execute("DELETE FROM mirror_log WHERE id <= $id", ("$id", claim.LogTo));
        AddTo(c, "sent", sent);
        if (aside.Count == 0) return;
        AddTo(c, "aside", aside.Count);
        foreach (var (point, why) in aside)
            c.Execute("INSERT INTO mirror_aside (at_ms, point, why) VALUES ($at, $point, $why)", ("$at", now.ToUnixTimeMilliseconds()),
                ("$point", point), ("$why", why));
        c.Execute("DELETE FROM mirror_aside WHERE id <= (SELECT max(id) FROM mirror_aside) - $most", ("$most", MostAside));
    }

    public static void Log(SqliteConnection c, IEnumerable<string> lines, DateTimeOffset at)
    {
        foreach (var line in lines)
            c.Execute("INSERT INTO mirror_log (kind, at_ms, body) VALUES ('line', $at, $body)", ("$at", at.ToUnixTimeMilliseconds()),
                ("$body", line));
    }

    /// <summary>Points that wait; a million and more count as a million.</summary>
    public static long Behind(SqliteConnection c, DateTimeOffset now)
    {
        long ms = now.ToUnixTimeMilliseconds();
        var behind = (long)c.Scalar(
            "SELECT (SELECT count(*) FROM mirror_log) + (SELECT count(*) FROM ledger WHERE id > $ledger)",
            ("$ledger", Number(c, "ledger_id")))!;
        behind += (long)c.Scalar(
            """
            SELECT count(*) FROM (SELECT 1 FROM place p LEFT JOIN mirror_air m ON m.place = p.id
            CROSS JOIN air a ON a.place = p.id AND a.at_ms > coalesce(m.at_ms, -1) AND a.at_ms <= $now LIMIT $most)
            """,
            ("$now", ms),
            ("$most", MostCounted))!;
        behind += (long)c.Scalar(
            """
            SELECT count(*) FROM (SELECT 1 FROM mirror_reading m
            CROSS JOIN reading r ON r.sensor = m.sensor AND r.quantity = m.quantity AND r.at_ms > m.at_ms AND r.at_ms <= $now LIMIT $most)
            """,
            ("$now", ms),
            ("$most", MostCounted))!;
        foreach (var (sensor, quantity) in SeriesToAdd(c))
            behind += (long)c.Scalar("SELECT count(*) FROM reading WHERE sensor = $s AND quantity = $q AND at_ms <= $now", ("$s", sensor),
                ("$q", quantity), ("$now", ms))!;
        return Math.Min(behind, MostCounted);
    }

    public static MirrorCounts Counts(SqliteConnection c) => new(
        Number(c, "sent"),
        Number(c, "dropped") + (long)c.Scalar(
            "SELECT coalesce((SELECT sum(dropped) FROM mirror_reading), 0) + coalesce((SELECT sum(dropped) FROM mirror_air), 0)")!,
        Number(c, "aside"),
        Number(c, "since_ms") is > 0 and var since ? DateTimeOffset.FromUnixTimeMilliseconds(since) : null);

    private static void AddSeries(SqliteConnection c, IReadOnlyList<(int Sensor, int Quantity)> fresh, bool fromNow, DateTimeOffset now)
    {
        foreach (var (sensor, quantity) in fresh)
        {
            var mark = fromNow && c.Scalar(
                "SELECT max(at_ms) FROM reading WHERE sensor = $s AND quantity = $q AND at_ms <= $now", ("$s", sensor), ("$q", quantity),
                ("$now", now.ToUnixTimeMilliseconds())) is long last ? last : -1;
            c.Execute("INSERT OR IGNORE INTO mirror_reading (sensor, quantity, at_ms, reach_ms) VALUES ($s, $q, $at, $at)", ("$s", sensor),
                ("$q", quantity), ("$at", mark));
        }
    }

    private static (long Count, long To) Stretch(SqliteConnection c, string sql, params ReadOnlySpan<(string, object?)> parameters)
    {
        using var command = c.Command(sql, parameters);
        using var row = command.ExecuteReader();
        row.Read();
        return row.GetInt64(0) is > 0 and var count ? (count, row.GetInt64(1)) : (0, 0);
    }

    private static long Number(SqliteConnection c, string name) =>
        c.Scalar("SELECT value FROM mirror_number WHERE name = $name", ("$name", name)) is long value ? value : 0;

    private static void SetNumber(SqliteConnection c, string name, long value) =>
        c.Execute("INSERT INTO mirror_number (name, value) VALUES ($name, $value) ON CONFLICT (name) DO UPDATE SET value = excluded.value",
            ("$name", name), ("$value", value));

    private static void AddTo(SqliteConnection c, string name, long more) =>
        c.Execute("INSERT INTO mirror_number (name, value) VALUES ($name, $value) ON CONFLICT (name) DO UPDATE SET value = value + excluded.value", ("$name", name), ("$value", more));
}
