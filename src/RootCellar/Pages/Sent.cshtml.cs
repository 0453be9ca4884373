using Microsoft.AspNetCore.Mvc.RazorPages;
using Microsoft.Data.Sqlite;
using RootCellar.Entry;
using RootCellar.Household;
using RootCellar.Monitoring;
using RootCellar.Storage;
using RootCellar.Tell;

namespace RootCellar.Pages;

/// <summary>What was sent: when, to whom, and what became of it; also what waits and what was not needed after all.</summary>
internal sealed class SentModel(Pipeline pipeline, Store store, Show show) : PageModel
{
    private const int Shown = 100;

    /// <summary>The texts by day, newest first.</summary>
    public IReadOnlyList<IGrouping<DateOnly, Outgoing>> Days { get; private set; } = [];

    public string? Problem { get; private set; }

    public bool NobodyToTell => pipeline.Snapshot.Contacts.Count == 0;

    /// <summary>When it is or was to go out.</summary>
    public static DateTimeOffset At(Outgoing text) => text.SentAt ?? text.DueAt;

    /// <summary>To whom: by address for the household; others see the name of the contact and no address.</summary>
    public string To(Outgoing text) => text.Recipient.Length == 0 ? Strings.Everybody
        : User.MaySetUp() ? text.Recipient
        : pipeline.Snapshot.Contacts.FirstOrDefault(c => c.Channel == text.Channel && c.Address == text.Recipient)?.Name ?? Strings.SomeContact;

    /// <summary>What became of it.</summary>
    public string Fate(Outgoing text) => text.State switch
    {
        OutgoingState.Sent => Strings.TextSent,
        OutgoingState.Sending => Strings.TextSending,
        OutgoingState.Waiting => Strings.TextWaiting,
        OutgoingState.InOne => Strings.TextInOne,
        OutgoingState.NotNeeded => Strings.TextNotNeeded.With(text.Error),
        OutgoingState.Held => (text.Hold!.For switch
        {
            HeldFor.Others => Strings.TextHeldOthers,
            HeldFor.QuietHours => Strings.TextHeldQuiet,
            HeldFor.NextDay => Strings.TextHeldDay,
            _ => Strings.TextHeldMorning,
        }).With(show.Time(text.Hold.Until)),
        _ => Strings.TextGivenUp,
    };

    /// <summary>What went wrong; null where nothing did.</summary>
    public string? Error(Outgoing text) => text.Error is null || text.State == OutgoingState.NotNeeded
        ? null : User.MaySetUp() ? text.Error : Strings.TextErrorForHousehold;

    public void OnGet()
    {
        try
        {
            Days = [.. store.Read(c => OutboxRows.Latest(c, Shown)).OrderByDescending(At).GroupBy(t => show.Calendar.DayOf(At(t)))];
        }
        catch (SqliteException e)
        {
            Problem = Strings.TroubleRecord.With(e.Message);
        }
    }
}
