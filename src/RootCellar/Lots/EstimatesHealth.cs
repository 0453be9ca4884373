using System.Diagnostics.Metrics;
using Microsoft.Extensions.Diagnostics.HealthChecks;
using RootCellar.Diagnostics;

namespace RootCellar.Lots;

/// <summary>How old the estimates are, and how many lots have none because working them out failed.</summary>
internal sealed class EstimatesMetrics : IRoomMetrics
{
    public EstimatesMetrics(IMeterFactory meters, LotKeeper lots)
    {
        var meter = meters.Create("RootCellar.Lots");
        meter.Gauge("rootcellar.estimates.age", "How long ago the lots were last brought up to now.", () => lots.Age.TotalSeconds, "s");
        meter.Gauge("rootcellar.estimates.failed.lots", "Lots that could not be worked out and are known to the book only.",
            () => EstimatesCheck.Failed(lots));
        meter.Gauge("rootcellar.estimates.bins", "Bins that are estimated.", () => lots.Views.Bins.Count);
    }
}

/// <summary>Whether the lots are brought up to now, all of them; the watch goes on without.</summary>
internal sealed class EstimatesCheck(LotKeeper lots) : IHealthCheck
{
    public static int Failed(LotKeeper lots) => lots.Views.Unfollowed.Values.Count(u => u.Why == WhyUnfollowed.Fault);

    public Task<HealthCheckResult> CheckHealthAsync(HealthCheckContext context, CancellationToken cancellationToken = default) =>
        Task.FromResult(
        lots.Standstill is { } why ? HealthCheckResult.Degraded($"Estimates stand since {lots.Views.At:O}: {why}")
        : Failed(lots) is > 0 and var failed ? HealthCheckResult.Degraded($"{failed} lots cannot be worked out.")
        : HealthCheckResult.Healthy());
}
