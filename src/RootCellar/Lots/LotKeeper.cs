using System.Collections.Concurrent;
using System.Text.Json;
using System.Threading.Channels;
using RootCellar.Household;
using RootCellar.Ledger;
using RootCellar.Places;
using RootCellar.Readings;
using RootCellar.Storage;

namespace RootCellar.Lots;

/// <summary>
/// Keeps every bin's state up with the air: after each five minutes, when the book changes, and when air comes late. States
/// are named by what was folded, so a changed book finds by itself the last state that still holds; late air takes away what it
/// has a part in. What others read is <see cref="Views"/>, one unchanging picture at a time.
/// </summary>
internal sealed class LotKeeper(Store store, Func<Book> book, Announcements announcements, TimeProvider time, ILogger<LotKeeper> log,
    TimeSpan? behind = null) : BackgroundService
{
    private static readonly TimeSpan LookEvery = TimeSpan.FromMinutes(1);
    private const string Topic = Announcements.Root + "lots/";
    private const int MostAtOnce = 500;

    // Three looks at five minutes each that came to nothing.
    private static readonly TimeSpan Stale = TimeSpan.FromMinutes(15);

    // Readings wait for their batch before they are on disk; later than this they are noted as late.
    private readonly TimeSpan behind = behind ?? TimeSpan.FromSeconds(30);
    private readonly Channel<bool> calls = Channel.CreateBounded<bool>(
        new BoundedChannelOptions(1) { FullMode = BoundedChannelFullMode.DropOldest });
    private readonly SemaphoreSlim one = new(1);
    private readonly TrajectoryCache courses = new();
    private readonly ConcurrentDictionary<string, string> said = new(StringComparer.Ordinal);
    private readonly HashSet<string> told = new(StringComparer.Ordinal);
    private Estimating? estimating;
    private long thinned;
    private long lastCell = long.MinValue;
    private Book? lastBook;
    private volatile LotViews views = LotViews.Nothing;
    private volatile Estimating? firstTime;
    private long lastDone = time.GetTimestamp();
    private volatile string? problem;

    /// <summary>How everything stands.</summary>
    public LotViews Views => views;

    /// <summary>How far the first look of this start is, 0 to 1; null from then on, and while there is nothing to estimate.</summary>
    public double? Progress => views.At is not null || book().AllBins.All(b => b.EmptiedAt is not null) ? null : firstTime?.Progress ?? 0;

    /// <summary>
    /// How long ago everything was last brought up to now, on the monotonic clock; from the start on until the first time.
    /// </summary>
    public TimeSpan Age => time.GetElapsedTime(Volatile.Read(ref lastDone));

    /// <summary>Why the estimates stand where they are; null while they go on, and while there is nothing to estimate.</summary>
    public string? Standstill => book().AllBins.All(b => b.EmptiedAt is not null) ? null
        : problem ?? (Age > Stale && Progress is null ? Strings.LotsNotEnded : null);

    /// <summary>Air came late: whatever was worked out of later times no longer holds. Raised before anything is worked out anew.</summary>
    public event EventHandler<PastChange>? PastChanged;

    /// <summary>Pieces of five minutes folded since the start, over all ways.</summary>
    public long Folded => courses.Folded;

    /// <summary>The book changed: look at once.</summary>
    public void Call() => calls.Writer.TryWrite(true);

    /// <summary>Brings everything up to now. Returns how everything stands.</summary>
    /// <exception cref="StoreProblemException">The record cannot be written; what was known stays.</exception>
    public async Task<LotViews> AdvanceAsync(CancellationToken cancellationToken = default)
    {
        await one.WaitAsync(cancellationToken);
        try
        {
            return await AdvanceOneAsync();
        }
        finally
        {
            one.Release();
        }
    }

    public override void Dispose()
    {
        // First the word to stop, so that what breaks off under way is known to be no fault.
        base.Dispose();
        one.Dispose();
    }

    protected override async Task ExecuteAsync(CancellationToken stoppingToken)
    {
        await Task.Yield();
        using var timer = time.CreateTimer(_ => Call(), null, TimeSpan.Zero, LookEvery);
        try
        {
            await foreach (var _ in calls.Reader.ReadAllAsync(stoppingToken))
            {
                try
                {
                    await AdvanceAsync(stoppingToken);
                }
                catch (StoreProblemException e)
                {
                    problem = e.Message;
                    log.LogWarning("The lots wait: {Problem}", e.Message);
                }
                catch (Exception e) when (e is not OperationCanceledException && !stoppingToken.IsCancellationRequested)
                {
                    // The watch goes on whatever one lot's figures do; the next look tries again.
                    problem = e.Message;
                    log.LogError(e, "The lots could not be brought up to now");
                }
            }
        }
        catch (Exception) when (stoppingToken.IsCancellationRequested)
        {
            // Stopping, or a start that failed takes the parts away again; the kept states are a beginning for the next start.
        }
    }

    private async Task<LotViews> AdvanceOneAsync()
    {
        long now = TimeStep.Of(time.GetUtcNow() - behind);
        var asOf = book();
        // Said before anything is read: air that comes after this is noted as late by the file itself.
        bool same = now == lastCell && ReferenceEquals(asOf, lastBook);
        if (same && store.Read(c => LateAir.Earliest(c)) is null)
        {
            Done();
            return views;
        }

        var late = await store.WriteAsync(c =>
        {
            // A clock that was put back: what was folded of hours that had not come yet is no record of them.
            long? from = LateAir.Through(c) is { } through && through > now ? now : null;
            LateAir.FoldedTo(c, now);
            if (LateAir.Earliest(c) is { } found)
            {
                LateAir.Done(c, found.LastNote);
                from = Math.Min(from ?? found.Cell, found.Cell);
            }

            if (from is { } first) Snapshots.RemoveAfter(c, first);
            return from;
        });
        if (late is { } cell)
        {
            courses.Forget(cell);
            estimating?.Forget();
            PastChanged?.Invoke(this, new PastChange(cell));
        }

        long begun = time.GetTimestamp();
        long folded = courses.Folded;
        courses.Air.Forget(Math.Min(lastCell, now));
        estimating ??= new Estimating(courses);
        firstTime = views.At is null ? estimating : null;
        var next = store.Read(c =>
        {
            courses.Use(c);
            return estimating.At(asOf, PlaceRows.All(c), now) with { WeighIn = estimating.WeighIn(asOf, now) };
        });
        if (courses.Folded - folded > 100_000)
            log.LogInformation("{Pieces} pieces of five minutes were folded for {Bins} bins in {Time}", courses.Folded - folded,
                next.Bins.Count, time.GetElapsedTime(begun));
        foreach (var (lot, problem) in estimating.Problems.Where(p => told.Add($"{p.Key}: {p.Value.Message}")))
            log.LogError(problem, "Lot {Lot} cannot be worked out and is shown by the book alone; the others go on. Please report this",
                NameRules.Seen(lot));
        (lastCell, lastBook, views) = (now, asOf, next);
        Done();
        Announce(next);
        await KeepAsync(now);
        courses.Air.KeepFrom(now - (5 * TimeStep.PerDay));
        return next;
    }

    private void Done()
    {
        problem = null;
        Volatile.Write(ref lastDone, time.GetTimestamp());
    }

    private async Task KeepAsync(long now)
    {
        var keys = estimating!.AllPaths.SelectMany(p => p.AllKeys).ToHashSet(StringComparer.Ordinal);
        courses.KeepOnly(keys);
        foreach (var part in courses.TakeNew().Chunk(MostAtOnce))
        {
            await store.WriteAsync(c =>
            {
                foreach (var state in part) Snapshots.Save(c, state.Key, state.Cell, state.Body);
            });
        }

        if (now - thinned < TimeStep.PerDay) return;
        thinned = now;
        var wanted = courses.Remembered;
        await store.WriteAsync(c => { Snapshots.Thin(c, now, keys, wanted); });
    }

    private void Announce(LotViews next)
    {
        foreach (var lot in next.Lots.Values)
        {
            var shape = LotEstimateShape.Of(lot);
            // The moment alone is no news.
            string news = JsonSerializer.Serialize(shape with { At = default }, JsonRules.Options);
            if (said.TryGetValue(lot.Lot, out var before) && before == news) continue;
            said[lot.Lot] = news;
            announcements.Say(Topic + lot.Lot, shape);
        }

        foreach (var gone in said.Keys.Where(l => !next.Lots.ContainsKey(l)).ToList())
        {
            said.TryRemove(gone, out _);
            announcements.TakeAway(Topic + gone);
        }
    }
}

/// <summary>Everything after the beginning of a piece of time is to be worked out anew.</summary>
internal sealed class PastChange(long cell) : EventArgs
{
    public long Cell { get; } = cell;
}
