using Microsoft.Extensions.Diagnostics.HealthChecks;

namespace RootCellar.Storage;

/// <summary>How much room the disk under the record has.</summary>
internal sealed class DiskSpace(Store store)
{
    /// <summary>
    /// Below this the grower is told: some weeks of readings (20 sensors write about 10 MB a week) and room for a copy (assumed).
    /// </summary>
    public const long LittleBytes = 200_000_000;

    /// <summary>Free bytes for the user that runs the service; null where the disk does not answer.</summary>
    public long? FreeBytes
    {
        get
        {
            try
            {
                return new DriveInfo(store.Folder).AvailableFreeSpace;
            }
            catch (Exception e) when (e is IOException or UnauthorizedAccessException or ArgumentException)
            {
                return null;
            }
        }
    }

    public bool IsLittle => FreeBytes is { } free && free < LittleBytes;
}

/// <summary>Warns before the disk is full: then is the time to make room.</summary>
internal sealed class DiskSpaceCheck(DiskSpace disk) : IHealthCheck
{
    public Task<HealthCheckResult> CheckHealthAsync(HealthCheckContext context, CancellationToken cancellationToken = default) =>
        Task.FromResult(
        disk.FreeBytes is not { } free ? HealthCheckResult.Degraded("The disk under the record does not say how full it is.")
        : disk.IsLittle ? HealthCheckResult.Degraded($"Only {free / 1_000_000} MB are free under the record.")
        : HealthCheckResult.Healthy());
}
