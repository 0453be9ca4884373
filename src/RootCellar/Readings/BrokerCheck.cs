using Microsoft.Extensions.Diagnostics.HealthChecks;

namespace RootCellar.Readings;

/// <summary>Whether messages can come in from a broker elsewhere.</summary>
internal sealed class OutsideBrokerCheck(OutsideBroker broker) : IHealthCheck
{
    public Task<HealthCheckResult> CheckHealthAsync(HealthCheckContext context, CancellationToken cancellationToken = default) =>
        Task.FromResult(broker.Trouble is { } trouble ? HealthCheckResult.Unhealthy(trouble) : HealthCheckResult.Healthy());
}

/// <summary>Whether sensors reach the built-in broker.</summary>
internal sealed class BuiltInBrokerCheck(BuiltInBroker broker) : IHealthCheck
{
    public Task<HealthCheckResult> CheckHealthAsync(HealthCheckContext context, CancellationToken cancellationToken = default) =>
        Task.FromResult(broker switch
        {
            { IsRunning: false } => HealthCheckResult.Unhealthy("The built-in broker does not run."),
            { IsFull: true } => HealthCheckResult.Degraded(
                "The built-in broker has as many connections as it takes (Mqtt:Limits:Connections): new sensors are turned away."),
            _ => HealthCheckResult.Healthy(),
        });
}
