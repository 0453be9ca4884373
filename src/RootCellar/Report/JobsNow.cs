using RootCellar.Advice;
using RootCellar.Household;
using RootCellar.Ledger;
using RootCellar.Lots;
using RootCellar.Monitoring;
using RootCellar.Readings;
using RootCellar.Storage;
using RootCellar.Tls;
using RootCellar.Watch;

namespace RootCellar.Report;

/// <summary>The one list of <see cref="Jobs"/> as it stands now: To do says it, and the calendar.</summary>
internal sealed class JobsNow(
    LedgerDoor door, LotKeeper lots, StockNow stock, SensorsToSeeTo sensors, Show show, Backups backups, Store store, DiskSpace disk,
    HouseCertificate certificate)
{
    public IReadOnlyList<Job> Of(LiveSnapshot now) => Jobs.Of(new JobFacts(
        show.Now, door.Book, lots.Views, [.. now.Places.Select(Wrong).OfType<RoomWrong>()],
        [.. now.OpenAlarms.Where(a => a.Active && !a.Rule.IsOfRoomAir())], stock.Promises, [.. Standing(now)])
    {
        Backup = backups.Now,
        Certificate = certificate.Now,
        Card = store.CardErrors.Seen,
        Left = disk.IsLittle ? disk.Left : null,
    });

    // Looked for once an hour: meanwhile one may have been replaced, moved or given a name.
    private IEnumerable<SensorTrouble> Standing(LiveSnapshot now)
    {
        foreach (var trouble in sensors.Now)
        {
            if (now.Sensor(trouble.Sensor) is { } sensor && sensor.Place == trouble.Place) yield return trouble with { Name = sensor.Name };
        }
    }

    // What is on its way to an alarm is known here alone: no record keeps it.
    private static RoomWrong? Wrong(PlaceView view) => view.Judgement.Findings.Count == 0
        ? null
        : new RoomWrong(view.Place.Id, [.. view.Judgement.Findings.Select(f => (f.Rule, f.Since))],
            view.Alarms.Any(a => a.CallsForSomeone));
}
