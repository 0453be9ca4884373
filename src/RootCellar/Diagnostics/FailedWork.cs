using System.Diagnostics.Metrics;
using Microsoft.Extensions.Diagnostics.HealthChecks;
using Polly;
using Polly.Retry;

namespace RootCellar.Diagnostics;

/// <summary>
/// The one place for work nobody awaits. Whatever fails there is logged (repeated failures summed up), counted by room and
/// what, shown on Now and in health for an hour, and tried again where that can help.
/// </summary>
/// <remarks>
/// <c>room</c> and <c>what</c> are constant phrases, never names or ids: they are the labels of a metric. "What" reads well after
/// "failed:", for instance "keeping the air of a place". A task that was told to stop has not failed; one whose time ran out has.
/// </remarks>
internal sealed class FailedWork : IHealthCheck, IAsyncDisposable
{
    /// <summary>How long a failure is shown after it happened.</summary>
    public static readonly TimeSpan ShownFor = TimeSpan.FromHours(1);

    private const int MostKinds = 200;
    private static readonly TimeSpan SummedUpEvery = TimeSpan.FromMinutes(10);
    private static readonly TimeSpan StopsWithin = TimeSpan.FromSeconds(5);

    private readonly Lock gate = new();
    private readonly Dictionary<(string Room, string What), Record> records = [];
    private readonly HashSet<Task> running = [];
    private readonly CancellationTokenSource stopping = new();
    private readonly TimeProvider time;
    private readonly ILogger<FailedWork> log;
    private readonly Meter meter;
    private readonly Counter<long> failures;
    private readonly ITimer summing;
    private readonly ResiliencePipeline again;

    public FailedWork(TimeProvider time, ILogger<FailedWork> log, IMeterFactory? meters = null)
    {
        this.time = time;
        this.log = log;
        meter = meters?.Create("RootCellar.Monitoring.Work") ?? new Meter("RootCellar.Monitoring.Work");
        failures = meter.CreateCounter<long>("rootcellar.work.failed", "{failure}", "Failures of work that nobody awaits.");
        meter.CreateObservableGauge(
            "rootcellar.work.failing", () => Recent.Count(f => f.Failing), "{kind}", "Kinds of work that fail now and are tried again.");
        summing = time.CreateTimer(_ => SumUp(), null, Timeout.InfiniteTimeSpan, Timeout.InfiniteTimeSpan);
        again = new ResiliencePipelineBuilder { TimeProvider = time }
            .AddRetry(new RetryStrategyOptions
            {
                ShouldHandle = new PredicateBuilder().Handle<Exception>(e => !WasStopped(e)),
                MaxRetryAttempts = 8,
                BackoffType = DelayBackoffType.Exponential,
                UseJitter = true,
                Delay = TimeSpan.FromSeconds(1),
                MaxDelay = TimeSpan.FromMinutes(5),
                OnRetry = a =>
                {
                    var (room, what) = a.Context.Properties.GetValue(Kind, ("", ""));
                    Failed(room, what, a.Outcome.Exception!, triedAgain: true);
                    return ValueTask.CompletedTask;
                },
            })
            .Build();
    }

    private static ResiliencePropertyKey<(string Room, string What)> Kind { get; } = new("kind");

    /// <summary>What failed within the last hour or fails still, the latest first.</summary>
    public IReadOnlyList<WorkFailure> Recent
    {
        get
        {
            lock (gate)
            {
                return
                [
                    .. records.Where(r => r.Value.Failing || time.GetElapsedTime(r.Value.LastMono) < ShownFor)
                        .OrderByDescending(r => r.Value.LastMono)
                        .Select(r => r.Value.As(r.Key.Room, r.Key.What)),
                ];
            }
        }
    }

    /// <summary>Takes over a task that has begun. It cannot be begun anew, so a failure is said and not tried again.</summary>
    public void Watch(Task work, string room, string what)
    {
        if (work.IsCompletedSuccessfully) return;
        Hold(WatchAsync(work, room, what));
    }

    /// <summary>
    /// Runs work and, where it fails, again: at most nine times within about ten minutes. It begins at once on the caller's thread, as a
    /// call of it would.
    /// </summary>
    /// <param name="retry">False for work that must not be done twice.</param>
    public void Run(string room, string what, Func<CancellationToken, Task> work, bool retry = true) =>
        Hold(retry ? RunAgainAsync(room, what, work) : WatchAsync(BeginAsync(work), room, what));

    /// <summary>
    /// Looks at once and then again and again until the service stops. A look that fails is said and tried again at the next.
    /// </summary>
    public async Task LookEveryAsync(TimeSpan every, string room, string what, Func<CancellationToken, Task> look, CancellationToken stoppingToken)
    {
        await Task.Yield();
        using var timer = new PeriodicTimer(every, time);
        try
        {
            do
            {
                try
                {
                    await look(stoppingToken);
                    WorksAgain(room, what);
                }
                catch (Exception e) when (e is not OperationCanceledException && !stoppingToken.IsCancellationRequested)
                {
                    Failed(room, what, e, triedAgain: true);
                }
            }
            while (await timer.WaitForNextTickAsync(stoppingToken));
        }
        catch (Exception) when (stoppingToken.IsCancellationRequested)
        {
            // Stopping.
        }
    }

    /// <summary>Says that a piece of work failed.</summary>
    /// <param name="triedAgain">It counts as failing until <see cref="WorksAgain"/> is called or it fails for good.</param>
    public void Failed(string room, string what, Exception problem, bool triedAgain = false)
    {
        Record record;
        bool first;
        lock (gate)
        {
            record = RecordOf(ref room, ref what);
            if (!record.Failing && time.GetElapsedTime(record.LastMono) >= ShownFor) record.Begin(time.GetUtcNow());
            first = record.Count++ == 0 || time.GetElapsedTime(record.LoggedMono) >= SummedUpEvery;
            record.Note(problem.Message, triedAgain, time.GetUtcNow(), time.GetTimestamp());
            if (first) record.LoggedMono = time.GetTimestamp();
            else if (record.Unsaid++ == 0) summing.Change(SummedUpEvery, Timeout.InfiniteTimeSpan);
        }

        failures.Add(1, new KeyValuePair<string, object?>("room", room), new KeyValuePair<string, object?>("what", what));
        if (first) log.LogError(problem, "{Room} failed: {What}{Again}", room, what, triedAgain ? "; it is tried again" : "");
    }

    /// <summary>Says that work which failed before is done now.</summary>
    public void WorksAgain(string room, string what)
    {
        lock (gate)
        {
            if (!records.TryGetValue((room, what), out var record) || !record.Failing) return;
            record.Failing = false;
        }

        log.LogInformation("{Room} works again: {What}", room, what);
    }

    /// <summary>Degraded while something failed within the last hour or fails still: the watch goes on, but somebody should look.</summary>
    public Task<HealthCheckResult> CheckHealthAsync(HealthCheckContext context, CancellationToken cancellationToken = default)
    {
        var recent = Recent;
        return Task.FromResult(recent.Count == 0
            ? HealthCheckResult.Healthy()
            : HealthCheckResult.Degraded(string.Join("; ", recent.Select(f => $"{f.Room} failed {f.Count} times: {f.What}"))));
    }

    public async ValueTask DisposeAsync()
    {
        await stopping.CancelAsync();
        Task[] left;
        lock (gate) left = [.. running];
        await Task.WhenAny(Task.WhenAll(left), Task.Delay(StopsWithin, TimeProvider.System));
        SumUp();
        await summing.DisposeAsync();
        meter.Dispose();
        stopping.Dispose();
    }

    /// <summary>Cancelled because somebody asked for it; a time that ran out is a failure, though it looks the same.</summary>
    private static bool WasStopped(Exception e) => e is OperationCanceledException { InnerException: not TimeoutException };

    private void Hold(Task work)
    {
        lock (gate) running.Add(work);
        // A task of this class never fails: it has said its failure itself.
        work.GetAwaiter().OnCompleted(() =>
        {
            lock (gate) running.Remove(work);
        });
    }

    private async Task BeginAsync(Func<CancellationToken, Task> work) => await work(stopping.Token);

    private async Task WatchAsync(Task work, string room, string what)
    {
        try
        {
            await work.ConfigureAwait(false);
        }
        catch (Exception e) when (WasStopped(e))
        {
            // Nobody wants it any more.
        }
        catch (Exception e)
        {
            // One exception is thrown; a task of several parts has more.
            foreach (var problem in work.Exception?.InnerExceptions ?? [e]) Failed(room, what, problem);
        }
    }

    private async Task RunAgainAsync(string room, string what, Func<CancellationToken, Task> work)
    {
        var context = ResilienceContextPool.Shared.Get(stopping.Token);
        context.Properties.Set(Kind, (room, what));
        try
        {
            await again.ExecuteAsync(async c => await work(c.CancellationToken), context).ConfigureAwait(false);
            WorksAgain(room, what);
        }
        catch (Exception e) when (WasStopped(e))
        {
            // Nobody wants it any more.
        }
        catch (Exception e)
        {
            Failed(room, what, e);
        }
        finally
        {
            ResilienceContextPool.Shared.Return(context);
        }
    }

    private void SumUp()
    {
        List<(string Room, string What, int More, string Problem)> unsaid;
        lock (gate)
        {
            unsaid = [.. records.Where(r => r.Value.Unsaid > 0).Select(r => (r.Key.Room, r.Key.What, r.Value.Unsaid, r.Value.Problem))];
            foreach (var record in records.Values.Where(r => r.Unsaid > 0)) (record.Unsaid, record.LoggedMono) = (0, time.GetTimestamp());
        }

        foreach (var (room, what, more, problem) in unsaid)
            log.LogError("{Room} failed {More} times more: {What}; last: {Problem}", room, more, what, problem);
    }

    private Record RecordOf(ref string room, ref string what)
    {
        if (records.TryGetValue((room, what), out var known)) return known;
        // Labels made of names would fill memory and metrics; they share one line then.
        if (records.Count >= MostKinds) (room, what) = ("other", "other work");
        if (records.TryGetValue((room, what), out known)) return known;
        return records[(room, what)] = new Record { First = time.GetUtcNow() };
    }

    private sealed class Record
    {
        public int Count { get; set; }

        public int Unsaid { get; set; }

        public bool Failing { get; set; }

        public string Problem { get; private set; } = "";

        public DateTimeOffset First { get; set; }

        public DateTimeOffset Last { get; private set; }

        public long LastMono { get; private set; }

        public long LoggedMono { get; set; }

        public void Begin(DateTimeOffset at) => (First, Count) = (at, 0);

        public void Note(string problem, bool failing, DateTimeOffset at, long mono) =>
            (Problem, Failing, Last, LastMono) = (problem, failing, at, mono);

        public WorkFailure As(string room, string what) => new(room, what, Count, First, Last, Problem, Failing);
    }
}

/// <summary>A kind of work that failed, as it stands now.</summary>
/// <param name="Count">Failures since <paramref name="First"/>.</param>
/// <param name="Problem">What the last failure said; may name paths, so not for strangers.</param>
/// <param name="Failing">It is being tried again and has not been done yet.</param>
internal sealed record WorkFailure(
    string Room, string What, int Count, DateTimeOffset First, DateTimeOffset Last, string Problem, bool Failing);
