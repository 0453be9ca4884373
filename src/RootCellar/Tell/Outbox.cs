using System.Collections.Concurrent;
using System.Runtime.CompilerServices;
using System.Threading.Channels;
using Polly;
using Polly.CircuitBreaker;
using Polly.Retry;
using Polly.Timeout;
using RootCellar.Diagnostics;
using RootCellar.Household;
using RootCellar.Monitoring;
using RootCellar.Storage;

namespace RootCellar.Tell;

/// <summary>
/// The durable outbox. A text is a row before anything is sent, "sending" before it is handed to a channel and "sent"
/// after; so it is told at least once, and twice only when the process died between the last two, and then the second
/// says that it may be a repeat. When the record cannot be written, texts go out from memory all the same.
/// </summary>
internal sealed class Outbox : BackgroundService
{
    /// <summary>A text older than this helps nobody (assumed).</summary>
    private static readonly TimeSpan Useful = TimeSpan.FromDays(3);

    private readonly Channel<(Outgoing Text, Task<bool> ToSend)> queue =
        Channel.CreateUnbounded<(Outgoing, Task<bool>)>(new UnboundedChannelOptions { SingleReader = true });
    // A text may wait for its hour, then be tried for as long as it is useful, and its link holds a day.
    private static readonly TimeSpan LongestOnTheWay = TimeSpan.FromDays(7);

    // Links that answered, by hash: a mail whose server is still to say good-bye is written once more after its link was used.
    private readonly ConcurrentDictionary<string, DateTimeOffset> used = new(StringComparer.Ordinal);
    private readonly ConcurrentDictionary<string, Outgoing> unmarked = new(StringComparer.Ordinal);
    private readonly ConcurrentDictionary<string, string> troubles = new(StringComparer.Ordinal);
    private readonly ConditionalWeakTable<OpenChannel, ResiliencePipeline> pipelines = [];
    private readonly ChannelDesk desk;
    private readonly TellPace pace;
    private readonly Store store;
    private readonly TimeProvider time;
    private readonly ILogger<Outbox> log;
    private readonly FailedWork? failed;
    private readonly Teller? teller;
    private readonly ConcurrentDictionary<string, DateTimeOffset> waiting = new(StringComparer.Ordinal);
    private readonly TellMetrics metrics;
    private readonly Languages languages;
    private readonly AnswerLinks? links;
    private int underway;

    public Outbox(
        ChannelDesk desk,
        Store store,
        TimeProvider time,
        TellMetrics metrics,
        ILogger<Outbox> log,
        TellPace? pace = null,
        FailedWork? failed = null,
        Teller? teller = null,
        AnswerLinks? links = null,
        Languages? languages = null)
    {
        this.links = links;
        this.languages = languages ?? Languages.Shipped;
        this.metrics = metrics;
        this.store = store;
        this.time = time;
        this.log = log;
        this.failed = failed;
        this.teller = teller;
        this.desk = desk;
        this.pace = pace ?? new TellPace();
    }

    /// <summary>The time came to be known: no text has waited longer for it.</summary>
    public TimePutRight? PutRight { get; set; }

    /// <summary>The channels that are set up, by name.</summary>
    public IReadOnlyCollection<string> Channels => desk.Names;

    /// <summary>Channels that do not get through now, with the last error.</summary>
    public IReadOnlyDictionary<string, string> Troubles => troubles;

    /// <summary>Whether the record knows how every text stands.</summary>
    public bool AllMarked => unmarked.IsEmpty;

    /// <summary>Texts decided on and not yet told or given up.</summary>
    public int Underway => Volatile.Read(ref underway);

    /// <summary>How long the oldest text that is not told yet has waited; zero while none waits.</summary>
    public TimeSpan OldestWait
    {
        get
        {
            var oldest = waiting.Values.DefaultIfEmpty(DateTimeOffset.MaxValue).Min();
            var now = time.GetUtcNow();
            return oldest < now ? now - oldest : TimeSpan.Zero;
        }
    }

    /// <summary>
    /// Takes texts in the order they were decided on, in which each recipient gets them however long the record takes to write each.
    /// </summary>
    /// <param name="toSend">Ends once their rows are written, or could not be: true to send them. Whoever writes them says what
    /// failed.</param>
    public void Accept(IReadOnlyCollection<Outgoing> messages, Task<bool> toSend)
    {
        Interlocked.Add(ref underway, messages.Count);
        foreach (var message in messages) queue.Writer.TryWrite((message, toSend));
    }

    public override Task StartAsync(CancellationToken cancellationToken)
    {
        // Here and not in ExecuteAsync, which runs beside the pipeline: a text decided on meanwhile would be read as left over and sent
        // twice.
        var leftOver = LeftOver();
        Accept(leftOver, Task.FromResult(true));
        return base.StartAsync(cancellationToken);
    }

    protected override async Task ExecuteAsync(CancellationToken stoppingToken)
    {
        // One lane for each recipient and room, or alarm of another kind: "over" never overtakes "raised", and a text that fails holds up
        // only its own.
        var lanes = new Dictionary<(string, string, string?), Task>();
        try
        {
            await foreach (var (message, toSend) in queue.Reader.ReadAllAsync(stoppingToken))
            {
                foreach (var done in lanes.Where(l => l.Value.IsCompleted).Select(l => l.Key).ToList()) lanes.Remove(done);
                var lane = (message.Channel, message.Recipient, message.Said?.Place ?? message.Alarm);
                lanes[lane] = DeliverAfterAsync(lanes.GetValueOrDefault(lane, Task.CompletedTask), message, toSend, stoppingToken);
                failed?.Watch(lanes[lane], "texts", "telling somebody");
            }
        }
        catch (OperationCanceledException)
        {
            // What is still waiting has its row and is taken up at the next start.
        }

        await Task.WhenAll(lanes.Values);
    }

    private IReadOnlyList<Outgoing> LeftOver()
    {
        try
        {
            return store.Read(OutboxRows.Unsent);
        }
        catch (Exception e)
        {
            log.LogError(e, "Texts waiting from before cannot be read");
            return [];
        }
    }

    private async Task DeliverAfterAsync(Task before, Outgoing message, Task<bool> toSend, CancellationToken stopping)
    {
        waiting[message.Id] = message.DueAt;
        await before.ConfigureAwait(ConfigureAwaitOptions.SuppressThrowing);
        try
        {
            if (await IsToBeSentAsync(toSend)) await DeliverAsync(message, stopping);
        }
        finally
        {
            waiting.TryRemove(message.Id, out _);
            Interlocked.Decrement(ref underway);
        }
    }

    private static async Task<bool> IsToBeSentAsync(Task<bool> toSend)
    {
        try
        {
            return await toSend;
        }
        catch (Exception)
        {
            // Whoever writes it says what failed.
            return false;
        }
    }

    /// <summary>Until it is told, given up, or the service stops; a channel that is set up otherwise meanwhile is tried anew.</summary>
    private async Task DeliverAsync(Outgoing message, CancellationToken stopping)
    {
        for (Outgoing? still = message; still is not null;) still = await DeliverAsync(still, desk.Find(message.Channel), stopping);
    }

    /// <returns>Null when it is done with; else the text as it is now that its channel was replaced.</returns>
    private async Task<Outgoing?> DeliverAsync(Outgoing message, OpenChannel? channel, CancellationToken stopping)
    {
        if (channel is null)
        {
            teller?.Undelivered(message);
            await MarkAsync(message with { State = OutgoingState.GivenUp, Error = $"the channel {message.Channel} is not set up" });
            return null;
        }

        message = OnTime(message);
        // How long it has waited: by the clock up to now, from here on by the monotonic one.
        var late = time.GetUtcNow() - message.DueAt;
        var taken = time.GetTimestamp();
        var attempts = message.Attempts;
        var handedOver = false;
        var link = links?.Make(message, time.GetUtcNow());
        if (link is { } made) message = made.Kept;
        using var until = CancellationTokenSource.CreateLinkedTokenSource(stopping, channel.Replaced);
        try
        {
            await MarkAsync(message with { State = OutgoingState.Sending });
            await pipelines.GetValue(channel, Pipeline).ExecuteAsync(
                async ct =>
                {
                    if (late + time.GetElapsedTime(taken) > Useful) throw new TooLateException();
                    attempts++;
                    metrics.Tried(message.Channel);
                    handedOver = true;
                    try
                    {
                        message = OnTime(message);
                        var marked = languages.In(message.Language, () => Marks.On(message, time.GetUtcNow()));
                        await channel.Channel.SendAsync(
                            link is { } l ? languages.In(message.Language, () => AnswerLinks.With(marked, l.Address)) : marked, ct);
                    }
                    catch (OperationCanceledException e) when (!stopping.IsCancellationRequested)
                    {
                        // The time ran out with the far side silent: it may have taken the text, so the next attempt says so.
                        message = message with { MayBeRepeat = true };
                        if (!ct.IsCancellationRequested) throw new IOException("the channel broke off", e);
                        throw;
                    }
                    catch (Exception e) when (e is not OperationCanceledException)
                    {
                        handedOver = false;
                        if (!NeverLeft(e)) message = message with { MayBeRepeat = true };
                        throw;
                    }
                },
                until.Token);
            troubles.TryRemove(message.Channel, out _);
            metrics.Told(message.Channel, late + time.GetElapsedTime(taken));
            await MarkAsync(message with { State = OutgoingState.Sent, Attempts = attempts, SentAt = time.GetUtcNow(), Error = null });
            log.LogInformation("Told {Recipient} by {Channel}: {Text}", message.Recipient, message.Channel, message.Sms);
        }
        catch (OperationCanceledException) when (stopping.IsCancellationRequested)
        {
            // Stopped between attempts: the row waits. Stopped during one: it may have left, so the row stays "sending".
            await MarkAsync(message with
            {
                State = handedOver || message.MayBeRepeat ? OutgoingState.Sending : OutgoingState.Waiting,
                Attempts = attempts
            });
        }
        catch (OperationCanceledException) when (channel.Replaced.IsCancellationRequested)
        {
            troubles.TryRemove(message.Channel, out _);
            return message with { Attempts = attempts };
        }
        catch (Exception e)
        {
            metrics.GivenUp(message.Channel);
            teller?.Undelivered(message);
            log.LogError(e, "A text to {Recipient} by {Channel} was given up", message.Recipient, message.Channel);
            await MarkAsync(message with { State = OutgoingState.GivenUp, Attempts = attempts, Error = e.Message });
        }

        return null;
    }

    /// <summary>The mail that a link came with; null where there is none.</summary>
    /// <param name="hash">Of the link's token.</param>
    /// <exception cref="Microsoft.Data.Sqlite.SqliteException">The record cannot be read.</exception>
    public (Outgoing Mail, AnswerLink Link)? WithLink(string hash)
    {
        var mail = unmarked.Values.FirstOrDefault(m => Link(m) is not null)
            ?? store.Read(c => OutboxRows.WithLink(c, hash, time.GetUtcNow() - LongestOnTheWay));
        if (mail is null || Link(mail) is not { } link) return null;
        return (mail, used.TryGetValue(hash, out var at) ? link with { UsedAt = at } : link);

        AnswerLink? Link(Outgoing m) => m.Answerable?.Links?.FirstOrDefault(l => l.Hash == hash);
    }

    /// <summary>A link has answered; it does so once.</summary>
    /// <returns>False where it had before.</returns>
    public async Task<bool> UseLinkAsync(string hash)
    {
        var now = time.GetUtcNow();
        foreach (var old in used.Where(u => now - u.Value > AnswerLinks.Life).Select(u => u.Key).ToList()) used.TryRemove(old, out _);
        if (WithLink(hash) is not { Link.UsedAt: null } found || !used.TryAdd(hash, now)) return false;
        var asks = found.Mail.Answerable!;
        await MarkAsync(found.Mail with
        {
            Answerable = asks with { Links = [.. asks.Links!.Select(l => l.Hash == hash ? l with { UsedAt = now } : l)] },
        });
        return true;
    }

    /// <summary>
    /// Writes how texts stand where that could not be written when it was so; otherwise a text told on a full disk would
    /// be told again, unmarked, after the next start.
    /// </summary>
    /// <exception cref="StoreProblemException">The record still cannot be written.</exception>
    public async Task WriteMarksAsync()
    {
        foreach (var (id, message) in unmarked)
        {
            // Looked at again when its turn comes: a newer state may have been written meanwhile.
            await store.WriteAsync(c =>
            {
                if (unmarked.TryGetValue(id, out var latest) && ReferenceEquals(latest, message)) OutboxRows.Save(c, message);
            });
            unmarked.TryRemove(new KeyValuePair<string, Outgoing>(id, message));
        }

        failed?.WorksAgain("texts", "writing down how a text stands");
    }

    private Outgoing OnTime(Outgoing message) => PutRight is { } right ? message.PutRight(right) : message;

    private async Task MarkAsync(Outgoing message)
    {
        unmarked.TryRemove(message.Id, out _);
        try
        {
            await store.WriteAsync(c => OutboxRows.Save(c, message));
        }
        catch (ChannelClosedException)
        {
            // The store has closed: the row keeps its last state and the text is taken up again.
        }
        catch (Exception e)
        {
            // A text matters more than its row, which is written later. What the disk refuses the store says itself.
            unmarked[message.Id] = message;
            if (e is not StoreProblemException) failed?.Failed("texts", "writing down how a text stands", e, triedAgain: true);
        }
    }

    /// <summary>Errors that say the far side does not have the text: it was refused, or nobody was reached.</summary>
    private static bool NeverLeft(Exception e) =>
        e is RefusedException or MailKit.CommandException or MailKit.Security.AuthenticationException or System.Net.Sockets.SocketException or StoreProblemException
        || e is HttpRequestException { HttpRequestError: HttpRequestError.ConnectionError or HttpRequestError.NameResolutionError or HttpRequestError.SecureConnectionError };

    private sealed class TooLateException() : Exception("could not be delivered for three days");

    private ResiliencePipeline Pipeline(OpenChannel open)
    {
        var channel = open.Channel.Name;
        var broken = new PredicateBuilder().Handle<Exception>(e => e is not (OperationCanceledException or TooLateException));
        return new ResiliencePipelineBuilder { TimeProvider = pace.Time }
            .AddRetry(new RetryStrategyOptions
            {
                ShouldHandle = broken,
                MaxRetryAttempts = int.MaxValue,
                BackoffType = DelayBackoffType.Exponential,
                UseJitter = true,
                Delay = pace.FirstRetry,
                MaxDelay = pace.LongestRetry,
                DelayGenerator = arguments => ValueTask.FromResult<TimeSpan?>(
                    (arguments.Outcome.Exception as RefusedException)?.RetryAfter is { } asked ? asked < pace.LongestRetry
                        ? asked : pace.LongestRetry : null),
                OnRetry = arguments =>
                {
                    var error = arguments.Outcome.Exception!.Message;
                    metrics.Failed(channel, arguments.Outcome.Exception);
                    if (troubles.TryAdd(channel, error))
                        log.LogWarning("The channel {Channel} does not get through ({Error}); trying on", channel, error);
                    // While nothing is tried, why it was given up trying stays what it was.
                    else if (arguments.Outcome.Exception is not BrokenCircuitException) troubles[channel] = error;
                    return ValueTask.CompletedTask;
                },
            })
            .AddCircuitBreaker(new CircuitBreakerStrategyOptions
            {
                ShouldHandle = broken,
                FailureRatio = 0.9,
                MinimumThroughput = 5,
                SamplingDuration = TimeSpan.FromMinutes(1),
                BreakDuration = pace.Break,
            })
            .AddTimeout(new TimeoutStrategyOptions { Timeout = open.Channel.Timeout ?? pace.Timeout })
            .Build();
    }
}

/// <summary>How patiently channels are tried. Network time is real time, also in the demo.</summary>
internal sealed record TellPace
{
    public TimeProvider Time { get; init; } = TimeProvider.System;

    public TimeSpan FirstRetry { get; init; } = TimeSpan.FromSeconds(2);

    public TimeSpan LongestRetry { get; init; } = TimeSpan.FromMinutes(5);

    public TimeSpan Break { get; init; } = TimeSpan.FromSeconds(30);

    public TimeSpan Timeout { get; init; } = TimeSpan.FromSeconds(30);
}
