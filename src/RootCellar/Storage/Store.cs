using System.Diagnostics.Metrics;
using System.Threading.Channels;
using Microsoft.Data.Sqlite;
using Microsoft.Extensions.Logging.Abstractions;
using RootCellar.Readings;

namespace RootCellar.Storage;

/// <summary>
/// The record: one SQLite file in WAL, one writer. What arrives is written in the order it was given, many items to a
/// transaction. A transaction that holds anything a person or a text depends on is synchronous=FULL; one of readings
/// alone is NORMAL, which survives the death of the process and is kind to an SD card. Where a receipt was given for one of
/// them, the disk is asked to confirm them within <see cref="KeepOptions.SyncSeconds"/>, which survives a power cut.
/// <para>
/// When the disk refuses, urgent writes fail at once with the reason (so that nothing is acknowledged that is not kept),
/// readings wait in memory and are tried again, and the callers go on without the record.
/// </para>
/// </summary>
internal sealed class Store : IAsyncDisposable
{
    /// <summary>This room's name in <see cref="FailedWork"/>.</summary>
    public const string Room = "record";

    private const string Writing = "writing to the record";
    private const string Confirming = "having the disk confirm readings";
    private const int LargestBatch = 5_000;
    private const int MostHeld = 200_000;
    private static readonly TimeSpan RetryAfter = TimeSpan.FromSeconds(10);

    // The rest of the bound is for the disk's own time, which on a card may be seconds.
    private const double SyncBeginsAt = 0.8;

    private readonly Channel<Item> queue = Channel.CreateBounded<Item>(new BoundedChannelOptions(20_000)
    {
        SingleReader = true,
        FullMode = BoundedChannelFullMode.Wait,
    });

    // Some 20 MB of readings that wait for the disk; more hold their senders back.
    private readonly Allowance underWay = new(100_000);

    private readonly SqliteConnection writer;
    private readonly string readerConnection;
    private readonly string path;
    private readonly TimeSpan batch;
    private readonly TimeSpan syncWithin;
    private readonly TimeProvider time;
    private readonly ILogger<Store> log;
    private readonly FailedWork failed;
    private readonly HeldWrites held;
    private readonly StorageMeter meter;
    private readonly ReadingWriter readings;
    private readonly ITimer flush;
    private readonly ITimer sync;
    private readonly ITimer again;
    private readonly Task loop;
    private List<Item> pending = [];
    private bool flushArmed;
    private bool againArmed;
    private int flushDue;
    private int syncDue;
    private int againDue;
    private long waitingSince;
    private long unsyncedSince;

    private Store(
        SqliteConnection writer, string readerConnection, string path, string? startProblem, KeepOptions keep, TimeProvider time, ILogger<Store> log, FailedWork? failed, IMeterFactory? meters)
    {
        this.writer = writer;
        this.readerConnection = readerConnection;
        this.path = path;
        this.time = time;
        this.log = log;
        this.failed = failed ?? new FailedWork(time, NullLogger<FailedWork>.Instance);
        StartProblem = startProblem;
        batch = TimeSpan.FromSeconds(keep.BatchSeconds);
        syncWithin = TimeSpan.FromSeconds(keep.SyncSeconds);
        held = new HeldWrites(this.failed);
        meter = new StorageMeter(meters, () => queue.Reader.Count + pending.Count + held.Count, () => Age(ref waitingSince), () => Age(ref unsyncedSince));
        readings = new ReadingWriter(writer, TimeProvider.System);
        flush = Timer(() => Volatile.Write(ref flushDue, 1));
        sync = Timer(() => Volatile.Write(ref syncDue, 1));
        again = Timer(() => Volatile.Write(ref againDue, 1));
        loop = Task.Run(WriteLoopAsync);
    }

    /// <summary>The data folder.</summary>
    public string Folder => Path.GetDirectoryName(path)!;

    /// <summary>Set when the file could not be opened and the service runs on memory alone: what is wrong and what to do.</summary>
    public string? StartProblem { get; }

    /// <summary>What stops the writing now, or null while all is well.</summary>
    public string? Problem { get; private set; }

    public string? AnyProblem => StartProblem ?? Problem;

    /// <summary>Readings given up because the disk refused for too long; counted, never silent.</summary>
    public long Dropped { get; private set; }

    public long Written { get; private set; }

    /// <summary>
    /// Opens the file in <paramref name="folder"/>. If it is damaged, lost, read-only or unreachable, runs on memory so that
    /// alarms go on, and says so in <see cref="StartProblem"/>; the file is not touched.
    /// </summary>
    /// <param name="firstReads">What the caller will read first; damage found there counts as a file that cannot be opened.</param>
    /// <exception cref="StoreProblemException">The file was written by a newer program: going on would hide the grower's record.</exception>
    public static Store Open(
        string folder, KeepOptions keep, TimeProvider time, ILogger<Store> log, Action<SqliteConnection>? firstReads = null, FailedWork? failed = null, IMeterFactory? meters = null)
    {
        var file = Path.Combine(folder, StoreFile.Name);
        try
        {
            var text = new SqliteConnectionStringBuilder { DataSource = file, Mode = SqliteOpenMode.ReadWriteCreate }.ToString();
            return new Store(StoreFile.OpenForWriting(text, file, firstReads), text, file, null, keep, time, log, failed, meters);
        }
        catch (StoreProblemException e) when (e is LostRecordException || e.InnerException is SqliteException)
        {
            log.LogError("{Problem} Running without the record: alarms are judged and sent, readings are not kept.", e.Message);
            var memory = new SqliteConnectionStringBuilder
            {
                DataSource = $"rootcellar-{Guid.NewGuid():N}",
                Mode = SqliteOpenMode.Memory,
                Cache = SqliteCacheMode.Shared,
            }.ToString();
            return new Store(StoreFile.OpenForWriting(memory, file), memory, file, e.Message, keep, time, log, failed, meters);
        }
    }

    /// <summary>
    /// Keeps readings. With <paramref name="urgent"/> the task ends once they are on disk (and faults with
    /// <see cref="StoreProblemException"/> when they are not); otherwise it ends once they are queued.
    /// </summary>
    public async ValueTask AppendAsync(IReadOnlyList<StoredReading> items, bool urgent)
    {
        if (StartProblem is not null && !urgent) return;
        var item = new Item(Readings: items, Work: null, Done: urgent ? NewDone() : null);
        await underWay.TakeAsync(items.Count);
        await queue.Writer.WriteAsync(item);
        if (item.Done is not null) await item.Done.Task;
    }

    /// <summary>As <see cref="AppendAsync"/> with urgency, but returns as soon as the item is queued; the second task is the durable one.</summary>
    public async ValueTask<Task> QueueUrgentAsync(IReadOnlyList<StoredReading> items)
    {
        // Memory is no record: nobody gets a receipt, and weeks of readings would fill it.
        if (StartProblem is { } problem) return Task.FromException(new StoreProblemException(problem) { UntilRestart = true });
        var item = new Item(Readings: items, Work: null, Done: NewDone());
        await underWay.TakeAsync(items.Count);
        await queue.Writer.WriteAsync(item);
        return item.Done!.Task;
    }

    /// <summary>Writes something that can wait for the next batch and may be lost with the process (sampled air).</summary>
    /// <remarks>Ends once it is queued. A write that fails is said by <see cref="FailedWork"/> and tried again.</remarks>
    public ValueTask WriteSoonAsync(SoonWrite write) => queue.Writer.WriteAsync(new Item(null, write.Work, null) { Soon = write });

    /// <summary>Queues a durable write; the returned task ends once it is on disk, in the order given.</summary>
    /// <param name="key">Where it replaces what was given to <see cref="WriteSoonAsync"/> under this key.</param>
    /// <exception cref="StoreProblemException">The record cannot be written now.</exception>
    public async Task WriteAsync(Action<SqliteConnection> work, string? key = null)
    {
        var item = new Item(null, work, NewDone()) { Key = key };
        await queue.Writer.WriteAsync(item);
        await item.Done!.Task;
    }

    public async Task<T> WriteAsync<T>(Func<SqliteConnection, T> work)
    {
        T result = default!;
        await WriteAsync(connection => { result = work(connection); });
        return result;
    }

    /// <summary>Reads what is on disk; never waits for the writer.</summary>
    public T Read<T>(Func<SqliteConnection, T> work)
    {
        using var connection = new SqliteConnection(readerConnection);
        connection.Open();
        return work(connection);
    }

    public async ValueTask DisposeAsync()
    {
        queue.Writer.TryComplete();
        await loop;
        await flush.DisposeAsync();
        await sync.DisposeAsync();
        await again.DisposeAsync();
        meter.Dispose();
        readings.Dispose();
        await writer.DisposeAsync();
        SqliteConnection.ClearAllPools();
    }

    private static TaskCompletionSource NewDone() => new(TaskCreationOptions.RunContinuationsAsynchronously);

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
            else if (urgent || flushNow || retryNow || pending.Count >= LargestBatch || underWay.Used >= 2 * LargestBatch || batch <= TimeSpan.Zero) Commit();
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
            var message = e is SqliteException refused ? StoreFile.Explain(refused, path) : $"The record {path} cannot be written: {e.Message}";
            if (Problem != message) log.LogError("{Problem}", message);
            Problem = message;
            // Nobody waits for a disk that refuses: what is held then is bounded by Trim.
            underWay.Waived = true;
            meter.Failed(e, items.Count - done);
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

    /// <summary>Urgent writes are refused to their callers, who decide; a refused reading is still worth keeping when the disk comes back.</summary>
    private void Refuse(Item item, StoreProblemException why)
    {
        item.Done?.TrySetException(why);
        if (item.Readings is not null || item.Done is null) pending.Add(item with { Done = null });
    }

    private void Trim()
    {
        if (pending.Count <= MostHeld && underWay.Used <= MostHeld) return;
        var over = pending.Sum(i => Math.Max(1, i.Readings?.Count ?? 0)) - MostHeld;
        var gone = 0;
        for (; over > 0; gone++) over -= Math.Max(1, pending[gone].Readings?.Count ?? 0);
        if (gone == 0) return;
        var given = pending.GetRange(0, gone);
        Dropped += given.Sum(i => i.Readings?.Count ?? 1);
        underWay.Give(Weight(given));
        pending.RemoveRange(0, gone);
        failed.Failed(
            Room, "holding what the disk refuses", new StoreProblemException($"More than {MostHeld} items wait; the oldest {gone} were given up."), triedAgain: false);
    }

    private static int Weight(List<Item> items) => items.Sum(i => i.Readings?.Count ?? 0);

    private void Run(List<Item> items)
    {
        // Readings alone may be NORMAL; one item that a person or a text depends on makes the whole transaction FULL.
        var receipts = items.Exists(i => i is { Readings: not null, Done: not null });
        var full = items.Exists(i => i is { Work: not null, Done: not null }) || (receipts && syncWithin <= TimeSpan.Zero);
        writer.Execute(full ? "PRAGMA synchronous=FULL" : "PRAGMA synchronous=NORMAL");
        var wrong = new Dictionary<Item, Exception>(ReferenceEqualityComparer.Instance);
        long began;
        using (var transaction = writer.BeginTransaction(deferred: false))
        {
            foreach (var item in items)
            {
                if (item.Readings is not null) readings.Write(item.Readings);
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

    private sealed record Item(IReadOnlyList<StoredReading>? Readings, Action<SqliteConnection>? Work, TaskCompletionSource? Done)
    {
        public static readonly Item Wake = new(null, null, null);

        public static readonly Item Probe = new(null, static c => Meta.Set(c, "probed", "1"), null);

        public SoonWrite? Soon { get; init; }

        public string? Key { get; init; }
    }
}
