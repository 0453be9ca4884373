using Microsoft.Extensions.Diagnostics.HealthChecks;

namespace RootCellar.Monitoring;

/// <summary>Whether the one thread that judges still ticks.</summary>
internal sealed class WatchCheck(Pipeline pipeline) : IHealthCheck
{
    public Task<HealthCheckResult> CheckHealthAsync(HealthCheckContext context, CancellationToken cancellationToken = default) =>
        Task.FromResult(pipeline.IsStuck
            ? HealthCheckResult.Unhealthy("Readings are no longer judged.") : HealthCheckResult.Healthy());
}
