using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.Mvc.RazorPages;
using RootCellar.Entry;
using RootCellar.Household;
using RootCellar.Storage;

namespace RootCellar.Pages;

/// <summary>Where the nightly backup goes, how the last one went, one now, and one to take away.</summary>
internal sealed class BackupModel(Backups backups, BackupWords words, Doorkeeper doorkeeper, KnownBrowsers browsers, Show show) : PageModel
{
    public const string Address = "/set-up/backup";

    public BackupStanding Now => backups.Now;

    public BackupOptions Options => backups.Options;

    /// <summary>What was typed; it stays when something is wrong.</summary>
    public string? Folder { get; private set; }

    public bool AsksForCard { get; private set; }

    public string? Problem { get; private set; }

    public string? DownloadProblem { get; private set; }

    public string? Done { get; private set; }

    public string Last => words.Last(Now);

    public string NextWords => show.Time(Now.Next!.Value);

    public string? Found(LastBackup last) => last.LastReading is { } reading
        ? Strings.BackupHolds.With(BackupWords.Size(last.Bytes), last.Entries, last.Readings, show.Time(reading))
        : Strings.BackupHoldsNone.With(BackupWords.Size(last.Bytes), last.Entries);

    public IReadOnlyList<(string Folder, long FreeBytes)> Sticks { get; private set; } = [];

    public void OnGet(string? done)
    {
        Fill();
        Done = done switch
        {
            "on" => Strings.BackupOn,
            "off" => Strings.BackupTurnedOff,
            "made" when Now.Last is not null && Now.Trouble == BackupTrouble.None => Strings.BackupMade,
            _ => null,
        };
    }

    public async Task<IActionResult> OnPostSaveAsync(string? folder, bool sameCard)
    {
        if (string.IsNullOrWhiteSpace(folder)) return Refuse(folder, FolderRefusal.NoPath, null);
        if (backups.Set(folder, sameCard, out var detail) is { } refused) return Refuse(folder, refused, detail);
        return await MakeAsync("on");
    }

    public IActionResult OnPostOff() =>
        backups.Set(null, false, out var detail) is { } refused ? Refuse(null, refused, detail) : RedirectToPage(new { done = "off" });

    public Task<IActionResult> OnPostNowAsync() => MakeAsync("made");

    public async Task<IActionResult> OnPostDownloadAsync(string? passphrase)
    {
        // The copy holds what pages never show: the passwords of mail server, gateway and sensors.
        var answer = doorkeeper.Household(browsers.Who(HttpContext), passphrase);
        if (answer is not SignInAnswer.Household) return RefuseDownload(SignInModel.Words(answer, Strings.WrongPassphrase, show));
        try
        {
            return File(await backups.CopyAsync(HttpContext.RequestAborted), "application/vnd.sqlite3", backups.NameNow());
        }
        catch (Exception e) when (e is StoreProblemException or IOException or UnauthorizedAccessException)
        {
            return RefuseDownload(Strings.BackupNoCopy.With(e.Message));
        }
    }

    private async Task<IActionResult> MakeAsync(string done)
    {
        if (Now.Folder is null) return RedirectToPage();
        // A large record takes a while; whoever goes away meanwhile ends the waiting only.
        await backups.MakeAsync(CancellationToken.None).WaitAsync(HttpContext.RequestAborted);
        return RedirectToPage(new { done });
    }

    private PageResult Refuse(string? folder, FolderRefusal refusal, string? detail)
    {
        Fill();
        Folder = folder;
        AsksForCard = refusal == FolderRefusal.OnRecordsCard;
        Problem = BackupWords.Refusal(refusal, folder, detail);
        return Page();
    }

    private PageResult RefuseDownload(string why)
    {
        Fill();
        DownloadProblem = why;
        return Page();
    }

    private void Fill()
    {
        Folder = Now.Folder;
        if (!Now.ByInstaller) Sticks = [.. backups.Found().Where(s => s.Folder != Now.Folder)];
    }
}
