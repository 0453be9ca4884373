using RootCellar.Diagnostics;
using RootCellar.Storage;

namespace RootCellar.Monitoring;

/// <summary>Looks every minute how full the card is, and has that judged like any other figure.</summary>
internal sealed class DiskWatch(DiskSpace disk, Pipeline pipeline, FailedWork failed) : BackgroundService
{
    protected override Task ExecuteAsync(CancellationToken stoppingToken) =>
        failed.LookEveryAsync(TimeSpan.FromMinutes(1), Store.Room, "looking how full the card is", LookAsync, stoppingToken);

    private Task LookAsync(CancellationToken cancellationToken)
    {
        disk.Look();
        return pipeline.AskAsync(
            (house, wall, mono) =>
            {
                house.JudgeDisk(disk.JudgedPercent, wall, mono);
                return true;
            },
            cancellationToken);
    }
}
