using Microsoft.Data.Sqlite;
using RootCellar.Ledger;
using RootCellar.Places;
using RootCellar.Readings;
using RootCellar.Storage;

namespace RootCellar.Mirror;

/// <summary>Reads stretches of the record as points; row by row, for three years of readings are more than a Pi has memory for.</summary>
internal static class MirrorReader
{
    public static List<string> Lines(SqliteConnection c, Claim claim)
    {
        var lines = new List<string>();
        if (claim.LogTo > 0)
        {
            lines.AddRange(c.Query(
                "SELECT kind, at_ms, body FROM mirror_log WHERE id <= $to ORDER BY id",
                row => row.GetString(0) == "line" ? row.GetString(2) : Points.Alarm(row.GetString(2), row.GetInt64(1)),
                ("$to", claim.LogTo)));
        }

        if (claim.LedgerTo > claim.LedgerAfter)
            lines.AddRange(LedgerRows.After(c, claim.LedgerAfter).TakeWhile(r => r.Entry.Id <= claim.LedgerTo)
                .Select(r => Points.Entry(r.Entry)));
        foreach (var a in claim.Air) lines.AddRange(Air(c, a.Place, a.After + 1, a.To + 1));
        foreach (var r in claim.Readings) lines.AddRange(Readings(c, r.Sensor, (Quantity)r.Quantity, r.After + 1, r.To + 1));
        return lines;
    }

    /// <summary>The raw readings of one series, [from, to), ms.</summary>
    public static IEnumerable<string> Readings(SqliteConnection c, int sensor, Quantity quantity, long from, long to)
    {
        if (c.Scalar("SELECT key FROM sensor WHERE id = $id", ("$id", sensor)) is not string key) yield break;
        using var command = c.Command(
            """
            SELECT at_ms, seq, value, quality FROM reading
            WHERE sensor = $sensor AND quantity = $quantity AND at_ms >= $from AND at_ms < $to ORDER BY at_ms, seq
            """,
            ("$sensor", sensor),
            ("$quantity", (int)quantity),
            ("$from", from),
            ("$to", to));
        using var row = command.ExecuteReader();
        while (row.Read())
        {
            if (Points.Reading(key, quantity, row.GetInt64(0), row.GetInt64(1), row.DoubleOrNull(2), (Quality)row.GetInt32(3)) is { } line)
                yield return line;
        }
    }

    public static IEnumerable<string> Summaries(SqliteConnection c, long from, long to)
    {
        using var command = c.Command(
            "SELECT s.key, r.quantity, r.at_ms, r.low, r.mean, r.high, r.count FROM sensor s JOIN rollup r ON r.sensor = s.id WHERE r.at_ms >= $from AND r.at_ms < $to",
            ("$from", from),
            ("$to", to));
        using var row = command.ExecuteReader();
        while (row.Read())
            yield return Points.Summary(row.GetString(0), (Quantity)row.GetInt32(1), row.GetInt64(2), row.GetDouble(3), row.GetDouble(4),
                row.GetDouble(5), row.GetInt64(6));
    }

    /// <summary>The kept air of one place, [from, to), ms.</summary>
    public static IEnumerable<string> Air(SqliteConnection c, string place, long from, long to)
    {
        using var command = c.Command(
            """
            SELECT at_ms, temperature_c, humidity_pct, dew_point_c, deficit_pa, pulp_c, coldest_pulp_c, light_lx, co2_ppm, quality
            FROM air WHERE place = $place AND at_ms >= $from AND at_ms < $to ORDER BY at_ms
            """,
            ("$place", place),
            ("$from", from),
            ("$to", to));
        using var row = command.ExecuteReader();
        while (row.Read())
        {
            yield return Points.Air(new PlaceAir(
                place, row.Time(0), row.DoubleOrNull(1), row.DoubleOrNull(2), row.DoubleOrNull(3), row.DoubleOrNull(4), row.DoubleOrNull(5),
                row.DoubleOrNull(6), row.DoubleOrNull(7),
                row.DoubleOrNull(8), (AirQuality)row.GetInt32(9)));
        }
    }
}
