using Microsoft.Extensions.Diagnostics.HealthChecks;

namespace RootCellar.Entry;

/// <summary>Room "entry": whether people can sign in and stay signed in.</summary>
internal sealed class EntryHealth(KeyFolder keys) : IHealthCheck
{
    public Task<HealthCheckResult> CheckHealthAsync(HealthCheckContext context, CancellationToken cancellationToken = default) =>
        Task.FromResult(keys.Problem is { } problem ? HealthCheckResult.Degraded(problem) : HealthCheckResult.Healthy());
}
