using Microsoft.Data.Sqlite;
using RootCellar.Household;

namespace RootCellar.Storage;

/// <summary>
/// The writer's own thread: what is written together, what happens when the disk refuses, and when it is asked to confirm.
/// </summary>
internal sealed partial class Store
{
    // The word must reach the loop even when the queue is full: then the loop is awake anyway.
    private ITimer Timer(Action due) => time.CreateTimer(
        _ =>
        {
            due();
            queue.Writer.TryWrite(Item.Wake);
        },
        null, Timeout.InfiniteTimeSpan, Timeout.InfiniteTimeSpan);

    private double Age(ref long since) => Volatile.Read(ref since) is > 0 and var from ? time.GetElapsedTime(from).TotalSeconds : 0;

    private static bool Taken(ref int due) => Interlocked.Exchange(ref due, 0) == 1;

    private async Task WriteLoopAsync()
    {
        while (await queue.Reader.WaitToReadAsync())
        {
            var urgent = false;
            while (pending.Count < MostTaken && queue.Reader.TryRead(out var item))
            {
                if (ReferenceEquals(item, Item.Wake)) continue;
                if (Problem is { } problem && item.Done is not null) Refuse(item, new StoreProblemException(problem));
                else pending.Add(item);
                urgent |= item.Done is not null;
            }

            if (pending.Count > 0 && waitingSince == 0) Volatile.Write(ref waitingSince, time.GetTimestamp());
            var flushNow = Taken(ref flushDue);
            var retryNow = Taken(ref againDue);
            if (retryNow) againArmed = false;
            if (retryNow && Problem is null) TakeHeld();
            // While the disk refuses, only the timer tries again: the queue is emptied into memory meanwhile, so that no caller waits.
            if (Problem is not null && !flushNow) Trim();
            else if (urgent || flushNow || retryNow || pending.Count >= LargestBatch || underWay.Used >= 2 * LargestBatch
                || batch <= TimeSpan.Zero)
                Commit();
            else if (pending.Count > 0) ArmFlush(batch);
            if (Taken(ref syncDue)) Sync();
        }

        TakeHeld();
        Commit();
        Sync();
    }

    private int MostTaken => Problem is null ? LargestBatch : int.MaxValue;

    private void ArmFlush(TimeSpan after)
    {
        if (flushArmed) return;
        flushArmed = true;
        flush.Change(after, Timeout.InfiniteTimeSpan);
    }

    /// <summary>What failed before goes first, in the order it came.</summary>
    private void TakeHeld() => pending.InsertRange(0, held.Take().Select(w => new Item(null, w.Work, null) { Soon = w }));

    private void Commit()
    {
        flushArmed = false;
        if (pending.Count == 0 && Problem is null) return;
        var items = pending;
        pending = [];
        // Nothing is held, but whether the disk takes writes again is only known by writing.
        if (items.Count == 0) items.Add(Item.Probe);
        var done = 0;
        try
        {
            // In parts, in order: a refusing disk is found out with the first one, however much is held.
            while (done < items.Count)
            {
                var part = items.GetRange(done, Math.Min(LargestBatch, items.Count - done));
                Run(part);
                done += part.Count;
                underWay.Give(Weight(part));
                Written += part.Count;
            }

            if (Problem is not null) log.LogInformation("The record can be written again");
            Problem = null;
            underWay.Waived = false;
            failed.WorksAgain(Room, Writing);
        }
        catch (Exception e)
        {
            // Anything else than the disk's refusal is a bug; the writer goes on all the same, or nothing would be kept from then on.
            var message = e is SqliteException refused ? StoreFile.Explain(refused, path) : Strings.RecordNotWritten.With(path, e.Message);
            if (Problem != message) log.LogError("{Problem}", message);
            Problem = message;
            // Nobody waits for a disk that refuses: what is held then is bounded by Trim.
            underWay.Waived = true;
            meter.Failed(e, items.Count - done);
            if (e is SqliteException ofCard) CardErrors.Note(ofCard);
            failed.Failed(Room, Writing, e, triedAgain: true);
            for (var i = done; i < items.Count; i++) Refuse(items[i], new StoreProblemException(message, e));
            Trim();
            ArmFlush(RetryAfter);
        }

        Volatile.Write(ref waitingSince, pending.Count == 0 ? 0 : waitingSince);
        if (held.Count == 0 || againArmed) return;
        againArmed = true;
        again.Change(held.Wait, Timeout.InfiniteTimeSpan);
    }

    /// <summary>
    /// Urgent writes are refused to their callers, who decide; a refused reading is still worth keeping when the disk comes back.
    /// </summary>
    private void Refuse(Item item, StoreProblemException why)
    {
        item.Done?.TrySetException(why);
        if (item.Bulk is not null || item.Done is null) pending.Add(item with { Done = null });
    }

    private void Trim()
    {
        if (pending.Count <= MostHeld && underWay.Used <= MostHeld) return;
        var over = pending.Sum(i => Math.Max(1, i.Bulk?.Count ?? 0)) - MostHeld;
        var gone = 0;
        for (; over > 0; gone++) over -= Math.Max(1, pending[gone].Bulk?.Count ?? 0);
        if (gone == 0) return;
        var given = pending.GetRange(0, gone);
        Dropped += given.Sum(i => i.Bulk?.Count ?? 1);
        underWay.Give(Weight(given));
        pending.RemoveRange(0, gone);
        var why = new StoreProblemException($"More than {MostHeld} items wait; the oldest {gone} were given up.");
        failed.Failed(Room, "holding what the disk refuses", why, triedAgain: false);
    }

    private static int Weight(List<Item> items) => items.Sum(i => i.Bulk?.Count ?? 0);

    private void Run(List<Item> items)
    {
        // Readings alone may be NORMAL; one item that a person or a text depends on makes the whole transaction FULL.
        var receipts = items.Exists(i => i is { Bulk: not null, Done: not null });
        var full = items.Exists(i => i is { Work: not null, Done: not null }) || (receipts && syncWithin <= TimeSpan.Zero);
        writer.Execute(full ? "PRAGMA synchronous=FULL" : "PRAGMA synchronous=NORMAL");
        var wrong = new Dictionary<Item, Exception>(ReferenceEqualityComparer.Instance);
        long began;
        using (var transaction = writer.BeginTransaction(deferred: false))
        {
            foreach (var item in items)
            {
                if (item.Bulk is not null) item.Bulk.Write(prepared);
                else RunOne(item, wrong);
            }

            began = time.GetTimestamp();
            transaction.Commit();
        }

        if (full) meter.Synced("commit", time.GetElapsedTime(began));
        else if (receipts) AskForSync();
        Settle(items, wrong);
    }

    private void Settle(List<Item> items, Dictionary<Item, Exception> wrong)
    {
        foreach (var (item, problem) in wrong)
        {
            meter.Failed(problem);
            if (item.Soon is { } soon) held.Add(soon, problem);
            item.Done?.TrySetException(problem);
        }

        foreach (var item in items)
        {
            if (item.Soon is { } soon && !wrong.ContainsKey(item)) held.Written(soon.Key, soon.What);
            if (item.Key is { } key && item.Done is { Task.IsCompleted: false }) held.Forget(key);
            item.Done?.TrySetResult();
        }
    }

    /// <summary>Before the receipt is given, so that the bound counts from before it.</summary>
    private void AskForSync()
    {
        if (unsyncedSince != 0 || StartProblem is not null) return;
        Volatile.Write(ref unsyncedSince, time.GetTimestamp());
        sync.Change(syncWithin * SyncBeginsAt, Timeout.InfiniteTimeSpan);
    }

    /// <summary>
    /// Has the disk confirm all that was committed: it is in the write-ahead log, or a checkpoint has synced it into the record. No page is
    /// written for it, which a commit with FULL would do, so a card wears no more.
    /// </summary>
    private void Sync()
    {
        if (unsyncedSince == 0) return;
        var began = time.GetTimestamp();
        try
        {
            DiskSync.OfFile(path + "-wal");
            Volatile.Write(ref unsyncedSince, 0);
            meter.Synced("timer", time.GetElapsedTime(began));
            failed.WorksAgain(Room, Confirming);
        }
        catch (Exception e) when (e is IOException or UnauthorizedAccessException)
        {
            meter.Failed(e);
            if (e is IOException ofCard) CardErrors.Note(ofCard);
            failed.Failed(Room, Confirming, e, triedAgain: true);
            sync.Change(RetryAfter, Timeout.InfiniteTimeSpan);
        }
    }

    private void RunOne(Item item, Dictionary<Item, Exception> wrong)
    {
        writer.Execute("SAVEPOINT one");
        try
        {
            item.Work!(writer);
            writer.Execute("RELEASE one");
        }
        catch (Exception e) when (e is not SqliteException { SqliteErrorCode: 8 or 10 or 11 or 13 or 14 or 26 })
        {
            // The caller's own mistake (a constraint, a bug): its work alone is undone, its neighbours stand.
            writer.Execute("ROLLBACK TO one; RELEASE one");
            wrong.Add(item, e);
        }
    }
}
