using System.Collections.Concurrent;
using System.Diagnostics;
using Microsoft.Data.Sqlite;

namespace RootCellar.SystemTests.Faults.PowerCut;

/// <summary>What the service promised, to whom and when; looked for in what a power cut left.</summary>
internal sealed class Promises(TimeSpan bound)
{
    private readonly ConcurrentQueue<(long At, string What, string Label)> all = new();

    /// <summary>CLOCK_MONOTONIC in nanoseconds, as the recorder's.</summary>
    public static long Now => (long)(Stopwatch.GetTimestamp() * (1e9 / Stopwatch.Frequency));

    public IEnumerable<long> At(string what) => all.Where(p => p.What == what).Select(p => p.At);

    /// <param name="what">entry, reading, raised, seen, sensor or told.</param>
    public void Note(string what, string label, long? at = null) => all.Enqueue((at ?? Now, what, label));

    /// <summary>What was promised before <paramref name="cut"/> and is not in the record.</summary>
    public List<string> Missing(SqliteConnection record, long cut)
    {
        var entries = Column(record, "SELECT CAST(id AS TEXT) FROM ledger");
        var readings = Column(record, "SELECT CAST(CAST(value AS INTEGER) AS TEXT) FROM reading WHERE quantity = 7");
        var places = Column(record, "SELECT place FROM alarm");
        var seen = Column(record, "SELECT place FROM alarm WHERE json_extract(body, '$.acknowledgedBy') IS NOT NULL");
        var names = Column(record, "SELECT name FROM sensor WHERE name IS NOT NULL");
        var underway = Column(record, "SELECT id FROM outbox WHERE state IN ('Sending', 'Sent')");
        var due = all.Where(p => p.At <= cut).ToList();
        // Of what is set again and again only the last stands.
        var lastName = due.Where(p => p.What == "sensor").Select(p => int.Parse(p.Label)).DefaultIfEmpty(-1).Max();
        return
        [
            .. due.Where(p => p.What switch
            {
                "entry" => !entries.Contains(p.Label),
                "reading" => p.At <= cut - (long)bound.TotalNanoseconds && !readings.Contains(p.Label),
                "raised" => !places.Contains(p.Label),
                "seen" => !seen.Contains(p.Label),
                "told" => !underway.Contains(p.Label),
                _ => false,
            }).Select(p => $"{p.What} {p.Label}, promised {(cut - p.At) / 1e9:0.000} s before the cut"),
            .. lastName >= 0 && !names.Any(n => int.Parse(n) >= lastName) ? [$"sensor {lastName}"] : Array.Empty<string>(),
        ];
    }

    /// <summary>How many acknowledged readings the power cut took: only younger than the bound.</summary>
    public int Lost(SqliteConnection record, long cut)
    {
        var readings = Column(record, "SELECT CAST(CAST(value AS INTEGER) AS TEXT) FROM reading WHERE quantity = 7");
        return all.Count(p => p.What == "reading" && p.At <= cut && !readings.Contains(p.Label));
    }

    private static HashSet<string> Column(SqliteConnection record, string sql)
    {
        using var command = record.CreateCommand();
#pragma warning disable CA2100 // The tests' own text.
        command.CommandText = sql;
#pragma warning restore CA2100
        using var reader = command.ExecuteReader();
        var values = new HashSet<string>(StringComparer.Ordinal);
        while (reader.Read()) values.Add(reader.GetString(0));
        return values;
    }
}
