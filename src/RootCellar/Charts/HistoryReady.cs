using RootCellar.Ledger;
using RootCellar.Lots;

namespace RootCellar.Charts;

/// <summary>
/// Looks once, soon after the start, at the season of every lot on hand, so that nobody who opens its page waits while a season is folded.
/// </summary>
internal sealed class HistoryReady(LotHistory history, LotKeeper keeper, LedgerDoor door, TimeProvider time, ILogger<HistoryReady> log) : BackgroundService
{
    private static readonly TimeSpan LookEvery = TimeSpan.FromSeconds(10);

    protected override async Task ExecuteAsync(CancellationToken stoppingToken)
    {
        await Task.Yield();
        try
        {
            while (keeper.Views.At is null) await Task.Delay(LookEvery, time, stoppingToken);
            var now = keeper.Views.At.Value;
            foreach (var lot in door.Book.Lots.Values.Where(l => l.Bins.Any(b => b.EmptiedAt is null)))
            {
                if (lot.DugAt >= now) continue;
                history.Of(lot, null, lot.DugAt, now, new HistorySpan(HistorySpan.Own, lot.DugAt, now, EndsNow: true).Step);
                // Readings come first on a small machine.
                await Task.Delay(LookEvery, time, stoppingToken);
            }
        }
        catch (Exception) when (stoppingToken.IsCancellationRequested)
        {
            // Stopping; what breaks off under way is no fault.
        }
        catch (Exception e)
        {
            // It is only a beginning: whoever opens a page waits for it then.
            log.LogWarning(e, "The past of the lots is worked out when it is asked for");
        }
    }
}
