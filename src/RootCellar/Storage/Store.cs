using System.Diagnostics.Metrics;
using System.Threading.Channels;
using Microsoft.Data.Sqlite;
using Microsoft.Extensions.Logging.Abstractions;
using RootCellar.Diagnostics;

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
internal sealed partial class Store : IAsyncDisposable
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
    private readonly Prepared prepared;
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
        SqliteConnection writer, string readerConnection, string path, string? startProblem, KeepOptions keep, TimeProvider time,
        ILogger<Store> log,
        FailedWork? failed, IMeterFactory? meters)
    {
        this.writer = writer;
        this.readerConnection = readerConnection;
        this.path = path;
        this.time = time;
        this.log = log;
        this.failed = failed ?? new FailedWork(time, NullLogger<FailedWork>.Instance);
        StartProblem = startProblem;
        CardErrors = new CardErrors(time);
        batch = TimeSpan.FromSeconds(keep.BatchSeconds);
        syncWithin = TimeSpan.FromSeconds(keep.SyncSeconds);
        held = new HeldWrites(this.failed);
        meter = new StorageMeter(
            meters, () => queue.Reader.Count + pending.Count + held.Count, () => Age(ref waitingSince), () => Age(ref unsyncedSince));
        prepared = new Prepared(writer);
        flush = Timer(() => Volatile.Write(ref flushDue, 1));
        sync = Timer(() => Volatile.Write(ref syncDue, 1));
        again = Timer(() => Volatile.Write(ref againDue, 1));
        loop = Task.Run(WriteLoopAsync);
    }

    /// <summary>What the card under the record got wrong.</summary>
    public CardErrors CardErrors { get; }

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
    /// <exception cref="StoreProblemException">The file was written by a newer program: going on would hide the grower's
    /// record.</exception>
    public static Store Open(
        string folder, KeepOptions keep, TimeProvider time, ILogger<Store> log, Action<SqliteConnection>? firstReads = null,
        FailedWork? failed = null, IMeterFactory? meters = null)
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
    /// Keeps rows. With <paramref name="urgent"/> the task ends once they are on disk (and faults with
    /// <see cref="StoreProblemException"/> when they are not); otherwise it ends once they are queued.
    /// </summary>
    public async ValueTask AppendAsync(IBulk items, bool urgent)
    {
        if (StartProblem is not null && !urgent) return;
        var item = new Item(Bulk: items, Work: null, Done: urgent ? NewDone() : null);
        await underWay.TakeAsync(items.Count);
        await queue.Writer.WriteAsync(item);
        if (item.Done is not null) await item.Done.Task;
    }

    /// <summary>
    /// As <see cref="AppendAsync"/> with urgency, but returns as soon as the item is queued; the second task is the durable one.
    /// </summary>
    public async ValueTask<Task> QueueUrgentAsync(IBulk items)
    {
        // Memory is no record: nobody gets a receipt, and weeks of readings would fill it.
        if (StartProblem is { } problem) return Task.FromException(new StoreProblemException(problem) { UntilRestart = true });
        var item = new Item(Bulk: items, Work: null, Done: NewDone());
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
        try
        {
            using var connection = new SqliteConnection(readerConnection);
            connection.Open();
            return work(connection);
        }
        catch (SqliteException e) when (CardErrors.IsOne(e))
        {
            CardErrors.Note(e);
            throw;
        }
    }

    public async ValueTask DisposeAsync()
    {
        queue.Writer.TryComplete();
        await loop;
        await flush.DisposeAsync();
        await sync.DisposeAsync();
        await again.DisposeAsync();
        meter.Dispose();
        prepared.Dispose();
        await writer.DisposeAsync();
        SqliteConnection.ClearAllPools();
    }

    private static TaskCompletionSource NewDone() => new(TaskCreationOptions.RunContinuationsAsynchronously);

    private sealed record Item(IBulk? Bulk, Action<SqliteConnection>? Work, TaskCompletionSource? Done)
    {
        public static readonly Item Wake = new(null, null, null);

        public static readonly Item Probe = new(null, static c => Meta.Set(c, "probed", "1"), null);

        public SoonWrite? Soon { get; init; }

        public string? Key { get; init; }
    }
}
