using System.Net;
using InfluxDB.Client;
using InfluxDB.Client.Api.Domain;
using InfluxDB.Client.Core.Exceptions;
using Polly;
using Polly.CircuitBreaker;
using Polly.Retry;
using Polly.Timeout;
using RootCellar.Household;
using RootCellar.Monitoring;

namespace RootCellar.Mirror;

internal enum Outcome
{
    /// <summary>The server has all of it, but for what it calls malformed.</summary>
    Taken,

    /// <summary>It cannot be reached or cannot take anything now: tried on by itself.</summary>
    Unreachable,

    /// <summary>It refuses, and somebody has to do something about it (token, bucket, address): tried on slowly.</summary>
    Refused,
}

/// <summary>What became of some points.</summary>
/// <param name="Why">In words for the grower; null when taken.</param>
/// <param name="Aside">Points the server called malformed, with its reason. Only when taken.</param>
internal sealed record MirrorAnswer(Outcome Outcome, string? Why, IReadOnlyList<(string Point, string Why)> Aside)
{
    public static readonly MirrorAnswer AllTaken = new(Outcome.Taken, null, []);
}

/// <summary>How patiently the server is tried. Network time is real time.</summary>
internal sealed record MirrorPace
{
    /// <summary>The clock of waits and pace; not the household's, which the demo hurries.</summary>
    public TimeProvider Time { get; init; } = TimeProvider.System;

    public int Retries { get; init; } = 3;

    public TimeSpan FirstRetry { get; init; } = TimeSpan.FromSeconds(1);

    public TimeSpan LongestRetry { get; init; } = TimeSpan.FromSeconds(30);

    public TimeSpan Break { get; init; } = TimeSpan.FromSeconds(10);

    /// <summary>Between two tries at a server that refuses.</summary>
    public TimeSpan Refused { get; init; } = TimeSpan.FromMinutes(5);

    /// <summary>The longest between two tries at one that is away.</summary>
    public TimeSpan Away { get; init; } = TimeSpan.FromMinutes(1);
}

/// <summary>The way to the other server: one request at a time, gzip, under a timeout, retries with jitter and a circuit breaker.</summary>
internal sealed class InfluxDoor(InfluxOptions options, MirrorPace pace) : IDisposable
{
    /// <summary>With so many refused and not one taken, it is not the points.</summary>
    private const int MostRefusedAtOnce = 20;

    private readonly ResiliencePipeline pipeline = Pipeline(options, pace);
    private InfluxDBClient? client;

    /// <summary>Writes lines. Does not throw for anything the network or the server does.</summary>
    public async Task<MirrorAnswer> SendAsync(IReadOnlyList<string> lines, CancellationToken cancellationToken)
    {
        var aside = new List<(string, string)>();
        var taken = 0;
        try
        {
            await SendPartAsync(lines);
        }
        catch (TooManyRefusedException e)
        {
            return new MirrorAnswer(
                Outcome.Refused, $"it calls every point malformed ({e.Message}). Is the address that of an InfluxDB v2 API?", []);
        }
        catch (Exception e) when (!cancellationToken.IsCancellationRequested)
        {
            // A new token in the file is used at the next try.
            Forget();
            return Say(e);
        }

        if (taken == 0 && aside.Count > 0)
        {
            // A few points and all of them refused: whether it is they or the server is told by one that is known to be good.
            try
            {
                await WriteAsync([Points.Probe(aside.Count, pace.Time.GetUtcNow())], cancellationToken);
            }
            catch (Exception e) when (!cancellationToken.IsCancellationRequested)
            {
                return Malformed(e) is { } why ? new MirrorAnswer(
                    Outcome.Refused, $"it calls every point malformed ({why}). Is the address that of an InfluxDB v2 API?", []) : Say(e);
            }
        }

        return new MirrorAnswer(Outcome.Taken, null, aside);

        async Task SendPartAsync(IReadOnlyList<string> part)
        {
            try
            {
                await WriteAsync(part, cancellationToken);
                taken += part.Count;
                return;
            }
            catch (Exception e) when (Malformed(e) is { } why && part.Count == 1)
            {
                aside.Add((part[0], why));
                if (taken == 0 && aside.Count >= MostRefusedAtOnce) throw new TooManyRefusedException(why);
                return;
            }
            catch (Exception e) when (part.Count > 1 && (Malformed(e) is not null || Status(e) == HttpStatusCode.RequestEntityTooLarge))
            {
                // One bad line must not hold up its neighbours, and what is too large goes in halves.
            }

            var half = part.Count / 2;
            await SendPartAsync([.. part.Take(half)]);
            await SendPartAsync([.. part.Skip(half)]);
        }
    }

    public void Dispose() => Forget();

    private void Forget()
    {
        client?.Dispose();
        client = null;
    }

    private ValueTask WriteAsync(IReadOnlyList<string> lines, CancellationToken cancellationToken) => pipeline.ExecuteAsync(
        async token =>
        {
            try
            {
                await (client ??= Connect()).GetWriteApiAsync()
                    .WriteRecordsAsync(lines, WritePrecision.Ns, options.Bucket, options.Org, token);
            }
            catch (Exception e) when (token.IsCancellationRequested && e is not OperationCanceledException)
            {
                // The client makes an error of its own of it; the timeout is to know its own work again.
                throw new OperationCanceledException(e.Message, e, token);
            }
        },
        cancellationToken);

    private InfluxDBClient Connect()
    {
        var builder = InfluxDBClientOptions.Builder.CreateNew().Url(options.Url!.TrimEnd('/')).Org(options.Org).Bucket(options.Bucket)
            .AllowRedirects(false).LogLevel(InfluxDB.Client.Core.LogLevel.None)
            // A little more than ours, so that ours decides.
            .TimeOut(TimeSpan.FromSeconds(options.TimeoutSeconds + 5));
        if (options.ReadToken() is { } token) builder.AuthenticateToken(token);
        var fresh = new InfluxDBClient(builder.Build());
        fresh.EnableGzip();
        return fresh;
    }

    private static HttpStatusCode? Status(Exception e) => e is HttpException { Status: >= 300 and var status }
        ? (HttpStatusCode)status : null;

    /// <summary>The server's reason when it calls a point malformed or too large by itself; null for anything else.</summary>
    private static string? Malformed(Exception e) =>
        Status(e) is HttpStatusCode.BadRequest or HttpStatusCode.UnprocessableEntity or HttpStatusCode.RequestEntityTooLarge
            ? Short(e.Message) : null;

    private static MirrorAnswer Say(Exception e) => Status(e) switch
    {
        HttpStatusCode.Unauthorized => Refused(Strings.MirrorNoToken),
        HttpStatusCode.Forbidden => Refused(Strings.MirrorNotAllowed),
        HttpStatusCode.NotFound => Refused(Strings.MirrorNotThere),
        { } status and >= HttpStatusCode.MultipleChoices and < HttpStatusCode.InternalServerError and not HttpStatusCode.TooManyRequests and not HttpStatusCode.RequestTimeout =>
            Refused(Strings.MirrorAnswersCheck.With($"{(int)status} {Short(e.Message)}")),
        { } status => Away(Strings.MirrorAnswers.With($"{(int)status} {Short(e.Message)}")),
        null => e switch
        {
            TimeoutRejectedException or TaskCanceledException or TimeoutException => Away(Strings.MirrorLateAnswer),
            BrokenCircuitException => Away(Strings.MirrorTriesSoon),
            IOException or UnauthorizedAccessException => Refused(Strings.MirrorTokenFile.With(Short(e.Message))),
            _ => Away(Strings.MirrorNotReached.With(Short(e.GetBaseException().Message))),
        },
    };

    private static MirrorAnswer Refused(string why) => new(Outcome.Refused, why, []);

    private static MirrorAnswer Away(string why) => new(Outcome.Unreachable, why, []);

    private static string Short(string message)
    {
        var line = message.ReplaceLineEndings(" ").Trim();
        return line.Length <= 200 ? line : line[..200] + "...";
    }

    private static ResiliencePipeline Pipeline(InfluxOptions options, MirrorPace pace)
    {
        var passing = new PredicateBuilder().Handle<Exception>(e => e is not OperationCanceledException and not BrokenCircuitException
            && Status(e) is null or HttpStatusCode.RequestTimeout or HttpStatusCode.TooManyRequests or >= HttpStatusCode.InternalServerError);
        return new ResiliencePipelineBuilder { TimeProvider = pace.Time }
            .AddRetry(new RetryStrategyOptions
            {
                ShouldHandle = passing,
                MaxRetryAttempts = pace.Retries,
                BackoffType = DelayBackoffType.Exponential,
                UseJitter = true,
                Delay = pace.FirstRetry,
                MaxDelay = pace.LongestRetry,
                // A server that says when to come again is taken at its word, within bounds.
                DelayGenerator = arguments => new ValueTask<TimeSpan?>(
                    arguments.Outcome.Exception is HttpException { RetryAfter: > 0 and var seconds }
                    ? TimeSpan.FromSeconds(Math.Min(seconds, pace.LongestRetry.TotalSeconds))
                    : null),
            })
            .AddCircuitBreaker(new CircuitBreakerStrategyOptions
            {
                ShouldHandle = passing,
                FailureRatio = 0.9,
                MinimumThroughput = 6,
                SamplingDuration = TimeSpan.FromMinutes(1),
                BreakDuration = pace.Break,
            })
            .AddTimeout(new TimeoutStrategyOptions { Timeout = TimeSpan.FromSeconds(options.TimeoutSeconds) })
            .Build();
    }

    private sealed class TooManyRefusedException(string message) : Exception(message);
}
