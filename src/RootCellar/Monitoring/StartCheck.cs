using Microsoft.Extensions.Diagnostics.HealthChecks;

namespace RootCellar.Monitoring;

/// <summary>Ready is only what has started whole, and has not begun to stop: a port may be taken until the last part is up.</summary>
internal sealed class StartCheck(IHostApplicationLifetime lifetime) : IHealthCheck
{
    public Task<HealthCheckResult> CheckHealthAsync(HealthCheckContext context, CancellationToken cancellationToken = default) =>
        Task.FromResult(
        !lifetime.ApplicationStarted.IsCancellationRequested ? HealthCheckResult.Unhealthy("It is still starting.")
        : lifetime.ApplicationStopping.IsCancellationRequested ? HealthCheckResult.Unhealthy("It is stopping.")
        : HealthCheckResult.Healthy());
}
