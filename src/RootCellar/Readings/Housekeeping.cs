using Microsoft.Data.Sqlite;
using RootCellar.Diagnostics;
using RootCellar.Storage;

namespace RootCellar.Readings;

/// <summary>
/// Old raw readings become summaries, a few at a time through the one writer, so that intake never waits long.
/// Only believed readings go into a summary; the others are dropped with their raw rows.
/// </summary>
internal sealed class Housekeeping(Store store, KeepOptions keep, TimeProvider time, FailedWork failed, ILogger<Housekeeping> log)
    : BackgroundService
{
    private const int Step = 2_000;

    /// <summary>
    /// One small step: summarises and removes at most <see cref="Step"/> raw rows older than <paramref name="before"/>; how many.
    /// </summary>
    public static int SummariseSome(SqliteConnection connection, DateTimeOffset before, int summaryMinutes)
    {
        var oldest = connection.Query(
            "SELECT s.id, q.value FROM sensor s JOIN json_each('[1,2,3,4,5,6,7,8,9,10]') q " +
            "WHERE EXISTS (SELECT 1 FROM reading r WHERE r.sensor = s.id AND r.quantity = q.value AND r.at_ms < $before) " +
            // Late readings that have a place first make the air of their hours (LateReadings); that takes some minutes.
            "AND NOT EXISTS (SELECT 1 FROM reading_late l WHERE l.sensor = s.id AND l.from_ms < $before AND s.place IS NOT NULL) LIMIT 1",
            row => (Sensor: row.GetInt32(0), Quantity: row.GetInt32(1)),
            ("$before", before.ToUnixTimeMilliseconds()));
        if (oldest.Count == 0) return 0;

        // Up to the edge of a summary window, so that a window is summed whole unless late readings come to it afterwards.
        var width = summaryMinutes * 60_000L;
        var upTo = (long)connection.Scalar(
            "SELECT max(at_ms) FROM (SELECT at_ms FROM reading WHERE sensor = $s AND quantity = $q AND at_ms < $before ORDER BY at_ms LIMIT $step)",
            ("$s", oldest[0].Sensor),
            ("$q", oldest[0].Quantity),
            ("$before", before.ToUnixTimeMilliseconds()),
            ("$step", Step))!;
        upTo = Math.Min(((upTo / width) + 1) * width, before.ToUnixTimeMilliseconds());
        connection.Execute(
            """
            INSERT INTO rollup (sensor, quantity, at_ms, low, mean, high, count)
            SELECT sensor, quantity, at_ms / $width * $width, min(value), avg(value), max(value), count(*)
            FROM reading WHERE sensor = $s AND quantity = $q AND at_ms < $to AND quality = 0 AND value IS NOT NULL
            GROUP BY at_ms / $width
            ON CONFLICT (sensor, quantity, at_ms) DO UPDATE SET
                low = min(low, excluded.low),
                high = max(high, excluded.high),
                mean = (mean * count + excluded.mean * excluded.count) / (count + excluded.count),
                count = count + excluded.count
            """,
            ("$s", oldest[0].Sensor),
            ("$q", oldest[0].Quantity),
            ("$to", upTo),
            ("$width", width));
        return connection.Execute(
            "DELETE FROM reading WHERE sensor = $s AND quantity = $q AND at_ms < $to",
            ("$s", oldest[0].Sensor),
            ("$q", oldest[0].Quantity),
            ("$to", upTo));
    }

    protected override async Task ExecuteAsync(CancellationToken stoppingToken)
    {
        using var hourly = new PeriodicTimer(TimeSpan.FromHours(1), time);
        try
        {
            do
            {
                await TidyAsync(stoppingToken);
            }
            while (await hourly.WaitForNextTickAsync(stoppingToken));
        }
        catch (OperationCanceledException)
        {
            // Stopping; the next start goes on where this left off.
        }
    }

    private async Task TidyAsync(CancellationToken cancellationToken)
    {
        const string what = "summing up old readings";
        // What is old hangs on the time.
        if (!HouseClock.HourCountsOn(time)) return;
        try
        {
            // First, so that nothing is summed up that goes anyway.
            while (await store.WriteAsync(c => SensorLeaving.RemoveSome(c, Step)) > 0)
            {
                await Task.Delay(TimeSpan.FromMilliseconds(50), TimeProvider.System, cancellationToken);
            }

            var before = time.GetUtcNow() - TimeSpan.FromDays(keep.RawDays);
            while (await store.WriteAsync(c => SummariseSome(c, before, keep.SummaryMinutes)) > 0)
            {
                await Task.Delay(TimeSpan.FromMilliseconds(50), TimeProvider.System, cancellationToken);
            }

            if (keep.SummaryDays > 0)
            {
                var last = (time.GetUtcNow() - TimeSpan.FromDays(keep.SummaryDays)).ToUnixTimeMilliseconds();
                await store.WriteAsync(c =>
                {
                    c.Execute("DELETE FROM rollup WHERE at_ms < $last", ("$last", last));
                    c.Execute("DELETE FROM air WHERE at_ms < $last", ("$last", last));
                });
            }

            failed.WorksAgain(Store.Room, what);
        }
        catch (StoreProblemException e)
        {
            log.LogWarning("Housekeeping waits: {Problem}", e.Message);
        }
        catch (Exception e) when (e is not OperationCanceledException)
        {
            // The readings stay as they are; the next hour tries again, and the service goes on.
            failed.Failed(Store.Room, what, e, triedAgain: true);
        }
    }
}
