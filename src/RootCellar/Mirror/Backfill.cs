using Microsoft.Data.Sqlite;
using RootCellar.Household;
using RootCellar.Ledger;
using RootCellar.Lots;
using RootCellar.Places;
using RootCellar.Readings;
using RootCellar.Storage;

namespace RootCellar.Mirror;

/// <summary>Sends what the record holds to a server that has none of it. Reads only; does not touch the mirror's marks.</summary>
internal sealed class Backfill(
    SqliteConnection connection, MirrorOptions options, InfluxDoor door, HouseholdCalendar calendar, TimeProvider time, TextWriter progress)
{
    public long Sent { get; private set; }

    public long Malformed { get; private set; }

    /// <summary>Sends [from, to). Returns why it stopped before the end; null when all is there.</summary>
    public async Task<string?> RunAsync(DateTimeOffset from, DateTimeOffset to, CancellationToken cancellationToken)
    {
        foreach (var (what, lines) in Parts(from.ToUnixTimeMilliseconds(), to.ToUnixTimeMilliseconds(), to))
        {
            long before = Sent;
            foreach (var batch in lines.Chunk(options.BatchRows))
            {
                var begun = time.GetTimestamp();
                var answer = await door.SendAsync(batch, cancellationToken);
                if (answer.Outcome != Outcome.Taken) return answer.Why;
                Sent += batch.Length - answer.Aside.Count;
                Malformed += answer.Aside.Count;
                foreach (var (point, why) in answer.Aside.Take(3))
                    await progress.WriteLineAsync($"{what}: called malformed ({why}): {point}");
                if (Sent / 20_000 != (Sent - batch.Length) / 20_000)
                    await progress.WriteLineAsync($"{what}: {Sent - before} points so far");
                var due = TimeSpan.FromSeconds((double)batch.Length / options.RowsPerSecond) - time.GetElapsedTime(begun);
                if (due > TimeSpan.Zero) await Task.Delay(due, time, cancellationToken);
            }

            await progress.WriteLineAsync($"{what}: {Sent - before} points");
        }

        return null;
    }

    private IEnumerable<(string What, IEnumerable<string> Lines)> Parts(long from, long to, DateTimeOffset until)
    {
        var now = time.GetUtcNow();
        yield return ("ledger", LedgerRows.After(connection, 0).Where(r => Within(r.Entry.At.ToUnixTimeMilliseconds())).Select(
            r => Points.Entry(r.Entry)));
        yield return ("alarms",
            connection.Query("SELECT body FROM alarm WHERE raised_ms >= $from AND raised_ms < $to ORDER BY raised_ms",
                row => row.GetString(0), ("$from", from), ("$to", to))
            .SelectMany(Points.AlarmLife));
        yield return ("place air", PlaceRows.All(connection).SelectMany(p => MirrorReader.Air(connection, p.Id, from, to)));
        yield return ("summaries of thinned readings", MirrorReader.Summaries(connection, from, to));
        yield return ("readings", connection.Query(
                "SELECT s.id, q.value FROM sensor s JOIN json_each('[1,2,3,4,5,6,7,8,9,10]') q WHERE EXISTS (SELECT 1 FROM reading r WHERE r.sensor = s.id AND r.quantity = q.value)",
                row => (Sensor: row.GetInt32(0), Quantity: (Quantity)row.GetInt32(1)))
            .SelectMany(s => MirrorReader.Readings(connection, s.Sensor, s.Quantity, from, to)));
        yield return ("estimates, one a day", Estimates(from, to, until));

        bool Within(long ms) => ms >= from && ms < to;
    }

    /// <summary>
    /// Estimates are not kept; for each midnight they are worked out from the book as it was then and the air until then.
    /// </summary>
    private IEnumerable<string> Estimates(long from, long to, DateTimeOffset until)
    {
        var whole = LedgerRows.Book(connection, calendar);
        if (whole.Entries.Count == 0) yield break;
        var now = time.GetUtcNow();
        long last = Math.Min(to, (until < now ? until : now).ToUnixTimeMilliseconds());
        long first = Math.Max(from, whole.Entries.Min(s => BookBuilder.HappenedAt(s, calendar)).ToUnixTimeMilliseconds());
        var places = PlaceRows.All(connection);
        var courses = new TrajectoryCache();
        courses.Use(connection);
        var estimating = new Estimating(courses);
        for (long cell = ((TimeStep.Of(
            first) / TimeStep.PerDay) + 1) * TimeStep.PerDay; cell * TimeStep.Milliseconds < last; cell += TimeStep.PerDay)
        {
            foreach (var line in Points.Estimates(estimating.At(BookBuilder.Then(whole, TimeStep.At(cell)), places, cell)))
                yield return line;
        }
    }
}
