using Microsoft.Extensions.Hosting.Systemd;

namespace RootCellar.Monitoring;

/// <summary>
/// Tells systemd that the service lives, at half of WatchdogSec and only while the pipeline's thread ticks; the hosting
/// package sends READY and STOPPING only.
/// </summary>
internal sealed class Watchdog(Pipeline pipeline, IServiceProvider services, TimeProvider time) : BackgroundService
{
    protected override async Task ExecuteAsync(CancellationToken stoppingToken)
    {
        if (services.GetService<ISystemdNotifier>() is not { IsEnabled: true } systemd
            || !long.TryParse(Environment.GetEnvironmentVariable("WATCHDOG_USEC"), out var microseconds)) return;

        using var timer = new PeriodicTimer(TimeSpan.FromMicroseconds(microseconds / 2.0), time);
        try
        {
            while (await timer.WaitForNextTickAsync(stoppingToken))
            {
                if (!pipeline.IsStuck) systemd.Notify(new ServiceState("WATCHDOG=1"));
            }
        }
        catch (OperationCanceledException)
        {
            // Stopping.
        }
    }
}
