using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.Mvc.RazorPages;
using RootCellar.Diagnostics;
using RootCellar.Entry;
using RootCellar.Household;
using RootCellar.Monitoring;
using RootCellar.Pages.Evening;
using RootCellar.Places;
using RootCellar.Readings;
using RootCellar.Storage;
using RootCellar.Tell;
using RootCellar.Watch;

namespace RootCellar.Pages;

/// <summary>Now: every place, its air, what it is held to, and what is wrong.</summary>
internal sealed class IndexModel(
    Pipeline pipeline, NowMaker maker, Outbox outbox, FailedWork failedWork,
    HouseholdOptions household, Backups backups, BackupWords backupWords, FirstEvening evening, Show show,
    HouseClock? clock = null, TimeKeeper? keeper = null) : PageModel
{
    // The year 2100.
    private const long LatestMs = 4_102_444_800_000;

    private static readonly TimeSpan UnwatchedShownFor = TimeSpan.FromDays(1);

    /// <summary>Places, what stands wrong there, and what to do.</summary>
    public NowView Now { get; private set; } = null!;

    public bool AnyPlace { get; private set; }

    public int Waiting { get; private set; }

    /// <summary>Set-up is not finished, and anything on the network may connect.</summary>
    public bool EverythingOpen => evening.IsGateOpen;

    /// <summary>The service's own work that failed within the last hour, the latest first.</summary>
    public IReadOnlyList<WorkFailure> Failed { get; } = failedWork.Recent;

    /// <summary>Of the last day: when nobody watched, and what sensors kept of it; null where somebody did.</summary>
    public string? Unwatched { get; private set; }

    /// <summary>Whose work; the log has which of it.</summary>
    public static string Work(string room) => room switch
    {
        Store.Room => Strings.WorkRecord,
        "watch" => Strings.WorkWatch,
        "texts" => Strings.WorkTexts,
        "report" => Strings.WorkReport,
        "charts" => Strings.WorkCharts,
        "broker" => Strings.WorkBroker,
        _ => Strings.WorkOther,
    };

    /// <summary>That the time is not known, since when, and what it means; null where it is.</summary>
    public string? TimeNotKnown => clock?.CountedSince is { } since
        ? Strings.TimeNotKnownWhat.With(show.Time(since)) + " " + (clock.HourCounts ? Strings.TimeGoesOn : Strings.TimeWaits) : null;

    /// <summary>What is wrong with what a phone gave as the time.</summary>
    public string? PhoneWrong { get; private set; }

    /// <summary>Alarms would reach nobody away from this page.</summary>
    public bool NobodyTold { get; private set; }

    /// <summary>Nothing can be sent at all, so a contact would not help.</summary>
    public bool NoChannel => outbox.Channels.Count == 0;

    /// <summary>When the last backup was made; null where there is none, or where a job says what is wrong with it.</summary>
    public string? Backup => backups.Now is { Last: not null, CallsForSomeone: false } now ? backupWords.Last(now) : null;

    /// <summary>How many steps of the first evening are left; for a helper none is.</summary>
    public int EveningLeft => User.IsHelper() ? 0 : evening.Left;

    /// <summary>What is left of set-up, what matters most first.</summary>
    public IReadOnlyList<(string What, string Address, string Link)> Left
    {
        get
        {
            List<(string, string, string)> left = [];
            // Without a place it is the page's first button.
            if (EveningLeft is > 0 and var steps && AnyPlace) left.Add((FirstEvening.LeftSaid(steps), FirstEvening.Address, Strings.EveningGoOn));
            if (EverythingOpen) left.Add((Strings.EverythingOpen, "/set-up#connect", Strings.FinishSetUp));
            if (NobodyTold)
                left.Add((NoChannel ? Strings.NoChannel : Strings.NobodyTold, NoChannel ? "/set-up/channels" : "/set-up#contacts", NoChannel ? Strings.SetUpChannel : Strings.AddContact));
            if (backups.Now.Folder is null) left.Add((Strings.BackupNone, BackupModel.Address, Strings.BackupSetUp));
            if (Waiting > 0) left.Add((Strings.SensorsWaiting.With(Waiting), "/sensors", Strings.PlaceThem));
            return left;
        }
    }

    /// <summary>The time is the one of the phone that asks, in milliseconds since 1970 UTC.</summary>
    public async Task<IActionResult> OnPostTimeAsync(long? phone)
    {
        if (clock is null or { IsKnown: true }) return LocalRedirect("/");
        if (phone is not (> 0 and < LatestMs) || DateTimeOffset.FromUnixTimeMilliseconds(phone.Value) is var now && clock.IsTooEarly(now))
        {
            PhoneWrong = Strings.PhoneTimeWrong;
            OnGet();
            return Page();
        }

        await keeper!.SetByPhoneAsync(now, HttpContext.RequestAborted);
        return LocalRedirect("/");
    }

    public void OnGet()
    {
        var now = pipeline.Snapshot;
        var views = now.Places;
        AnyPlace = views.Count > 0;
        if (now.Unwatched is { } time && now.At - time.To < UnwatchedShownFor)
        {
            var calendar = household.Calendar();
            var kept = UnwatchedWords.Kept(time, now.AllPlaces, household.Scale);
            Unwatched = Strings.UnwatchedNow.With(
                    calendar.Hour(time.From, now.At), calendar.Hour(time.To, now.At), Advice.Wording.Duration(time.To - time.From))
                + (kept.Count == 0 ? "" : $" {Strings.UnwatchedMeantime} {string.Join("; ", kept.Select(k => $"{k.Place.Name} {k.Figures}"))}.");
        }

        Now = maker.Of(now);
        Waiting = now.Sensors.Count(s => s.Place is null && now.ReplacedBy(s.Key) is null);
        NobodyTold = views.Count > 0 && !evening.SomebodyTold;
    }
}
