using System.Text.Json;
using Microsoft.Data.Sqlite;
using RootCellar.Diagnostics;
using RootCellar.Household;
using RootCellar.Lots;
using RootCellar.Storage;

namespace RootCellar.Mirror;

/// <summary>
/// Sends what the record has and the other server has not: looks every few seconds, takes the next points, sends them, marks them. Nothing
/// else waits for it. A process that dies between sending and marking sends again, and the points fall on themselves.
/// </summary>
internal sealed class MirrorService(
    MirrorOptions options,
    Store store,
    Func<LotViews> estimates,
    MirrorState state,
    TimeProvider time,
    ILogger<MirrorService> log,
    MirrorPace? pace = null) : BackgroundService
{
    private static readonly TimeSpan EstimatesEvery = TimeSpan.FromHours(1);

    private readonly MirrorPace pace = pace ?? new MirrorPace();
    private readonly InfluxDoor door = new(options.Influx, pace ?? new MirrorPace());
    private DateTimeOffset estimatesAt;
    private bool reached;
    private int away;
    private string? said;

    public override void Dispose()
    {
        base.Dispose();
        door.Dispose();
    }

    protected override async Task ExecuteAsync(CancellationToken stoppingToken)
    {
        await Task.Yield();
        state.Now = state.Now with { State = MirrorWord.Starting };
        try
        {
            while (!stoppingToken.IsCancellationRequested)
            {
                var wait = TimeSpan.FromSeconds(options.EverySeconds);
                try
                {
                    wait = await RoundAsync(stoppingToken);
                }
                catch (Exception e) when (e is StoreProblemException or SqliteException && !stoppingToken.IsCancellationRequested)
                {
                    await SayAsync(MirrorWord.Waiting, $"the record cannot be used: {e.Message}");
                }
                catch (Exception e) when (e is not OperationCanceledException && !stoppingToken.IsCancellationRequested)
                {
                    // The cellar goes on whatever one row does to the mirror; the next round tries again.
                    log.LogError(e, "The mirror could not make its round");
                    await SayAsync(MirrorWord.Waiting, "a fault of its own; see the log");
                }

                await Task.Delay(wait, pace.Time, stoppingToken);
            }
        }
        catch (Exception) when (stoppingToken.IsCancellationRequested)
        {
            // Stopping: the marks are in the record, and the next start goes on from them.
        }
    }

    /// <summary>One round, until nothing waits or the server does not take more; how long to wait for the next.</summary>
    private async Task<TimeSpan> RoundAsync(CancellationToken stopping)
    {
        // What is sent cannot be moved there.
        if (!HouseClock.HourCountsOn(time)) return TimeSpan.FromSeconds(options.EverySeconds);
        if (store.StartProblem is { } problem) throw new StoreProblemException(problem);
        if (state.Now.Since is null) await SwitchOnAsync();
        await LogEstimatesAsync();
        for (var first = true; ; first = false)
        {
            var now = time.GetUtcNow();
            var (fresh, behind, counts) = store.Read(c => (MirrorRows.SeriesToAdd(c), MirrorRows.Behind(c, now), MirrorRows.Counts(c)));
            state.Now = state.Now with { BehindRows = behind, Dropped = counts.Dropped, Aside = counts.Aside, Sent = counts.Sent };
            if (behind == 0 && fresh.Count == 0)
            {
                state.Now = state.Now with { CaughtUpAt = now };
                // A wrong token is better found at the start than with the first reading.
                if (first && (state.Now.Problem is not null || !reached)
                    && await door.SendAsync([Points.Probe(0, now)], stopping) is { Outcome: not Outcome.Taken } no)
                    return await TroubleAsync(no);
                reached = true;
                await SayAsync(MirrorWord.UpToDate, null);
                return TimeSpan.FromSeconds(options.EverySeconds);
            }

            var claim = await store.WriteAsync(c => MirrorRows.Take(c, fresh, now, options.BatchRows));
            if (claim.IsEmpty) continue;
            if (state.Now.Problem is null) state.Now = state.Now with { State = MirrorWord.Sending };
            var lines = store.Read(c => MirrorReader.Lines(c, claim));
            var begun = pace.Time.GetTimestamp();
            var answer = lines.Count == 0 ? MirrorAnswer.AllTaken : await door.SendAsync(lines, stopping);
            if (answer.Outcome != Outcome.Taken) return await TroubleAsync(answer);
            if (answer.Aside.Count > 0)
                log.LogWarning("The mirror's server calls {Count} points malformed ({Why}); they are set aside", answer.Aside.Count,
                    answer.Aside[0].Why);
            (away, reached) = (0, true);
            var at = time.GetUtcNow();
            await store.WriteAsync(c => MirrorRows.Confirm(c, claim, lines.Count - answer.Aside.Count, answer.Aside, at));
            state.Now = state.Now with { LastSuccessAt = at };
            await SayAsync(MirrorWord.Sending, null);
            var due = TimeSpan.FromSeconds((double)lines.Count / options.RowsPerSecond) - pace.Time.GetElapsedTime(begun);
            if (due > TimeSpan.Zero) await Task.Delay(due, pace.Time, stopping);
        }
    }

    private async Task SwitchOnAsync()
    {
        var now = time.GetUtcNow();
        var isNew = await store.WriteAsync(c => MirrorRows.SwitchOn(c, options.Influx.Target, now));
        if (isNew)
            log.LogInformation("The mirror to {Url} begins now; what was before goes there with: rootcellar mirror backfill",
                options.Influx.Url);
        var (counts, kept) = store.Read(c => (MirrorRows.Counts(c), Meta.Get(c, MirrorRows.StateKey)));
        var before = Read(kept) ?? state.Now;
        state.Now = before with
        {
            State = MirrorWord.Starting,
            Problem = null,
            CaughtUpAt = before.CaughtUpAt ?? counts.Since,
            Sent = counts.Sent,
            Dropped = counts.Dropped,
            Aside = counts.Aside,
            Since = counts.Since ?? now,
        };
    }

    /// <summary>What was believed is not to be had later: the estimates of each hour are put by.</summary>
    private async Task LogEstimatesAsync()
    {
        var views = estimates();
        if (views.At is not { } at || at - estimatesAt < EstimatesEvery || (views.Bins.Count == 0 && views.Lots.Count == 0)) return;
        await store.WriteAsync(c => MirrorRows.Log(c, Points.Estimates(views), at));
        estimatesAt = at;
    }

    private async Task<TimeSpan> TroubleAsync(MirrorAnswer answer)
    {
        if (answer.Outcome == Outcome.Refused)
        {
            await SayAsync(MirrorWord.Refused, answer.Why);
            return pace.Refused;
        }

        await SayAsync(MirrorWord.Waiting, answer.Why);
        var wait = TimeSpan.FromSeconds(options.EverySeconds * Math.Pow(2, Math.Min(away++, 8)));
        return wait < pace.Away ? wait : pace.Away;
    }

    /// <summary>Says a change once in the log, and keeps how things stand for the command that asks from outside.</summary>
    private async Task SayAsync(MirrorWord word, string? problem)
    {
        var before = state.Now;
        if (problem is not null && problem != said)
            log.LogWarning("The mirror's server: {Problem} What is kept waits here", problem.EndsWith('.') ? problem : problem + ".");
        else if (problem is null && said is not null) log.LogInformation("The mirror gets through again");
        said = problem;
        state.Now = problem is null
            ? before with { State = word, Problem = null }
            : before with { State = word, Problem = problem, LastError = problem, LastErrorAt = time.GetUtcNow() };
        if (before.State == word && before.Problem == problem && before.LastSuccessAt is { } last
            && time.GetUtcNow() - last > TimeSpan.FromSeconds(options.EverySeconds))
            return;
        if (store.AnyProblem is not null) return;
        var text = JsonSerializer.Serialize(state.Now, JsonRules.Options);
        try
        {
            // Trouble is there to be seen at once. The rest goes with the next batch and may be lost: the marks are the truth, this is what
            // is shown.
            if (before.Problem != problem) await store.WriteAsync(c => Meta.Set(c, MirrorRows.StateKey, text));
            else await store.WriteSoonAsync(
                new SoonWrite(MirrorRows.StateKey, "keeping how the mirror stands", c => Meta.Set(c, MirrorRows.StateKey, text)));
        }
        catch (StoreProblemException)
        {
            // The record says itself what is wrong with it.
        }
    }

    internal static MirrorStanding? Read(string? kept)
    {
        try
        {
            return kept is null ? null : JsonSerializer.Deserialize<MirrorStanding>(kept, JsonRules.Options);
        }
        catch (JsonException)
        {
            return null;
        }
    }
}

/// <summary>The wiring of this room: without an address nothing of it is made, and the client's libraries are not loaded.</summary>
internal static class MirrorWiring
{
    public static void AddMirror(this IServiceCollection services, MirrorOptions options)
    {
        services.AddSingleton<MirrorState>().AddSingleton<IRoomMetrics, MirrorMetrics>();
        services.AddHealthChecks().AddCheck<MirrorCheck>("mirror");
        if (!options.Influx.On) return;
        services.AddHostedService(p => new MirrorService(
            options,
            p.GetRequiredService<Store>(),
            () => p.GetRequiredService<LotKeeper>().Views,
            p.GetRequiredService<MirrorState>(),
            p.GetRequiredService<TimeProvider>(),
            p.GetRequiredService<ILogger<MirrorService>>()));
    }
}
