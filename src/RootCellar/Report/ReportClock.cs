using RootCellar.Diagnostics;
using RootCellar.Ledger;
using RootCellar.Lots;
using RootCellar.Storage;
using RootCellar.Tell;

namespace RootCellar.Report;

/// <summary>
/// Sends the report once a week. What was sent is known by the name of the week, not by the clock: neither a restart nor a clock that is
/// set, nor an hour that comes twice, sends it again; and what was missed is sent late, and says so. Only the last week that was due is:
/// nobody reads five at once.
/// </summary>
internal sealed class ReportClock(Store store, ReportOptions options, TellOptions tell, ReportMaker maker, Func<Book> book,
    Func<IReadOnlyList<Contact>> contacts, Outbox outbox, TimeProvider time, ILogger<ReportClock> log, FailedWork? failed = null)
        : BackgroundService
{
    /// <summary>Readings wait for their batch before they are on disk.</summary>
    public static readonly TimeSpan Behind = TimeSpan.FromSeconds(30);

    private static readonly TimeSpan LookEvery = TimeSpan.FromMinutes(1);
    private static readonly TimeSpan LateAfter = TimeSpan.FromMinutes(30);

    // Nothing was in it when it was due; looked at again after the next start only.
    private string? nothingIn;

    protected override async Task ExecuteAsync(CancellationToken stoppingToken)
    {
        await Task.Yield();
        using var timer = new PeriodicTimer(LookEvery, time);
        try
        {
            do
            {
                try
                {
                    await LookAsync();
                    failed?.WorksAgain("report", "making the weekly report");
                }
                catch (StoreProblemException e)
                {
                    log.LogWarning("The weekly report waits: {Problem}", e.Message);
                }
                catch (Exception e) when (e is not OperationCanceledException && !stoppingToken.IsCancellationRequested)
                {
                    // The watch goes on whatever one week's figures do; the next minute tries again.
                    failed?.Failed("report", "making the weekly report", e, triedAgain: true);
                }
            }
            while (await timer.WaitForNextTickAsync(stoppingToken));
        }
        catch (Exception) when (stoppingToken.IsCancellationRequested)
        {
            // Stopping: nothing is half sent.
        }
    }

    /// <summary>Sends the report if one is due. The week that was sent, or null.</summary>
    public async Task<string?> LookAsync()
    {
        // On memory alone nobody would know tomorrow that it was sent.
        if (store.StartProblem is not null || !HouseClock.HourCountsOn(time)) return null;
        var now = time.GetUtcNow();
        if (options.LastDue(now, maker.Words.Zone) is not { } due || due.Week.Name == nothingIn) return null;
        if (store.Read(c => ReportRows.IsSent(c, due.Week.Name)) || due.At < await store.WriteAsync(c => ReportRows.DueSince(c, now)))
            return null;

        var to = Recipients(contacts());
        if (to.Count == 0)
        {
            // Nobody is written to; what the page says at that hour is what was said.
            var shown = store.Read(c => maker.Make(c, book(), due.Week, now - Behind, (_, _) => ""));
            await store.WriteAsync(
                c => { ReportRows.Mark(c, due.Week.Name, now, 0, null, [], shown.Figures.IsEmpty ? null : Said(shown, now)); });
            return null;
        }

        DateTimeOffset? late = now - due.At > LateAfter ? due.At : null;
        var (made, pictures) = store.Read(c => maker.Mail(c, book(), due.Week, now - Behind, late));
        if (made.Figures.IsEmpty)
        {
            nothingIn = due.Week.Name;
            return null;
        }

        var mails = to.Select(address => new Outgoing(
            Guid.NewGuid().ToString("N"), null, MailChannel.ChannelName, address, "low", made.Subject, made.Subject, made.Text, now)
        { Report = due.Week.Name }).ToList();
        var kept = store.WriteAsync(c =>
        {
            if (!ReportRows.Mark(c, due.Week.Name, now, mails.Count, made.Document(), pictures, Said(made, now))) return false;
            foreach (var mail in mails) OutboxRows.SaveNew(c, mail);
            return true;
        });
        outbox.Accept(mails, kept);
        if (!await kept) return null;
        log.LogInformation("The report of {Week} is on its way to {Count}", due.Week.Name, mails.Count);
        return due.Week.Name;
    }

    private static AsSent Said(MadeReport made, DateTimeOffset now) => new(made.Text, SaidFigure.Of(made.Figures), made.Figures.UpTo, now);

    private List<string> Recipients(IReadOnlyList<Contact> known)
    {
        if (!outbox.Channels.Contains(MailChannel.ChannelName)) return [];
        var to = known.Where(c => c is { Channel: MailChannel.ChannelName, Report: true }).Select(c => c.Address).ToList();
        if (tell.Mail.To is { Length: > 0 } always && !known.Any(c => c.Channel == MailChannel.ChannelName && c.Address == always))
            to.Add(always);
        return [.. to.Distinct(StringComparer.OrdinalIgnoreCase)];
    }
}
