using System.Threading.Channels;
using Microsoft.Data.Sqlite;
using RootCellar.Readings;

namespace RootCellar.Storage;

/// <summary>
/// The record: one SQLite file in WAL, one writer. What arrives is written in the order it was given, many items to a
/// transaction. A transaction that holds anything a person or a text depends on is synchronous=FULL; one of readings
/// alone is NORMAL, which survives the death of the process and is kind to an SD card.
/// <para>
/// When the disk refuses, urgent writes fail at once with the reason (so that nothing is acknowledged that is not kept),
/// readings wait in memory and are tried again, and the callers go on without the record.
/// </para>
/// </summary>
internal sealed class Store : IAsyncDisposable
{
    private const int LargestBatch = 5_000;
    private const int MostHeld = 200_000;
    private static readonly TimeSpan RetryAfter = TimeSpan.FromSeconds(10);

    private readonly Channel<Item> queue = Channel.CreateBounded<Item>(new BoundedChannelOptions(20_000)
    {
        SingleReader = true,
        FullMode = BoundedChannelFullMode.Wait,
    });

    // Some 20 MB of readings that wait for the disk; more hold their senders back.
    private readonly Allowance held = new(100_000);

    private readonly SqliteConnection writer;
    private readonly string readerConnection;
    private readonly string path;
    private readonly TimeSpan batch;
    private readonly ILogger<Store> log;
    private readonly ReadingWriter readings;
    private readonly ITimer flush;
    private readonly Task loop;
    private List<Item> pending = [];
    private bool flushArmed;

    private Store(SqliteConnection writer, string readerConnection, string path, string? startProblem, KeepOptions keep, TimeProvider time, ILogger<Store> log)
    {
        this.writer = writer;
        this.readerConnection = readerConnection;
        this.path = path;
        this.log = log;
        StartProblem = startProblem;
        batch = TimeSpan.FromSeconds(keep.BatchSeconds);
        readings = new ReadingWriter(writer);
        flush = time.CreateTimer(_ => queue.Writer.TryWrite(Item.Flush), null, Timeout.InfiniteTimeSpan, Timeout.InfiniteTimeSpan);
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
    /// Opens the file in <paramref name="folder"/>. If it is damaged, read-only or unreachable, runs on memory so that
    /// alarms go on, and says so in <see cref="StartProblem"/>; the file is not touched.
    /// </summary>
    /// <param name="firstReads">What the caller will read first; damage found there counts as a file that cannot be opened.</param>
    /// <exception cref="StoreProblemException">The file was written by a newer program: going on would hide the grower's record.</exception>
    public static Store Open(string folder, KeepOptions keep, TimeProvider time, ILogger<Store> log, Action<SqliteConnection>? firstReads = null)
    {
        var file = Path.Combine(folder, StoreFile.Name);
        try
        {
            var text = new SqliteConnectionStringBuilder { DataSource = file, Mode = SqliteOpenMode.ReadWriteCreate }.ToString();
            return new Store(StoreFile.OpenForWriting(text, file, firstReads), text, file, null, keep, time, log);
        }
        catch (StoreProblemException e) when (e.InnerException is SqliteException)
        {
            log.LogError("{Problem} Running without the record: alarms are judged and sent, readings are not kept.", e.Message);
            var memory = new SqliteConnectionStringBuilder
            {
                DataSource = $"rootcellar-{Guid.NewGuid():N}",
                Mode = SqliteOpenMode.Memory,
                Cache = SqliteCacheMode.Shared,
            }.ToString();
            return new Store(StoreFile.OpenForWriting(memory, file), memory, file, e.Message, keep, time, log);
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
        await AllowAsync(items);
        await queue.Writer.WriteAsync(item);
        if (item.Done is not null) await item.Done.Task;
    }

    /// <summary>As <see cref="AppendAsync"/> with urgency, but returns as soon as the item is queued; the second task is the durable one.</summary>
    public async ValueTask<Task> QueueUrgentAsync(IReadOnlyList<StoredReading> items)
    {
        // Memory is no record: nobody gets a receipt, and weeks of readings would fill it.
        if (StartProblem is { } problem) return Task.FromException(new StoreProblemException(problem) { UntilRestart = true });
        var item = new Item(Readings: items, Work: null, Done: NewDone());
        await AllowAsync(items);
        await queue.Writer.WriteAsync(item);
        return item.Done!.Task;
    }

    /// <summary>Writes something that can wait for the next batch and may be lost with the process (sampled air).</summary>
    public ValueTask WriteSoonAsync(Action<SqliteConnection> work) => queue.Writer.WriteAsync(new Item(null, work, null));

    /// <summary>Queues a durable write; the returned task ends once it is on disk, in the order given.</summary>
    /// <exception cref="StoreProblemException">The record cannot be written now.</exception>
    public async Task WriteAsync(Action<SqliteConnection> work)
    {
        var item = new Item(null, work, NewDone());
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
        readings.Dispose();
        await writer.DisposeAsync();
        SqliteConnection.ClearAllPools();
    }

    private static TaskCompletionSource NewDone() => new(TaskCreationOptions.RunContinuationsAsynchronously);

    private async Task WriteLoopAsync()
    {
        while (await queue.Reader.WaitToReadAsync())
        {
            var urgent = false;
            var flushNow = false;
            while (pending.Count < MostTaken && queue.Reader.TryRead(out var item))
            {
                if (ReferenceEquals(item, Item.Flush)) flushNow = true;
                else if (Problem is { } problem && item.Done is not null) Refuse(item, new StoreProblemException(problem));
                else pending.Add(item);
                urgent |= item.Done is not null;
            }

            // While the disk refuses, only the timer tries again: the queue is emptied into memory meanwhile, so that no caller waits.
            if (Problem is not null && !flushNow) Trim();
            else if (urgent || flushNow || pending.Count >= LargestBatch || held.Used >= 2 * LargestBatch || batch <= TimeSpan.Zero) Commit();
            else ArmFlush(batch);
        }

        Commit();
    }

    private int MostTaken => Problem is null ? LargestBatch : int.MaxValue;

    private void ArmFlush(TimeSpan after)
    {
        if (flushArmed) return;
        flushArmed = true;
        flush.Change(after, Timeout.InfiniteTimeSpan);
    }

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
                held.Give(Weight(part));
                Written += part.Count;
            }

            if (Problem is not null) log.LogInformation("The record can be written again");
            Problem = null;
        }
        catch (SqliteException e)
        {
            var message = StoreFile.Explain(e, path);
            if (Problem != message) log.LogError("{Problem}", message);
            Problem = message;
            for (var i = done; i < items.Count; i++) Refuse(items[i], new StoreProblemException(message, e));
            Trim();
            ArmFlush(RetryAfter);
        }
    }

    /// <summary>Urgent writes are refused to their callers, who decide; a refused reading is still worth keeping when the disk comes back.</summary>
    private void Refuse(Item item, StoreProblemException why)
    {
        item.Done?.TrySetException(why);
        if (item.Readings is not null || item.Done is null) pending.Add(item with { Done = null });
    }

    private void Trim()
    {
        if (pending.Count <= MostHeld && held.Used <= MostHeld) return;
        var over = pending.Sum(i => Math.Max(1, i.Readings?.Count ?? 0)) - MostHeld;
        var gone = 0;
        for (; over > 0; gone++) over -= Math.Max(1, pending[gone].Readings?.Count ?? 0);
        if (gone == 0) return;
        var dropped = Weight(pending.GetRange(0, gone));
        Dropped += dropped;
        held.Give(dropped);
        pending.RemoveRange(0, gone);
    }

    private static int Weight(List<Item> items) => items.Sum(i => i.Readings?.Count ?? 0);

    // While the disk refuses nobody waits for it: what is held then is bounded by Trim.
    private ValueTask AllowAsync(IReadOnlyList<StoredReading> readings)
    {
        if (Problem is null) return held.TakeAsync(readings.Count);
        held.Take(readings.Count);
        return ValueTask.CompletedTask;
    }

    private void Run(List<Item> items)
    {
        // Readings alone may be NORMAL; one item that a person or a text depends on makes the whole transaction FULL.
        var full = items.Exists(i => i is { Work: not null, Done: not null });
        writer.Execute(full ? "PRAGMA synchronous=FULL" : "PRAGMA synchronous=NORMAL");
        var failed = new List<(Item, Exception)>();
        using (var transaction = writer.BeginTransaction(deferred: false))
        {
            foreach (var item in items)
            {
                if (item.Readings is not null) readings.Write(item.Readings);
                else RunOne(item, failed);
            }

            transaction.Commit();
        }

        foreach (var (item, error) in failed) item.Done?.TrySetException(error);
        foreach (var item in items) item.Done?.TrySetResult();
    }

    private void RunOne(Item item, List<(Item, Exception)> failed)
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
            failed.Add((item, e));
        }
    }

    private sealed record Item(IReadOnlyList<StoredReading>? Readings, Action<SqliteConnection>? Work, TaskCompletionSource? Done)
    {
        public static readonly Item Flush = new(null, null, null);

        public static readonly Item Probe = new(null, static c => Meta.Set(c, "probed", "1"), null);
    }
}
