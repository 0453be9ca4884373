using Microsoft.Extensions.Diagnostics.HealthChecks;

namespace RootCellar.Storage;

/// <summary>How much of the card under the record is free.</summary>
internal sealed record DiskLeft(long FreeBytes, long TotalBytes)
{
    public double Percent => 100.0 * FreeBytes / Math.Max(1, TotalBytes);
}

/// <summary>
/// How much room the card under the record has. Looked at by <see cref="Look"/>, for a card that fails may keep whoever asks it waiting.
/// </summary>
internal sealed class DiskSpace
{
    /// <summary>Below this part of the card making room is a job.</summary>
    public const double LittlePercent = 10;

    /// <summary>Below this the household is told.</summary>
    public const double NearlyFullPercent = 3;

    /// <summary>Below this, too: some weeks of readings (20 sensors write about 10 MB a week) and room for a copy (assumed).</summary>
    private const long LittleBytes = 200_000_000;

    /// <summary>So much is years of record, however small a part of the disk it is (assumed).</summary>
    private const long PlentyBytes = 10_000_000_000;

    private readonly string folder;
    private volatile DiskLeft? left;

    public DiskSpace(Store store)
    {
        folder = store.Folder;
        Look();
    }

    /// <summary>As of the last look; null where the card does not answer.</summary>
    public DiskLeft? Left => left;

    /// <summary>Free bytes for the user that runs the service; null where the card does not answer.</summary>
    public long? FreeBytes => left?.FreeBytes;

    /// <summary>Making room is a job.</summary>
    public bool IsLittle => left is { } now && (now.FreeBytes < LittleBytes || (now.FreeBytes < PlentyBytes && now.Percent <= LittlePercent));

    /// <summary>It may be full within days: said on every page.</summary>
    public bool IsVeryLittle => left is { FreeBytes: < LittleBytes };

    /// <summary>What the alarm goes by: the part that is free, %, and never little where there is plenty by any measure.</summary>
    public double? JudgedPercent => left is { } now ? now.FreeBytes < PlentyBytes ? now.Percent : Math.Max(now.Percent, LittlePercent) : null;

    public void Look()
    {
        try
        {
            var drive = new DriveInfo(folder);
            left = new DiskLeft(drive.AvailableFreeSpace, drive.TotalSize);
        }
        catch (Exception e) when (e is IOException or UnauthorizedAccessException or ArgumentException)
        {
            left = null;
        }
    }
}

/// <summary>Warns before the card is full: then is the time to make room.</summary>
internal sealed class DiskSpaceCheck(DiskSpace disk) : IHealthCheck
{
    public Task<HealthCheckResult> CheckHealthAsync(HealthCheckContext context, CancellationToken cancellationToken = default) =>
        Task.FromResult(
        disk.Left is not { } left ? HealthCheckResult.Degraded("The card under the record does not say how full it is.")
        : disk.IsLittle ? HealthCheckResult.Degraded($"Only {left.FreeBytes / 1_000_000} MB are free under the record.")
        : HealthCheckResult.Healthy());
}
