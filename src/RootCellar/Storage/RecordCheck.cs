using Microsoft.Extensions.Diagnostics.HealthChecks;

namespace RootCellar.Storage;

/// <summary>Whether the record was opened and takes writes. Without it alarms go on and nothing is kept.</summary>
internal sealed class RecordCheck(Store store) : IHealthCheck
{
    public Task<HealthCheckResult> CheckHealthAsync(HealthCheckContext context, CancellationToken cancellationToken = default) =>
        Task.FromResult(store.AnyProblem is { } problem ? HealthCheckResult.Unhealthy(problem) : HealthCheckResult.Healthy());
}
