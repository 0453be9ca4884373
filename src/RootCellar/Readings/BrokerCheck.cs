using Microsoft.Extensions.Diagnostics.HealthChecks;

namespace RootCellar.Readings;

/// <summary>Whether messages can come in from a broker elsewhere.</summary>
internal sealed class OutsideBrokerCheck(OutsideBroker broker) : IHealthCheck
{
    public Task<HealthCheckResult> CheckHealthAsync(HealthCheckContext context, CancellationToken cancellationToken = default) =>
        Task.FromResult(broker.Trouble is { } trouble ? HealthCheckResult.Unhealthy(trouble) : HealthCheckResult.Healthy());
}
