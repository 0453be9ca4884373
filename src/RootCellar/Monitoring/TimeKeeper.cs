using System.Text.Json.Nodes;
using Microsoft.Extensions.Diagnostics.HealthChecks;
using RootCellar.Diagnostics;
using RootCellar.Ledger;
using RootCellar.Ledger.Events;
using RootCellar.Storage;
using RootCellar.Tell;

namespace RootCellar.Monitoring;

/// <summary>
/// Looks whether the time has come to be known while it is not, and then has everything that was stamped meanwhile moved: the watch on its
/// own thread, the record with it, then the book by corrections.
/// </summary>
internal sealed class TimeKeeper(HouseClock clock, Pipeline pipeline, LedgerDoor door, Outbox outbox, Store store, FailedWork failed) : BackgroundService
{
    private const string By = "RootCellar";
    private const string What = "putting the time right";
    private static readonly TimeSpan LookEvery = TimeSpan.FromSeconds(5);

    // What the watch has moved and the record may not have yet.
    private TimePutRight? moved;
    private bool done;

    public override async Task StartAsync(CancellationToken cancellationToken)
    {
        // After the watch begins, before a message comes.
        Keep(clock.Begin);
        if (clock.MachineIsRight) await SetAsync(clock.Set, cancellationToken);
        await base.StartAsync(cancellationToken);
    }

    /// <summary>The time is the one of a phone.</summary>
    public async Task SetByPhoneAsync(DateTimeOffset now, CancellationToken cancellationToken)
    {
        await SetAsync(() => clock.SetByPhone(now), cancellationToken);
        await FinishAsync();
    }

    protected override async Task ExecuteAsync(CancellationToken stoppingToken)
    {
        using var timer = new PeriodicTimer(LookEvery, clock);
        try
        {
            while (await timer.WaitForNextTickAsync(stoppingToken))
            {
                try
                {
                    if (clock.MachineIsRight) await SetAsync(clock.Set, stoppingToken);
                    if (done) continue;
                    await FinishAsync();
                    failed.WorksAgain("watch", What);
                }
                catch (Exception e) when (e is not OperationCanceledException)
                {
                    failed.Failed("watch", What, e, triedAgain: true);
                }
            }
        }
        catch (OperationCanceledException)
        {
            // Stopping; what is left is done at the next start.
        }
    }

    private async Task SetAsync(Func<TimePutRight?> set, CancellationToken cancellationToken)
    {
        await pipeline.SetTimeAsync(() => moved = outbox.PutRight = set(), cancellationToken);
        done = false;
    }

    /// <summary>Once the record has it: a start before that does it again.</summary>
    private async Task FinishAsync()
    {
        if (store.StartProblem is not null || (moved is { } right && store.Read(TimeRows.Last)?.From != right.From)) return;
        if (moved is not null) Keep(clock.End);
        await EntriesAsync();
        (moved, done) = (null, true);
    }

    /// <summary>
    /// What was written into the book meanwhile, at hours that were not given but counted, happened later. Its rows stand as they were
    /// written; under a key of its own, so that it is done once.
    /// </summary>
    private async Task EntriesAsync()
    {
        if (door.Trouble is not null || store.Read(TimeRows.Last) is not { } right) return;
        List<NewEntry> given = [];
        foreach (var entry in door.Book.Entries.Select(e => e.Entry))
        {
            if (entry.Of is not null || entry.RecordedAt < right.From || entry.RecordedAt > right.To || entry.At < right.From
                || entry.At > entry.RecordedAt) continue;
            var said = new JsonObject
            {
                ["event"] = Correction.Name,
                ["of"] = entry.Id,
                ["by"] = By,
                ["rightAt"] = door.Calendar.Local(right.Of(entry.At)).ToString("O", System.Globalization.CultureInfo.InvariantCulture),
                ["keep"] = true,
            };
            given.Add(EventReader.Read(EventReader.Element(said), door.Now, out var wrong) ?? throw new InvalidOperationException(wrong));
        }

        if (given.Count > 0)
            await door.TakeAsync(given, $"time-{right.From.ToUnixTimeMilliseconds()}", By);
    }

    // Without the note a start within this one of the machine begins to count anew; nothing is wrong by it now.
    private void Keep(Action note)
    {
        if (store.StartProblem is not null) return;
        try
        {
            note();
        }
        catch (Exception e) when (e is IOException or UnauthorizedAccessException)
        {
            failed.Failed("watch", What, e, triedAgain: false);
        }
    }
}

/// <summary>Whether the time is known.</summary>
internal sealed class TimeCheck(HouseClock clock) : IHealthCheck
{
    public Task<HealthCheckResult> CheckHealthAsync(HealthCheckContext context, CancellationToken cancellationToken = default) =>
        Task.FromResult(clock.IsKnown ? HealthCheckResult.Healthy() : HealthCheckResult.Degraded("The time is not known yet."));
}
