using Microsoft.Extensions.Diagnostics.HealthChecks;

namespace RootCellar.Readings;

/// <summary>Whether sensors reach the service: the room "broker" of the health checks.</summary>
internal sealed class BrokerHealth(IServiceProvider services) : IHealthCheck
{
    public Task<HealthCheckResult> CheckHealthAsync(HealthCheckContext context, CancellationToken cancellationToken = default) =>
        Task.FromResult(services.GetService<OutsideBroker>() is { } outside ? Of(outside) : Of(services.GetRequiredService<BuiltInBroker>()));

    private static HealthCheckResult Of(OutsideBroker broker) =>
        broker.Trouble is { } trouble ? HealthCheckResult.Unhealthy(trouble) : HealthCheckResult.Healthy();

    private static HealthCheckResult Of(BuiltInBroker broker) => broker switch
    {
        { IsRunning: false } => HealthCheckResult.Unhealthy("The built-in broker does not run."),
        { IsFull: true } => HealthCheckResult.Degraded("The built-in broker has as many connections as it takes (Mqtt:Limits:Connections): new sensors are turned away."),
        _ => HealthCheckResult.Healthy($"{broker.Clients} clients"),
    };
}
