using System.Security.Claims;
using RootCellar.Entry;
using RootCellar.Ledger;
using RootCellar.Readings;
using RootCellar.Report;
using RootCellar.Storage;
using RootCellar.Tell;

namespace RootCellar.Pages;

/// <summary>What is wrong with the service itself, for the top of every page.</summary>
internal sealed class Troubles(Store store, DiskSpace disk, Outbox outbox, ReportTemplates report, KeyFolder keys, LedgerDoor ledger, IServiceProvider services)
{
    /// <summary>From here on the household is told that the book is nearly full.</summary>
    private const double NearlyFull = 0.9;

    /// <param name="who">Who looks: what the far side of a channel said may hold an address, which is the household's.</param>
    public IEnumerable<string> Now(ClaimsPrincipal who)
    {
        if (store.AnyProblem is { } record)
            yield return (store.StartProblem is not null && SetUpCopy.Read(store.Folder) is null ? Strings.TroubleRecordAndCopy : Strings.TroubleRecord).With(record);
        if (disk.IsLittle) yield return Strings.TroubleDisk.With((disk.FreeBytes ?? 0) / 1_000_000);
        if (services.GetService<OutsideBroker>()?.Trouble is { } broker) yield return Strings.TroubleBroker.With(broker);
        foreach (var fault in report.Problems) yield return Strings.TroubleTemplate.With(fault);
        foreach (var (channel, error) in outbox.Troubles) yield return who.MaySetUp() ? Strings.TroubleChannel.With(channel, error) : Strings.TroubleChannelOnly.With(channel);
        if (keys.Problem is { } key) yield return key;
        if (ledger.Book.Entries.Count > NearlyFull * ledger.MostEntries) yield return Strings.TroubleBookFull.With(ledger.Book.Entries.Count, ledger.MostEntries);
    }
}
