using System.Threading.Channels;
using RootCellar.Diagnostics;
using RootCellar.Readings;
using RootCellar.Storage;

namespace RootCellar.Monitoring;

/// <summary>
/// The walk of a reading: decoded, believed or not, made into place air, judged, told and kept. One thread owns the
/// <see cref="LiveState"/>; what comes in waits in one bounded queue, whose policy is to hold the sender back.
/// Judging never waits for the disk; only the receipt does.
/// </summary>
internal sealed class Pipeline : IReadingSink, IAsyncDisposable
{
    private const int MostLooks = 20;

    // While messages wait, making snapshots takes at most one part in so many of the thread's time; else there is one after each message.
    private const int SnapshotShare = 20;

    private static readonly TimeSpan TickEvery = TimeSpan.FromSeconds(1);

    // Far below the step of the clock that is told of (LiveState.StepNoticed).
    private static readonly TimeSpan OneMoment = TimeSpan.FromSeconds(20);

    private readonly Channel<Work> queue = Channel.CreateBounded<Work>(new BoundedChannelOptions(10_000)
    {
        SingleReader = true,
        FullMode = BoundedChannelFullMode.Wait,
    });

    // About 10 MB of decoded values; a message more than counts for its values and one for itself.
    private readonly Allowance values = new(100_000);

    private readonly PayloadDecoder decoder;
    private readonly HeardTopics topics;
    private readonly LiveState house;
    private readonly Store store;
    private readonly Recorder recorder;
    private readonly ReadingMetrics metrics;
    private readonly TimeProvider time;
    private readonly FailedWork failed;
    private readonly long started;
    private ITimer? ticker;
    private Task loop = Task.CompletedTask;
    private long replays;
    private long lastTick;
    private volatile LiveSnapshot snapshot = LiveSnapshot.Empty;
    private TimeSpan snapshotDue;

    // How often the time came to be known since the start, and by how much it was put right then.
    private readonly Lock setting = new();
    private int times;
    private TimeSpan putRightBy;

    public Pipeline(MappingDesk mappings, HeardTopics heard, LiveState house, Store store, Recorder recorder, ReadingMetrics metrics, TimeProvider time,
        FailedWork failed)
    {
        decoder = new PayloadDecoder(mappings.InForce);
        mappings.Changed += (_, _) => decoder.Use(mappings.InForce);
        topics = heard;
        this.house = house;
        this.store = store;
        this.recorder = recorder;
        this.metrics = metrics;
        this.time = time;
        this.failed = failed;
        started = time.GetTimestamp();
    }

    /// <summary>
    /// What is known now, to read from and not to wait for. A change asked for is in it before its asker has the answer, and a message
    /// before its receipt is given; while many messages wait, it comes with the last of them, or sooner.
    /// </summary>
    public LiveSnapshot Snapshot => snapshot;

    /// <summary>How many snapshots were made.</summary>
    internal long Snapshots { get; private set; }

    /// <summary>Retained messages sent again by a broker; they are never readings.</summary>
    public long Replays => Interlocked.Read(ref replays);

    /// <summary>Messages and questions that wait for the one thread.</summary>
    public int Waiting => queue.Reader.Count;

    /// <summary>The keys of the sensors that a message is of; none where the topic is not ours.</summary>
    public IReadOnlyList<string> SensorsOf(string topic, ReadOnlyMemory<byte> payload) => decoder.SensorsOf(topic, payload);

    /// <summary>It ticks every second; thirty missed in a row are no busy moment (assumed).</summary>
    private static readonly TimeSpan Stuck = TimeSpan.FromSeconds(30);

    /// <summary>Whether the one thread no longer judges.</summary>
    public bool IsStuck => SinceLastTick > Stuck;

    /// <summary>How long the one thread has not ticked.</summary>
    public TimeSpan SinceLastTick => Mono - new TimeSpan(Interlocked.Read(ref lastTick));

    private TimeSpan Mono => time.GetElapsedTime(started);

    /// <summary>
    /// Both clocks at one moment. A thread that is put aside between the two looks would make it seem that the wall clock was set: then it
    /// looks again. On a busy machine, and in the demo's hurried time, that happens.
    /// </summary>
    private Moment Both()
    {
        lock (setting)
        {
            for (var tries = 1; ; tries++)
            {
                var before = Mono;
                var wall = time.GetUtcNow();
                var after = Mono;
                if (after - before < OneMoment || tries == MostLooks) return new Moment(wall, before + ((after - before) / 2), times);
            }
        }
    }

    /// <summary>Takes up where the last run stopped, and begins.</summary>
    public void Start()
    {
        var (begunWall, begunMono, _) = Both();
        house.TakeUp(begunWall, begunMono);
        Publish(begunWall, begunMono);
        Interlocked.Exchange(ref lastTick, Mono.Ticks);
        KeepUnasked();
        ticker = time.CreateTimer(
            _ =>
            {
                queue.Writer.TryWrite(new Work(null, null, null, Both()));
            },
            null, TickEvery, TickEvery);
        loop = Task.Run(LoopAsync);
    }

    /// <summary>
    /// Takes a message. The outer task ends when it is queued (that is the back-pressure), the inner one when it is
    /// done with; for a message that wants a receipt, when its readings are on disk.
    /// </summary>
    public async ValueTask<Task> OfferAsync(Arrived arrived)
    {
        if (arrived.Replay)
        {
            Interlocked.Increment(ref replays);
            return Task.CompletedTask;
        }

        // Decoding here, on the sender's thread, keeps the one thread for what needs it.
        var now = Both();
        var decoded = decoder.Decode(arrived.Topic, arrived.Payload, now.Wall);
        if (decoded is Decoded.NotOurs or Decoded.Unreadable && !arrived.Topic.StartsWith(Announcements.Root, StringComparison.Ordinal))
            topics.Note(arrived.Topic, arrived.Payload, now.Wall);
        var heard = Heard.Of(arrived, decoded);
        await values.TakeAsync(heard.Weight);
        var done = arrived.WantsReceipt ? new TaskCompletionSource(TaskCreationOptions.RunContinuationsAsynchronously) : null;
        await queue.Writer.WriteAsync(new Work(heard, null, done, now));
        return done?.Task ?? Task.CompletedTask;
    }

    /// <summary>
    /// What was heard of a topic before it was understood, now that it is: readings of their own hours, and the newest one of now.
    /// </summary>
    /// <returns>The keys of the sensors they are of.</returns>
    public async Task<IReadOnlyList<string>> HearAgainAsync(HeardTopic topic, CancellationToken cancellationToken)
    {
        var now = Both();
        var keys = new HashSet<string>(StringComparer.Ordinal);
        foreach (var (at, payload) in topic.Payloads)
        {
            if (decoder.Decode(topic.Topic, payload, now.Wall) is not Decoded.Measurements said) continue;
            for (var part = said; part is not null; part = part.Next) keys.Add(part.Sensor);
            var heard = Heard.Of(new Arrived(topic.Topic, payload, WantsReceipt: false, Dup: false, Replay: false), At(said, at));
            await values.TakeAsync(heard.Weight);
            await queue.Writer.WriteAsync(new Work(heard, null, null, now), cancellationToken);
        }

        return [.. keys];

        static Decoded.Measurements At(Decoded.Measurements said, DateTimeOffset at) => said with
        {
            Values = [.. said.Values.Select(v => v with { DeviceTime = at })],
            Next = said.Next is { } next ? At(next, at) : null,
        };
    }

    /// <summary>
    /// Runs something on the one thread, with the house as it is between two readings. Ends when what it changed is on
    /// disk, or is known not to be: a set-up change then throws, an alarm's state is written later.
    /// </summary>
    /// <param name="ask">What is done. Only changes are asked for: what is to be read stands in <see cref="Snapshot"/>.</param>
    /// <param name="cancellationToken">Ends the waiting. What was not begun is not done any more; what was begun is finished and
    /// kept.</param>
    /// <exception cref="StoreProblemException">What was changed holds until the next start only.</exception>
    public async Task<T> AskAsync<T>(Func<LiveState, DateTimeOffset, TimeSpan, T> ask, CancellationToken cancellationToken)
    {
        T answer = default!;
        var done = new TaskCompletionSource(TaskCreationOptions.RunContinuationsAsynchronously);
        var work = new Work(null, (wall, mono) => answer = ask(house, wall, mono), done, Both()) { Asker = cancellationToken };
        await queue.Writer.WriteAsync(work, cancellationToken);
        try
        {
            await done.Task.WaitAsync(cancellationToken);
        }
        catch (OperationCanceledException)
        {
            // Nobody waits for it now; whether it fails is still to be said.
            failed.Watch(done.Task, "watch", "finishing a change that nobody waits for any more");
            throw;
        }

        return answer;
    }

    /// <summary>The time comes to be known, between two readings: those before it have the time as it was counted, those after it the right one.</summary>
    /// <param name="set">Sets it, and says what is to be moved; null where nothing is.</param>
    /// <param name="cancellationToken">Ends the waiting.</param>
    public Task SetTimeAsync(Func<TimePutRight?> set, CancellationToken cancellationToken) => AskAsync(
        (_, _, _) =>
        {
            TimePutRight? right;
            lock (setting)
            {
                right = set();
                if (right is null) return false;
                (times, putRightBy) = (times + 1, right.By);
            }

            var (wall, mono, _) = Both();
            house.PutRight(right, wall, mono);
            return true;
        },
        cancellationToken);

    public async ValueTask DisposeAsync()
    {
        if (ticker is not null) await ticker.DisposeAsync();
        queue.Writer.TryComplete();
        await loop;
        // What was set up since the last tick.
        if (house.TakeCopy() is { } copy) recorder.Copy(copy);
    }

    private async Task LoopAsync()
    {
        await foreach (var work in queue.Reader.ReadAllAsync())
        {
            await TryAsync(work);
            if (work.Heard is { } heard) values.Give(heard.Weight);
        }
    }

    private async ValueTask TryAsync(Work work)
    {
        try
        {
            await DoAsync(work);
        }
        catch (Exception e)
        {
            // The one place that must survive anything: a bug in one message must not end the watch.
            failed.Failed("watch", "handling a message or a tick", e);
            work.Done?.TrySetException(e);
        }
    }

    // What waited while the time was set was stamped before.
    private Work OnTime(Work work) => work.At.Times == times
        ? work : work with { At = work.At with { Wall = work.At.Wall + putRightBy, Times = times } };

    private async ValueTask DoAsync(Work given)
    {
        var work = OnTime(given);
        if (work.Asker.IsCancellationRequested)
        {
            work.Done!.TrySetCanceled(work.Asker);
        }
        else if (work.Ask is not null)
        {
            work.Ask(work.Wall, work.Mono);
            work = OnTime(work);
            Publish(work.Wall, work.Mono);
            GiveReceipt(Keep(house.TakeChanges()), work.Done!);
        }
        else if (work.Heard is null)
        {
            Tick(work);
        }
        else
        {
            // A full queue has no room for the ticker's word; then the messages themselves keep the time.
            if (work.Mono - new TimeSpan(Interlocked.Read(ref lastTick)) >= 2 * TickEvery) Tick(work);
            var readings = house.Hear(work.Heard, work.Wall, work.Mono, out var turnedAway);
            metrics.Judged(Mono - work.Mono);
            PublishIfDue(work.Wall, work.Mono);
            // Alarms first: whoever has the receipt for a reading can rely on the text it caused being on disk too.
            KeepUnasked();
            if (turnedAway is not null) work.Done?.TrySetException(new SensorTurnedAwayException(turnedAway));
            else if (work.Done is null) await store.AppendAsync(readings, urgent: false);
            else GiveReceipt(await store.QueueUrgentAsync(readings), work.Done);
        }
    }

    private void Tick(Work work)
    {
        Interlocked.Exchange(ref lastTick, work.Mono.Ticks);
        house.Tick(work.Wall, work.Mono);
        PublishIfDue(work.Wall, work.Mono);
        KeepUnasked();
        recorder.RetryUnsaved();
        if (house.TakeCopy() is { } copy) recorder.Copy(copy);
    }

    private void PublishIfDue(DateTimeOffset wall, TimeSpan mono)
    {
        if (queue.Reader.Count == 0 || Mono >= snapshotDue) Publish(wall, mono);
    }

    private void Publish(DateTimeOffset wall, TimeSpan mono)
    {
        var before = Mono;
        snapshot = house.Snapshot(wall, mono);
        Snapshots++;
        var after = Mono;
        snapshotDue = after + ((SnapshotShare - 1) * (after - before));
    }

    private Task Keep(IReadOnlyList<Change> changes) => changes.Count == 0
        ? Task.CompletedTask : Task.WhenAll(changes.Select(recorder.KeepAsync));

    /// <summary>Keeps what nobody waits for: what fails is tried again by the recorder, or at least said.</summary>
    private void KeepUnasked() => failed.Watch(Keep(house.TakeChanges()), Store.Room, "keeping what was decided");

    /// <summary>Whoever asked hears of a failure with the receipt.</summary>
    private void GiveReceipt(Task kept, TaskCompletionSource done) => failed.Watch(ReceiptAsync(kept, done), "watch", "giving a receipt");

    private static async Task ReceiptAsync(Task kept, TaskCompletionSource done)
    {
        try
        {
            await kept;
            done.TrySetResult();
        }
        catch (Exception e)
        {
            done.TrySetException(e);
        }
    }

    /// <summary>Both clocks at one moment, and how often the time had come to be known by then.</summary>
    private readonly record struct Moment(DateTimeOffset Wall, TimeSpan Mono, int Times);

    private sealed record Work(Heard? Heard, Action<DateTimeOffset, TimeSpan>? Ask, TaskCompletionSource? Done, Moment At)
    {
        public DateTimeOffset Wall => At.Wall;

        public TimeSpan Mono => At.Mono;

        /// <summary>Cancelled: whoever asked is gone.</summary>
        public CancellationToken Asker { get; init; }
    }
}

/// <summary>
/// A message with what was read out of it. Its payload is cut to the first bytes, for thousands may wait here and a payload may be large;
/// <see cref="Fingerprint"/> is of the whole.
/// </summary>
internal sealed record Heard(Arrived Arrived, Decoded Decoded, int Fingerprint)
{
    private const int Kept = 80;

    /// <summary>What it costs to have it wait: its values and itself.</summary>
    public int Weight
    {
        get
        {
            var weight = 1;
            for (var part = Decoded as Decoded.Measurements; part is not null; part = part.Next) weight += part.Values.Count;
            return weight;
        }
    }

    public static Heard Of(in Arrived arrived, Decoded decoded) => new(
        arrived with { Payload = arrived.Payload.Length <= Kept ? arrived.Payload : arrived.Payload[..Kept].ToArray() },
        decoded,
        DuplicateGuard.FingerprintOf(arrived.Payload.Span));
}
