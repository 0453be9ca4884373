using System.Threading.RateLimiting;

namespace RootCellar.Entry;

/// <summary>
/// How often the passphrase may be tried from one address. Asked by the sign-in page itself and not by middleware, so
/// that looking at the page costs no try and the refusal is a page that says when to come back.
/// </summary>
internal sealed class SignInTries : IDisposable
{
    public static readonly TimeSpan Window = TimeSpan.FromMinutes(5);

    private readonly PartitionedRateLimiter<string> limiter = PartitionedRateLimiter.Create<string, string>(
        address => RateLimitPartition.GetSlidingWindowLimiter(
            address,
            _ => new SlidingWindowRateLimiterOptions { PermitLimit = 10, Window = Window, SegmentsPerWindow = 5 }),
        StringComparer.Ordinal);

    /// <summary>Whether one more try is allowed; it is counted.</summary>
    public bool Allow(HttpContext context)
    {
        using var lease = limiter.AttemptAcquire(context.Connection.RemoteIpAddress?.ToString() ?? "");
        return lease.IsAcquired;
    }

    public void Dispose() => limiter.Dispose();
}
