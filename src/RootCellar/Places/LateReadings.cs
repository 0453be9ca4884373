using Microsoft.Data.Sqlite;
using RootCellar.Diagnostics;
using RootCellar.Readings;
using RootCellar.Storage;
using RootCellar.Watch;

namespace RootCellar.Places;

/// <summary>
/// Readings that came late, by their devices' own times, make the air of their own hours. However many come, one pass is made: once no more
/// have come between two looks, or five minutes after the first. The record is read beside the writer and written in small parts, so that
/// neither watch nor receipts wait. That the lots, the charts and the mirror take it up needs no word: rows of air for a time already
/// folded or sent are noted by the file itself. Where a pass is cut off, its notes still stand and it is made again.
/// </summary>
internal sealed class LateReadings(Store store, KeepOptions keep, TimeProvider time, LateCounts counts, FailedWork failed,
    ILogger<LateReadings> log) : BackgroundService
{
    private const string Room = "places";
    private const string What = "making the air of readings that came late";
    private const int WrittenAtOnce = 500;
    private static readonly TimeSpan LookEvery = TimeSpan.FromSeconds(20);
    private static readonly TimeSpan Longest = TimeSpan.FromMinutes(5);

    // Live readings wait up to ten seconds for their batch: what is newer than this may not be on disk yet.
    private static readonly TimeSpan NotYet = TimeSpan.FromMinutes(1);

    private (long Readings, DateTimeOffset Since)? waiting;

    /// <summary>One look: makes the air that is due. How many samples were written; null where nothing was due yet.</summary>
    /// <exception cref="StoreProblemException">The record refuses; the notes stand.</exception>
    public async Task<long?> LookAsync(CancellationToken cancellationToken = default)
    {
        var now = time.GetUtcNow();
        var notes = store.Read(LateNotes.Due);
        if (!IsDue(notes, now)) return null;
        waiting = null;
        var written = 0L;
        var spans = store.Read(c => Spans(c, notes));
        foreach (var (place, from, to) in spans)
        {
            cancellationToken.ThrowIfCancellationRequested();
            var anewFrom = now - TimeSpan.FromDays(keep.RawDays);
            var last = to + PastAir.Holds < now - NotYet ? to + PastAir.Holds : now - NotYet;
            var made = store.Read(c => PastAir.Of(c, place, from, last, anewFrom).ToList());
            foreach (var part in made.Chunk(WrittenAtOnce))
                await store.WriteAsync(c => Array.ForEach(part, air => PlaceRows.SaveAir(c, air)));
            written += made.Count;
        }

        await store.WriteAsync(c =>
        {
            foreach (var note in notes) LateNotes.Done(c, note);
        });
        counts.Recomputed(spans.Count);
        if (written > 0)
        {
            log.LogInformation(
                "{Readings} readings came late, the first of {From:u}: {Samples} five minutes of air were made of them",
                notes.Sum(n => n.Readings), notes.Min(n => n.From), written);
        }

        return written;
    }

    protected override async Task ExecuteAsync(CancellationToken stoppingToken)
    {
        using var timer = new PeriodicTimer(LookEvery, time);
        while (await timer.WaitForNextTickAsync(stoppingToken))
        {
            try
            {
                if (await LookAsync(stoppingToken) is not null) failed.WorksAgain(Room, What);
            }
            catch (Exception e) when (e is not OperationCanceledException)
            {
                // The notes stand, and the next look tries again.
                failed.Failed(Room, What, e, triedAgain: true);
            }
        }
    }

    private bool IsDue(IReadOnlyList<LateNote> notes, DateTimeOffset now)
    {
        var readings = notes.Sum(n => n.Readings);
        var before = waiting;
        waiting = readings == 0 ? null : (readings, before?.Since ?? now);
        return before is { } first && readings > 0 && (readings == first.Readings || now - first.Since >= Longest);
    }

    /// <summary>Which time of which places the notes speak of, by where each sensor stood then; spans that meet are one.</summary>
    private static List<(Place Place, DateTimeOffset From, DateTimeOffset To)> Spans(
        SqliteConnection connection, IReadOnlyList<LateNote> notes)
    {
        var stays = SensorStays.All(connection);
        var all = new List<(Place Place, DateTimeOffset From, DateTimeOffset To)>();
        foreach (var place in PlaceRows.All(connection))
        {
            var here = all.Count;
            foreach (var note in notes.Where(n => stays[n.Sensor].Any(s => s.Place == place.Id)).OrderBy(n => n.From))
            {
                if (all.Count > here && note.From <= all[^1].To + PastAir.Holds)
                    all[^1] = (place, all[^1].From, note.To > all[^1].To ? note.To : all[^1].To);
                else all.Add((place, note.From, note.To));
            }
        }

        return all;
    }
}
