using System.Globalization;
using System.Security.Claims;
using System.Threading.RateLimiting;
using Microsoft.AspNetCore.Diagnostics;
using Microsoft.AspNetCore.RateLimiting;
using RootCellar.Household;

namespace RootCellar.Entry;

/// <summary>
/// How fast helpers, tokens for logging and strangers may ask and write; by the framework's rate limiter, one bucket for each of them. The
/// household's phones and tokens for everything are not slowed: a phone that was away sends all it has at once, an import thousands.
/// </summary>
internal sealed class RateLimits : IAsyncDisposable
{
    private static readonly RateLimitPartition<string> Free = RateLimitPartition.GetNoLimiter("");

    private readonly PartitionedRateLimiter<HttpContext> calls;
    private readonly PartitionedRateLimiter<HttpContext> entries;
    private readonly LimitOptions options;
    private readonly EntryMetrics metrics;
    private readonly ILogger<RateLimits> log;

    public RateLimits(LimitOptions limits, EntryMetrics metrics, ILogger<RateLimits> log)
    {
        (options, this.metrics, this.log) = (limits, metrics, log);
        calls = PartitionedRateLimiter.Create<HttpContext,
            string>(context => IsShown(context) ? Free : Of(context, options.CallsAMinute, TimeSpan.FromMinutes(1)));
        entries = PartitionedRateLimiter.CreateChained(
            PartitionedRateLimiter.Create<HttpContext, string>(
                context => IsChange(context) ? Of(context, options.EntriesAMinute, TimeSpan.FromMinutes(1)) : Free),
            PartitionedRateLimiter.Create<HttpContext, string>(
                context => IsChange(context) ? Of(context, options.EntriesADay, TimeSpan.FromDays(1)) : Free));
        OfRequests = PartitionedRateLimiter.CreateChained(calls, entries);
    }

    /// <summary>Asked for every request; one that changes something counts as one entry.</summary>
    public PartitionedRateLimiter<HttpContext> OfRequests { get; }

    /// <summary>Of a call that brings several entries: whether all may be written. The call itself was counted as the first.</summary>
    /// <returns>The answer where they may not.</returns>
    public IResult? More(HttpContext context, int count)
    {
        if (count < 2 || context.User.MaySetUp()) return null;
        if (count > Math.Min(options.EntriesAMinute, options.EntriesADay))
            return Results.Problem(
                $"At most {Math.Min(options.EntriesAMinute, options.EntriesADay)} events in one call (Limits:EntriesAMinute and Limits:EntriesADay).",
                statusCode: StatusCodes.Status400BadRequest);
        using var lease = entries.AttemptAcquire(context, count - 1);
        return lease.IsAcquired ? null : Refuse(context, lease, "entries");
    }

    /// <summary>429 with Retry-After, and why.</summary>
    public async ValueTask RejectAsync(OnRejectedContext rejected, CancellationToken cancellationToken)
    {
        var answer = Refuse(rejected.HttpContext, rejected.Lease, "requests");
        // A page has its own way of saying it, by the status.
        if (EndpointMarks.AnswersPrograms(rejected.HttpContext)) await answer.ExecuteAsync(rejected.HttpContext);
    }

    public async ValueTask DisposeAsync()
    {
        await OfRequests.DisposeAsync();
        await calls.DisposeAsync();
        await entries.DisposeAsync();
    }

    private IResult Refuse(HttpContext context, RateLimitLease lease, string what)
    {
        var wait = lease.TryGetMetadata(MetadataName.RetryAfter, out var after) && after > TimeSpan.FromSeconds(1)
            ? Math.Ceiling(after.TotalSeconds) : 1;
        context.Response.StatusCode = StatusCodes.Status429TooManyRequests;
        context.Response.Headers.RetryAfter = wait.ToString(CultureInfo.InvariantCulture);
        var who = Kind(context.User);
        metrics.Limited(who);
        log.LogInformation("Too many {What} by a {Who}: refused for {Seconds} s", what, who, wait);
        var detail = $"Too many {what} from you. Nothing of this was kept; send it again in {context.Response.Headers.RetryAfter} s. The limits are under Limits in rootcellar.json.";
        return Results.Problem(detail, statusCode: StatusCodes.Status429TooManyRequests);
    }

    private static RateLimitPartition<string> Of(HttpContext context, int most, TimeSpan period)
    {
        if (context.User.MaySetUp()) return Free;
        // Some at a time, so that a wait is seconds and not the whole period.
        var parts = Math.Min(most, 60);
        return RateLimitPartition.GetTokenBucketLimiter(Seat(context), _ => new TokenBucketRateLimiterOptions
        {
            TokenLimit = most,
            TokensPerPeriod = most / parts,
            ReplenishmentPeriod = period / parts,
            QueueLimit = 0,
        });
    }

    private static bool IsChange(HttpContext context) =>
        context.User.Identity?.IsAuthenticated == true && !HttpMethods.IsGet(context.Request.Method)
            && !HttpMethods.IsHead(context.Request.Method);

    // Pictures and files of pages, health, and the page that says that there were too many.
    private static bool IsShown(HttpContext context) =>
        context.GetEndpoint()?.Metadata is { } marks && (
            marks.GetMetadata<ShownInPages>() is not null || marks.GetMetadata<AnyHost>() is not null)
        || context.Features.Get<IStatusCodeReExecuteFeature>() is not null;

    private static string Seat(HttpContext context) => context.User.Identity?.IsAuthenticated == true
        ? context.User.HelperNumber() is { } id ? $"helper {id.ToString(CultureInfo.InvariantCulture)}"
            : $"token {context.User.Identity.Name}"
        : $"address {context.Connection.RemoteIpAddress}";

    private static string Kind(ClaimsPrincipal who) => who.IsHelper() ? "helper" : who.Identity?.IsAuthenticated == true
        ? "token" : "stranger";
}
