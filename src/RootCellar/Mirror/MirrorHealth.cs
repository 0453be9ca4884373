using System.Diagnostics.Metrics;
using Microsoft.Extensions.Diagnostics.HealthChecks;
using RootCellar.Diagnostics;

namespace RootCellar.Mirror;

/// <summary>How far the other server is behind.</summary>
internal sealed class MirrorMetrics : IRoomMetrics
{
    public MirrorMetrics(IMeterFactory meters, MirrorState mirror, TimeProvider time)
    {
        var meter = meters.Create("RootCellar.Mirror");
        meter.Flag("rootcellar.mirror.on", "1 while a mirror is set up.", () => mirror.Now.On);
        meter.Flag("rootcellar.mirror.ok", "1 while the mirror gets through, or is off.", () => mirror.Now.Problem is null);
        meter.Gauge("rootcellar.mirror.behind.rows", "Points that wait for the mirror's server; a million and more count as a million.",
            () => mirror.Now.BehindRows);
        meter.Gauge("rootcellar.mirror.lag", "For how long something has waited for the mirror's server.",
            () => mirror.Now.LagSeconds(time.GetUtcNow()), "s");
        meter.Count("rootcellar.mirror.sent", "Points the mirror's server took.", () => mirror.Now.Sent);
        meter.Count("rootcellar.mirror.dropped", "Points thinned out of the record before they were sent.", () => mirror.Now.Dropped);
        meter.Count("rootcellar.mirror.set.aside", "Points the mirror's server called malformed.", () => mirror.Now.Aside);
    }
}

/// <summary>Whether the mirror gets through; the cellar goes on without it.</summary>
internal sealed class MirrorCheck(MirrorState mirror) : IHealthCheck
{
    public Task<HealthCheckResult> CheckHealthAsync(HealthCheckContext context, CancellationToken cancellationToken = default) =>
        Task.FromResult(mirror.Now.Problem is { } problem ? HealthCheckResult.Degraded(problem) : HealthCheckResult.Healthy());
}
