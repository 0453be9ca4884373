using System.Diagnostics.Metrics;
using Microsoft.Data.Sqlite;
using RootCellar.Diagnostics;
using RootCellar.Storage;
using RootCellar.Tell;

namespace RootCellar.Monitoring;

/// <summary>Texts that came in since the start, by what became of them.</summary>
internal sealed class AnswerCounts : IRoomMetrics
{
    private readonly long[] counts = new long[Enum.GetValues<AnswerOutcome>().Length];
    private readonly Counter<long> counter;

    public AnswerCounts(IMeterFactory meters) =>
        counter = meters.Create("RootCellar.Tell").CreateCounter<long>("rootcellar.answers", null, "Texts that came in by the modem, by what became of them.");

    public long this[AnswerOutcome outcome] => Interlocked.Read(ref counts[(int)outcome]);

    public void Count(AnswerOutcome outcome)
    {
        Interlocked.Increment(ref counts[(int)outcome]);
        counter.Add(1, new KeyValuePair<string, object?>("outcome", outcome.ToString().ToLowerInvariant()));
    }
}

/// <summary>
/// Looks every few seconds for texts that the modem received. Each is taken once, also over a restart; what lay there before the service first
/// looked, or is older than a day, answers nothing.
/// </summary>
internal sealed class AnswerService(
    ModemInbox inbox, Pipeline pipeline, Store store, TimeProvider time, AnswerCounts counts, FailedWork failed, ILogger<AnswerService> log)
    : BackgroundService
{
    private const string FirstLook = "answers_first_look";
    private const string Done = "answers_done";
    private const string Taking = "taking answers by text";
    private const int MostAtOnce = 100;

    private static readonly TimeSpan LookEvery = TimeSpan.FromSeconds(5);

    /// <summary>A text older than this answers nothing any more (assumed).</summary>
    private static readonly TimeSpan Fresh = TimeSpan.FromHours(24);

    private readonly SemaphoreSlim one = new(1);

    // By file name, when each came.
    private Dictionary<string, DateTimeOffset>? done;
    private DateTimeOffset first;

    protected override async Task ExecuteAsync(CancellationToken stoppingToken)
    {
        using var timer = new PeriodicTimer(LookEvery, time);
        try
        {
            do await LookAsync(stoppingToken);
            while (await timer.WaitForNextTickAsync(stoppingToken));
        }
        catch (OperationCanceledException)
        {
            // Stopping: what was not taken lies there at the next start.
        }
    }

    /// <summary>Takes what came in since the last look.</summary>
    internal async Task LookAsync(CancellationToken stopping)
    {
        if (!inbox.IsAsked) return;
        await one.WaitAsync(stopping);
        try
        {
            done ??= await BeginAsync();
            var since = time.GetUtcNow() - Fresh;
            if (first > since) since = first;
            foreach (var text in inbox.Look(since, done.ContainsKey).Take(MostAtOnce)) await TakeAsync(text, done, stopping);
            failed.WorksAgain("texts", Taking);
        }
        catch (Exception e) when (e is not OperationCanceledException)
        {
            failed.Failed("texts", Taking, e, triedAgain: true);
        }
        finally
        {
            one.Release();
        }
    }

    public override void Dispose()
    {
        one.Dispose();
        base.Dispose();
    }

    private async Task TakeAsync(Received text, Dictionary<string, DateTimeOffset> done, CancellationToken stopping)
    {
        var outcome = await pipeline.AskAsync((house, wall, mono) => house.Answer(text.From, text.Text, mono, wall), stopping);
        counts.Count(outcome);
        // A stranger's words are nobody's to read in a log.
        log.LogInformation("A text came in by the modem: {Outcome}", outcome);
        done[text.File] = text.At;
        foreach (var old in done.Where(d => d.Value < time.GetUtcNow() - (2 * Fresh)).Select(d => d.Key).ToList()) done.Remove(old);
        await WriteAsync(c => Meta.Set(c, Done, string.Join('\n', done.Select(d => $"{d.Value.ToUnixTimeMilliseconds()} {d.Key}"))));
    }

    private async Task<Dictionary<string, DateTimeOffset>> BeginAsync()
    {
        first = time.GetUtcNow();
        var known = new Dictionary<string, DateTimeOffset>(StringComparer.Ordinal);
        try
        {
            var (at, taken) = store.Read(c => (Meta.Get(c, FirstLook), Meta.Get(c, Done)));
            if (long.TryParse(at, out var ms)) first = DateTimeOffset.FromUnixTimeMilliseconds(ms);
            else await WriteAsync(c => Meta.Set(c, FirstLook, first.ToUnixTimeMilliseconds().ToString(System.Globalization.CultureInfo.InvariantCulture)));
            foreach (var line in (taken ?? "").Split('\n', StringSplitOptions.RemoveEmptyEntries))
            {
                if (line.Split(' ', 2) is [var when, var file] && long.TryParse(when, out var then))
                    known[file] = DateTimeOffset.FromUnixTimeMilliseconds(then);
            }
        }
        catch (SqliteException)
        {
            // Without the record what lies there now is as good as read: better an answer that is not taken than an old one taken for new.
        }

        return known;
    }

    /// <summary>What the disk refuses the store says itself; until the next start it holds all the same.</summary>
    private async Task WriteAsync(Action<SqliteConnection> write)
    {
        try
        {
            await store.WriteAsync(write);
        }
        catch (StoreProblemException)
        {
            // Said by the store.
        }
    }
}
