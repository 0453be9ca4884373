using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.Mvc.RazorPages;
using Microsoft.Data.Sqlite;
using RootCellar.Household;
using RootCellar.Monitoring;
using RootCellar.Tell;
using RootCellar.Watch;

namespace RootCellar.Pages;

/// <summary>
/// Where the link in a mail leads: what it told of as it stands now, and one button. Only the button acknowledges, since mail servers look at
/// links before people do; whoever presses it is the contact whom the mail was sent to. No sign-in: the link is the key, once, for a day.
/// </summary>
internal sealed class AnswerModel(Outbox outbox, Pipeline pipeline, AlarmWords words, TimeProvider time, Show show) : PageModel
{
    /// <summary>What it told of and is not done with; none where the link answers nothing.</summary>
    public IReadOnlyList<AlarmCard> Cards { get; private set; } = [];

    /// <summary>The link holds, and all it told of is over and done with.</summary>
    public bool IsOver { get; private set; }

    /// <summary>Whom the mail was sent to.</summary>
    public string Name { get; private set; } = "";

    /// <summary>Whether there is something to answer.</summary>
    public bool Asks { get; private set; }

    public IActionResult OnGet(string token)
    {
        Look(token);
        return Page();
    }

    public async Task<IActionResult> OnPostAsync(string token)
    {
        if (!Look(token) || !Asks) return Page();
        foreach (var card in Cards)
            await pipeline.AskAsync((house, wall, mono) => house.Acknowledge(card.Alarm.Id, Name, mono, wall), HttpContext.RequestAborted);
        // Where the phone is gone by now, it may be pressed once more: what is acknowledged stays so.
        await outbox.UseLinkAsync(AnswerLinks.HashOf(token)).WaitAsync(HttpContext.RequestAborted);
        return Redirect(Request.Path);
    }

    /// <summary>How an alarm stands that needs no answer any more; null where it needs one.</summary>
    public string? Standing(Alarm alarm) => alarm.State switch
    {
        AlarmState.Acknowledged => Strings.AnswerKnownNow.With(alarm.AcknowledgedBy, show.Time(alarm.AcknowledgedAt!.Value)),
        AlarmState.Shelved => Strings.AnswerQuiet,
        _ => null,
    };

    private bool Look(string token)
    {
        // The address is the key: no cache keeps what it opened.
        Response.Headers.CacheControl = "no-store";
        if (Find(token) is not { } found || found.Link.Until <= time.GetUtcNow()
            || pipeline.Snapshot.Contacts.FirstOrDefault(c => c.Channel == found.Mail.Channel && c.Address == found.Mail.Recipient) is not { } who)
        {
            Response.StatusCode = StatusCodes.Status404NotFound;
            return false;
        }

        var now = pipeline.Snapshot;
        var alarms = found.Mail.Answerable!.Alarms;
        Name = who.Name;
        Cards = words.Of(now.OpenAlarms.Where(a => alarms.Contains(a.Id)), now.Places, "/alarms");
        IsOver = Cards.Count == 0;
        Asks = found.Link.UsedAt is null && Cards.Any(c => Standing(c.Alarm) is null);
        return true;
    }

    private (Outgoing Mail, AnswerLink Link)? Find(string token)
    {
        if (token.Length != AnswerLinks.TokenLength) return null;
        try
        {
            return outbox.WithLink(AnswerLinks.HashOf(token));
        }
        catch (SqliteException)
        {
            // Without its record the service knows no links; signing in goes on.
            return null;
        }
    }
}
