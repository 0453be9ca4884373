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
    /// <exception cref="StoreProblemException">The file was written by a newer program: going on would hide the grower's record.</exception>
    public static Store Open(string folder, KeepOptions keep, TimeProvider time, ILogger<Store> log)
    {
        var file = Path.Combine(folder, StoreFile.Name);
        try
        {
            var text = new SqliteConnectionStringBuilder { DataSource = file, Mode = SqliteOpenMode.ReadWriteCreate }.ToString();
            return new Store(StoreFile.OpenForWriting(text, file), text, file, null, keep, time, log);
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
        var item = new Item(Readings: items, Work: null, Done: urgent ? NewDone() : null);
        await queue.Writer.WriteAsync(item);
        if (item.Done is not null) await item.Done.Task;
    }

    /// <summary>As <see cref="AppendAsync"/> with urgency, but returns as soon as the item is queued; the second task is the durable one.</summary>
    public async ValueTask<Task> QueueUrgentAsync(IReadOnlyList<StoredReading> items)
    {
        var item = new Item(Readings: items, Work: null, Done: NewDone());
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
            // While the disk refuses, the queue is emptied all the same: were it to fill, it would hold up the judging of alarms.
            while ((pending.Count < LargestBatch || Problem is not null) && queue.Reader.TryRead(out var item))
            {
                urgent |= item.Done is not null || ReferenceEquals(item, Item.Flush);
                if (!ReferenceEquals(item, Item.Flush)) pending.Add(item);
            }

            if (urgent || (Problem is null && (pending.Count >= LargestBatch || batch <= TimeSpan.Zero)))
            {
                Commit();
            }
            else if (!flushArmed)
            {
                flushArmed = true;
                flush.Change(batch, Timeout.InfiniteTimeSpan);
            }
        }

        Commit();
    }

    private void Commit()
    {
        flushArmed = false;
        if (pending.Count == 0) return;
        var items = pending;
        pending = [];
        try
        {
            Run(items);
            Written += items.Count;
            if (Problem is not null) log.LogInformation("The record can be written again");
            Problem = null;
        }
        catch (SqliteException e)
        {
            var message = StoreFile.Explain(e, path);
            if (Problem != message) log.LogError("{Problem}", message);
            Problem = message;
            var failure = new StoreProblemException(message, e);
            foreach (var item in items) item.Done?.TrySetException(failure);
            Hold(items);
        }
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

    private void Hold(List<Item> items)
    {
        // Urgent writes were refused to their callers, who decide; but a refused reading is still worth keeping when the disk comes back.
        var keep = items.Where(i => i.Readings is not null || i.Done is null).Select(i => i with { Done = null }).ToList();
        if (keep.Count > MostHeld)
        {
            Dropped += keep.Count - MostHeld;
            keep.RemoveRange(0, keep.Count - MostHeld);
        }

        pending = keep;
        flush.Change(RetryAfter, Timeout.InfiniteTimeSpan);
        flushArmed = true;
    }

    private sealed record Item(IReadOnlyList<StoredReading>? Readings, Action<SqliteConnection>? Work, TaskCompletionSource? Done)
    {
        public static readonly Item Flush = new(null, null, null);
    }
}
