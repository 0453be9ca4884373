using System.Security.Claims;
using RootCellar.Entry;
using RootCellar.Household;
using RootCellar.Ledger;
using RootCellar.Lots;
using RootCellar.Monitoring;
using RootCellar.Readings;
using RootCellar.Report;
using RootCellar.Storage;
using RootCellar.Tell;

namespace RootCellar.Pages;

/// <summary>What is wrong with the service itself, for the top of every page.</summary>
internal sealed class Troubles(
    Store store, DiskSpace disk, Outbox outbox, ReportTemplates report, KeyFolder keys, Languages languages, LotKeeper lots,
        LedgerDoor ledger, Show show, PingState ping, IServiceProvider services)
{
    /// <summary>From here on the household is told that the book is nearly full.</summary>
    private const double NearlyFull = 0.9;

    /// <param name="who">Who looks: what the far side of a channel said may hold an address, which is the household's.</param>
    public IEnumerable<string> Now(ClaimsPrincipal who)
    {
        if (store.AnyProblem is { } record)
            yield return (store.StartProblem is not null && SetUpCopy.Read(store.Folder) is null
                ? Strings.TroubleRecordAndCopy : Strings.TroubleRecord).With(record);
        if (disk.IsVeryLittle) yield return Strings.TroubleDisk.With((disk.FreeBytes ?? 0) / 1_000_000);
        if (services.GetService<OutsideBroker>()?.Trouble is { } broker) yield return Strings.TroubleBroker.With(broker);
        if (ledger.Trouble is { } unread)
            yield return unread.Entries is { } entries ? Strings.TroubleBookLarge.With(entries, ledger.Room)
                : Strings.TroubleBookUnread.With(unread.Text);
        if (ledger.Damaged.Count is > 0 and var count)
            yield return count == 1 ? Strings.TroubleLedgerOne : Strings.TroubleLedger.With(count);
        if (lots.Standstill is { } why)
            yield return lots.Views.At is { } since ? Strings.TroubleEstimates.With(show.Time(since), why)
                : Strings.TroubleNoEstimates.With(why);
        foreach (var lot in lots.Views.Unfollowed.Values.Where(u => u.Why == WhyUnfollowed.Fault))
            yield return Strings.TroubleLot.With(NameRules.Seen(lot.Lot));
        foreach (var fault in report.Problems) yield return Strings.TroubleTemplate.With(fault);
        foreach (var fault in languages.Household.Problems.Take(3)) yield return Strings.TroubleLanguage.With(fault);
        foreach (var (channel, error) in outbox.Troubles)
            yield return who.MaySetUp() ? Strings.TroubleChannel.With(SetUpModel.ChannelName(channel), error)
                : Strings.TroubleChannelOnly.With(SetUpModel.ChannelName(channel));
        if (ping.IsMissed)
            yield return who.MaySetUp() ? Strings.TroublePing.With(ping.HeldBack is { } held ? ChannelsModel.Dead(held) : ping.Fault) : Strings.TroublePingOnly;
        if (keys.Problem is { } key) yield return key;
        if (ledger.Book.Entries.Count > NearlyFull * ledger.MostEntries)
            yield return Strings.TroubleBookFull.With(ledger.Book.Entries.Count, ledger.MostEntries);
    }
}
