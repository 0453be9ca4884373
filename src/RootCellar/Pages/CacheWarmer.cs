using RootCellar.Charts;
using RootCellar.Diagnostics;
using RootCellar.Ledger;
using RootCellar.Lots;
using RootCellar.Readings;
using RootCellar.Report;

namespace RootCellar.Pages;

/// <summary>
/// Works out beforehand what takes longest to work out, so that nobody who opens its page waits: the report of the week gone by, whenever
/// something of its past has changed, and once after the start the season of every lot, those on hand first.
/// </summary>
internal sealed class CacheWarmer(LotHistory history, ReportDesk desk, LotKeeper keeper, LedgerDoor door, SensorsToSeeTo sensors,
    TimeProvider time, FailedWork failed) : BackgroundService
{
    // Readings come first on a small machine.
    private static readonly TimeSpan LookEvery = TimeSpan.FromSeconds(10);
    private static readonly TimeSpan OnceDone = TimeSpan.FromMinutes(1);

    protected override async Task ExecuteAsync(CancellationToken stoppingToken)
    {
        await Task.Yield();
        try
        {
            while (keeper.Views.At is null) await Task.Delay(LookEvery, time, stoppingToken);
            var lots = new Queue<string>(door.Book.Lots.Values.OrderByDescending(l => l.Bins.Any(b => b.EmptiedAt is null))
                .ThenByDescending(l => l.DugAt).Select(l => l.Id));
            while (true)
            {
                sensors.Look();
                desk.Of(desk.LastWhole);
                if (lots.TryDequeue(out var next) && door.Book.Lots.TryGetValue(next, out var lot)) LookAt(lot);
                await Task.Delay(lots.Count > 0 ? LookEvery : OnceDone, time, stoppingToken);
            }
        }
        catch (Exception) when (stoppingToken.IsCancellationRequested)
        {
            // Stopping; what breaks off under way is no fault.
        }
        catch (Exception e)
        {
            // It is only a beginning: whoever opens a page waits for it then.
            failed.Failed("charts", "working out reports and the past of the lots beforehand", e);
        }
    }

    private void LookAt(LotView lot)
    {
        var now = keeper.Views.At!.Value;
        var end = lot.Bins.Count > 0 && lot.Bins.All(b => b.EmptiedAt is not null) ? lot.Bins.Max(b => b.EmptiedAt!.Value) : now;
        if (end > now) end = now;
        if (lot.DugAt < end) history.Of(lot, null, lot.DugAt, end, new HistorySpan(HistorySpan.Own, lot.DugAt, end, EndsNow: true).Step);
    }
}
