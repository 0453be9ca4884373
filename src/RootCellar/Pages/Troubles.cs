using RootCellar.Readings;
using RootCellar.Report;
using RootCellar.Storage;
using RootCellar.Tell;

namespace RootCellar.Pages;

/// <summary>What is wrong with the service itself, for the top of every page.</summary>
internal sealed class Troubles(Store store, DiskSpace disk, Outbox outbox, ReportTemplates report, IServiceProvider services)
{
    public IEnumerable<string> Now()
    {
        if (store.AnyProblem is { } record) yield return Strings.TroubleRecord.With(record);
        if (disk.IsLittle) yield return Strings.TroubleDisk.With((disk.FreeBytes ?? 0) / 1_000_000);
        if (services.GetService<OutsideBroker>()?.Trouble is { } broker) yield return Strings.TroubleBroker.With(broker);
        foreach (var fault in report.Problems) yield return Strings.TroubleTemplate.With(fault);
        foreach (var (channel, error) in outbox.Troubles) yield return Strings.TroubleChannel.With(channel, error);
    }
}
