using RootCellar.Diagnostics;
using RootCellar.Storage;

namespace RootCellar.Monitoring;

/// <summary>Looks every minute how full the card is, and has that judged like any other figure.</summary>
internal sealed class DiskWatch(DiskSpace disk, Pipeline pipeline, TimeProvider time, FailedWork failed) : BackgroundService
{
    private static readonly TimeSpan LookEvery = TimeSpan.FromMinutes(1);

    protected override async Task ExecuteAsync(CancellationToken stoppingToken)
    {
        const string what = "looking how full the card is";
        await Task.Yield();
        using var timer = new PeriodicTimer(LookEvery, time);
        try
        {
            do
            {
                disk.Look();
                try
                {
                    await pipeline.AskAsync(
                        (house, wall, mono) =>
                        {
                            house.JudgeDisk(disk.JudgedPercent, wall, mono);
                            return true;
                        },
                        stoppingToken);
                    failed.WorksAgain(Store.Room, what);
                }
                catch (Exception e) when (e is not OperationCanceledException && !stoppingToken.IsCancellationRequested)
                {
                    failed.Failed(Store.Room, what, e, triedAgain: true);
                }
            }
            while (await timer.WaitForNextTickAsync(stoppingToken));
        }
        catch (Exception) when (stoppingToken.IsCancellationRequested)
        {
            // Stopping.
        }
    }
}
