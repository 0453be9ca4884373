using Microsoft.Extensions.Diagnostics.HealthChecks;

namespace RootCellar.Monitoring;

/// <summary>Whether the one thread that judges still ticks.</summary>
internal sealed class WatchCheck(Pipeline pipeline) : IHealthCheck
{
    /// <summary>It ticks every second; thirty missed in a row are no busy moment (assumed).</summary>
    private static readonly TimeSpan Stuck = TimeSpan.FromSeconds(30);

    public Task<HealthCheckResult> CheckHealthAsync(HealthCheckContext context, CancellationToken cancellationToken = default) =>
        Task.FromResult(pipeline.SinceLastTick > Stuck
            ? HealthCheckResult.Unhealthy("Readings are no longer judged.") : HealthCheckResult.Healthy());
}
