using System.Diagnostics.Metrics;
using Microsoft.Extensions.Diagnostics.HealthChecks;
using RootCellar.Diagnostics;

namespace RootCellar.Storage;

/// <summary>Looks every minute whether a backup is due. A copy under way at a stop has no name yet, and the next look clears it.</summary>
internal sealed class BackupService(Backups backups, FailedWork failed) : BackgroundService
{
    protected override Task ExecuteAsync(CancellationToken stoppingToken) =>
        failed.LookEveryAsync(TimeSpan.FromMinutes(1), Store.Room, "looking after the backup", backups.LookAsync, stoppingToken);
}

/// <summary>Degraded while a backup that was set up is not made.</summary>
internal sealed class BackupCheck(Backups backups) : IHealthCheck
{
    public Task<HealthCheckResult> CheckHealthAsync(HealthCheckContext context, CancellationToken cancellationToken = default) =>
        Task.FromResult(backups.Now is { CallsForSomeone: true } now
            ? HealthCheckResult.Degraded($"The backup is not made: {now.Trouble}.") : HealthCheckResult.Healthy());
}

/// <summary>How old the last backup is, and how many were made.</summary>
internal sealed class BackupMetrics : IRoomMetrics
{
    public BackupMetrics(IMeterFactory meters, Backups backups, TimeProvider time)
    {
        var meter = meters.Create("RootCellar.Storage");
        meter.Count("rootcellar.backups.made", "Backups made and read back since the start.", () => backups.Made);
        meter.Count("rootcellar.backups.failed", "Tries to make a backup that came to nothing since the start.", () => backups.Failed);
        meter.Gauge("rootcellar.backup.age", "How old the last backup is; not a number where there is none.",
            () => backups.Now.Last is { } last ? (time.GetUtcNow() - last.At).TotalSeconds : double.NaN, "s");
    }
}
