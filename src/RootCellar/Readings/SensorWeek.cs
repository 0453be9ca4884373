using Microsoft.Data.Sqlite;
using RootCellar.Storage;

namespace RootCellar.Readings;

internal enum SensorNeeds
{
    /// <summary>Nothing comes from it.</summary>
    Silent,

    /// <summary>It says the same number over and over.</summary>
    Stuck,

    /// <summary>It has read damp to the top for days, and something else says that the air is not: a wet sensor.</summary>
    Saturated,

    /// <summary>Its battery is low.</summary>
    Battery,

    /// <summary>It goes apart from its neighbours.</summary>
    Drifting,

    /// <summary>Much of what it says is not believed.</summary>
    Doubted,
}

/// <summary>A sensor that needs a hand.</summary>
/// <param name="Since">When it last spoke, or since when.</param>
/// <param name="Value">Battery in its own unit, or how far it has gone from its neighbours, or the number it is stuck on.</param>
internal sealed record SensorTrouble(string Sensor, string? Name, string? Place, SensorNeeds Needs, Quantity? Quantity, double? Value,
    DateTimeOffset? Since)
{
    /// <summary>As people call it: its name, or its topic where it has none.</summary>
    public string Called => Name ?? Sensor;
}

/// <summary>Which sensors need a hand, from what they said (raw, or as summaries where raw readings are gone).</summary>
internal static class SensorWeek
{
    /// <summary>Silent from here on, at the least; three of its own intervals otherwise (common practice).</summary>
    private static readonly TimeSpan SilentAtLeast = TimeSpan.FromHours(1);

    private static readonly TimeSpan StuckFor = TimeSpan.FromHours(48);

    /// <summary>
    /// Two days are two days if the first reading of them is no later than this (assumed): one that spoke up today has not stood still
    /// since the day before.
    /// </summary>
    private static readonly TimeSpan Slack = TimeSpan.FromHours(4);

    /// <summary>A number two days old that nothing has moved is no measuring; in so many readings (assumed).</summary>
    private const int StuckReadings = 24;

    /// <summary>Battery, percent of full (assumed).</summary>
    public const double LowPercent = 20;

    /// <summary>
    /// Two cells of 1.5 V in a row are nearly empty at 1.2 V each; one lithium cell of 4.2 V is at 3.5 V (common practice).
    /// </summary>
    private const double LowTwoCells = 2.4, LowLithium = 3.5, FullLithium = 3.6;

    /// <summary>
    /// Apart from its neighbours by this much more than three weeks before (assumed: twice what a good cheap sensor drifts in a year).
    /// </summary>
    private const double DriftC = 0.5, DriftPercent = 3;

    private const double DoubtedShare = 0.1;

    /// <summary>Share of two days' readings at the top that makes a sensor one to see to (assumed).</summary>
    private const double SaturatedShare = 0.9;

    /// <summary>
    /// Air that swings so far within two days does not stay saturated at both ends (assumed; near 5 C, 4 C warmer air holds a third more).
    /// </summary>
    private const double SwingC = 4;

    public static IReadOnlyList<SensorTrouble> Of(SqliteConnection connection, DateTimeOffset from, DateTimeOffset until)
    {
        var sensors = SensorRows.All(connection).Where(s => s.Place is not null && s.FirstSeen < until).ToList();
        var found = new List<SensorTrouble>();
        foreach (var sensor in sensors)
        {
            var last = Last(connection, sensor.Id, until);
            var silentAfter = TimeSpan.FromSeconds(3 * (sensor.IntervalSeconds ?? 600));
            if (last is not { } at || until - at > (silentAfter > SilentAtLeast ? silentAfter : SilentAtLeast))
            {
                found.Add(Trouble(sensor, SensorNeeds.Silent, null, null, last));
                continue;
            }

            if (Doubted(connection, sensor.Id, from, until)) found.Add(Trouble(sensor, SensorNeeds.Doubted, null, null, null));
            if (Saturated(connection, sensor.Id, until) is { } top)
            {
                // A good root cellar is so damp for weeks: that alone is nothing to see to.
                if (Contradicted(connection, sensor, sensors, until))
                    found.Add(Trouble(sensor, SensorNeeds.Saturated, Quantity.Humidity, top, until - StuckFor));
            }
            else if (Stuck(connection, sensor.Id, until) is { } stuck)
                found.Add(Trouble(sensor, SensorNeeds.Stuck, stuck.Quantity, stuck.Value, until - StuckFor));
            if (LowBattery(connection, sensor.Id, from, until) is { } low)
                found.Add(Trouble(sensor, SensorNeeds.Battery, low.Quantity, low.Value, null));
        }

        foreach (var group in sensors.GroupBy(s => s.Place!, StringComparer.Ordinal).Where(g => g.Count() > 1))
            found.AddRange(Drifting(connection, [.. group], from, until));
        return [.. found.OrderBy(f => f.Needs).ThenBy(f => f.Sensor, StringComparer.Ordinal)];
    }

    private static SensorTrouble Trouble(SensorRow s, SensorNeeds needs, Quantity? quantity, double? value, DateTimeOffset? since) =>
        new(s.Key, s.Name, s.Place, needs, quantity, value, since);

    private static DateTimeOffset? Last(SqliteConnection connection, int sensor, DateTimeOffset until)
    {
        // By quantity, so that each is found by the order the rows are kept in.
        return connection.Scalar(
            """
            SELECT max(max(ifnull((SELECT max(at_ms) FROM reading r WHERE r.sensor = $s AND r.quantity = q.value AND r.at_ms < $until), 0),
                           ifnull((SELECT max(at_ms) FROM rollup u WHERE u.sensor = $s AND u.quantity = q.value AND u.at_ms < $until), 0)))
            FROM json_each('[1,2,3,4,5,6,7,8,9,10]') q
            """,
            ("$s", sensor), ("$until", until.ToUnixTimeMilliseconds())) is long ms and > 0
                ? DateTimeOffset.FromUnixTimeMilliseconds(ms) : null;
    }

    /// <summary>Least, mean and most of what was believed, and how many readings they are.</summary>
    private static (double Low, double Mean, double High, long Count, DateTimeOffset First)? Range(
        SqliteConnection connection, int sensor, Quantity quantity, DateTimeOffset from, DateTimeOffset to)
    {
        var rows = connection.Query(
            """
            SELECT min(low), sum(mean * count) / sum(count), max(high), sum(count), min(first) FROM (
                SELECT min(value) AS low, avg(value) AS mean, max(value) AS high, count(*) AS count, min(at_ms) AS first FROM reading
                WHERE sensor = $s AND quantity = $q AND at_ms >= $from AND at_ms < $to AND quality = 0 AND value IS NOT NULL
                UNION ALL
                SELECT min(low), sum(mean * count) / sum(count), max(high), sum(count), min(at_ms) FROM rollup WHERE sensor = $s AND quantity = $q AND at_ms >= $from AND at_ms < $to)
            WHERE count > 0
            """,
            row => row.IsDBNull(3) ? default : (row.GetDouble(0), row.GetDouble(1), row.GetDouble(2), row.GetInt64(3), row.Time(4)),
            ("$s", sensor), ("$q", (int)quantity), ("$from", from.ToUnixTimeMilliseconds()), ("$to", to.ToUnixTimeMilliseconds()));
        return rows is [var (low, mean, high, count, first)] && count > 0 ? (low, mean, high, count, first) : null;
    }

    private static bool Doubted(SqliteConnection connection, int sensor, DateTimeOffset from, DateTimeOffset until)
    {
        var rows = connection.Query(
            "SELECT count(*), sum(quality NOT IN (0, 5)) FROM reading WHERE sensor = $s AND quantity IN (1, 2, 3) AND at_ms >= $from AND at_ms < $to",
            row => (All: row.GetInt64(0), Bad: row.IsDBNull(1) ? 0 : row.GetInt64(1)),
            ("$s", sensor), ("$from", from.ToUnixTimeMilliseconds()), ("$to", until.ToUnixTimeMilliseconds()));
        return rows[0] is { All: > 20 } seen && seen.Bad > DoubtedShare * seen.All;
    }

    private static (Quantity Quantity, double Value)? Stuck(SqliteConnection connection, int sensor, DateTimeOffset until)
    {
        // Humidity moves with every door; a still cellar's temperature may stand for two days.
        var quantity = Range(connection, sensor, Quantity.Humidity, until - StuckFor, until) is null
            ? Quantity.Temperature : Quantity.Humidity;
        return Range(connection, sensor, quantity, until - StuckFor, until) is { Count: >= StuckReadings } r
            && r.First <= until - StuckFor + Slack && r.High == r.Low && r.High < 99.5 ? (quantity, r.Low) : null;
    }

    private static double? Saturated(SqliteConnection connection, int sensor, DateTimeOffset until)
    {
        var rows = connection.Query(
            """
            SELECT count(*), sum(quality = 5), min(at_ms), avg(CASE WHEN quality = 5 THEN value END) FROM reading
            WHERE sensor = $s AND quantity = 2 AND at_ms >= $from AND at_ms < $to
            """,
            row => row.GetInt64(0) < StuckReadings || row.Time(2) > until - StuckFor + Slack
                || row.GetInt64(1) < SaturatedShare * row.GetInt64(0) ? double.NaN : row.GetDouble(3),
            ("$s", sensor), ("$from", (until - StuckFor).ToUnixTimeMilliseconds()), ("$to", until.ToUnixTimeMilliseconds()));
        return double.IsNaN(rows[0]) ? null : rows[0];
    }

    /// <summary>
    /// Another sensor there reads drier, or the air warmed and cooled by so much, again and again, that it could not have stayed so damp.
    /// </summary>
    private static bool Contradicted(SqliteConnection connection, SensorRow sensor, List<SensorRow> all, DateTimeOffset until)
    {
        var from = until - StuckFor;
        return all.Any(other => other.Place == sensor.Place && other.Id != sensor.Id
                && Range(connection, other.Id, Quantity.Humidity, from, until) is { Count: >= StuckReadings } drier
                && TopOfScale.IsContradictedBy(other.CalibrationOf(Quantity.Humidity)?.Correction.Apply(drier.Mean).Value ?? drier.Mean))
            || (Range(connection, sensor.Id, Quantity.Temperature, from, until) is { } air && air.High - air.Low >= SwingC);
    }

    private static (Quantity Quantity, double Value)? LowBattery(
        SqliteConnection connection, int sensor, DateTimeOffset from, DateTimeOffset until)
    {
        var late = until.AddDays(-2) > from ? until.AddDays(-2) : from;
        if (Range(connection, sensor, Quantity.BatteryPercent, late, until) is { } percent)
            return percent.Mean < LowPercent ? (Quantity.BatteryPercent, percent.Mean) : null;
        if (Range(connection, sensor, Quantity.BatteryVolts, late, until) is not { } volts) return null;
        double ever = Range(connection, sensor, Quantity.BatteryVolts, DateTimeOffset.UnixEpoch, until)?.High ?? volts.High;
        return volts.Mean < (ever >= FullLithium ? LowLithium : LowTwoCells) ? (Quantity.BatteryVolts, volts.Mean) : null;
    }

    private static IEnumerable<SensorTrouble> Drifting(
        SqliteConnection connection, List<SensorRow> sensors, DateTimeOffset from, DateTimeOffset until)
    {
        foreach (var (quantity, limit) in ((Quantity, double)[])[(Quantity.Temperature, DriftC), (Quantity.Humidity, DriftPercent)])
        {
            var means = sensors
                .Select(s => (Sensor: s, Now: Range(connection, s.Id, quantity, from, until)?.Mean,
                    Before: Range(connection, s.Id, quantity, from.AddDays(-21), until.AddDays(-21))?.Mean))
                .Where(m => m is { Now: not null, Before: not null }).ToList();
            if (means.Count < 2) continue;
            var apart = means.Select(
                (m, i) => (m.Sensor, By: m.Now!.Value - m.Before!.Value - Middle(
                    means.Where((_, j) => j != i).Select(o => o.Now!.Value - o.Before!.Value)))).ToList();
            // Of two nobody can say which: the one that is named is the first, and the words say that it may be the other.
            foreach (var (sensor, by) in apart.Where(a => Math.Abs(a.By) > limit).OrderByDescending(a => Math.Abs(a.By))
                .ThenBy(a => a.Sensor.Key, StringComparer.Ordinal).Take(means.Count == 2 ? 1 : int.MaxValue))
                yield return Trouble(sensor, SensorNeeds.Drifting, quantity, by, null);
        }
    }

    private static double Middle(IEnumerable<double> values)
    {
        var sorted = values.Order().ToArray();
        return (sorted[(sorted.Length - 1) / 2] + sorted[sorted.Length / 2]) / 2;
    }
}
