using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.Mvc.RazorPages;
using Microsoft.Data.Sqlite;
using RootCellar.Entry;
using RootCellar.Household;
using RootCellar.Monitoring;
using RootCellar.Storage;
using RootCellar.Tell;
using RootCellar.Watch;

namespace RootCellar.Pages;

/// <summary>Alarms that are open, what was sent because of them, and those that are over.</summary>
internal sealed class AlarmsModel(Pipeline pipeline, Store store, AlarmWords words) : PageModel
{
    private const int Shown = 60;

    /// <summary>So many are acknowledged with one press.</summary>
    private const int MostAtOnce = 200;

    private static readonly TimeSpan ShelveFor = TimeSpan.FromHours(8);

    private IReadOnlyList<Contact> contacts = [];

    /// <summary>The rooms whose air is wrong, one card each.</summary>
    public IReadOnlyList<RoomCard> Rooms { get; private set; } = [];

    /// <summary>Any other alarm that is not done with.</summary>
    public IReadOnlyList<AlarmCard> Open { get; private set; } = [];

    public IReadOnlyList<AlarmCard> Past { get; private set; } = [];

    public IReadOnlyList<Outgoing> Texts { get; private set; } = [];

    public string? Problem { get; private set; }

    public static string StateOf(Outgoing text) => text.State switch
    {
        OutgoingState.Sent => Strings.TextSent,
        OutgoingState.Sending => Strings.TextSending,
        OutgoingState.Waiting => Strings.TextWaiting,
        _ => Strings.TextGivenUp,
    };

    /// <summary>To whom a text goes: by address for the household; others see the name of the contact and no address.</summary>
    public string To(Outgoing text) => text.Recipient.Length == 0 ? Strings.Everybody
        : User.MaySetUp() ? text.Recipient
        : contacts.FirstOrDefault(c => c.Channel == text.Channel && c.Address == text.Recipient)?.Name ?? Strings.SomeContact;

    public void OnGet()
    {
        var now = pipeline.Snapshot;
        (var places, contacts) = (now.Places, now.Contacts);
        Rooms = [.. places.Select(p => words.Room(p, "/alarms")).OfType<RoomCard>().OrderByDescending(r => r.Level == "raised")];
        var onRooms = Rooms.SelectMany(r => r.Alarms).Select(a => a.Alarm.Id).ToHashSet(StringComparer.Ordinal);
        Open = words.Of(
            now.OpenAlarms.Where(a => !onRooms.Contains(a.Id)).Reverse().OrderByDescending(a => a.State == AlarmState.Unacknowledged)
                .ThenByDescending(a => a.Priority),
            places,
            "/alarms");
        try
        {
            Past = words.Of(store.Read(c => AlarmRows.Past(c, Shown)), places, "/alarms");
            Texts = store.Read(c => OutboxRows.Latest(c, Shown));
        }
        catch (SqliteException e)
        {
            Problem = Strings.TroubleRecord.With(e.Message);
        }
    }

    /// <summary>One alarm, all of a room, or all that are over.</summary>
    public async Task<IActionResult> OnPostAcknowledgeAsync(string[] id, string? back)
    {
        foreach (var one in id.Distinct(StringComparer.Ordinal).Take(MostAtOnce))
            await DoAsync((house, wall, mono) => house.Acknowledge(one, User.Identity?.Name ?? "", mono, wall), back);
        return Back(back);
    }

    public Task<IActionResult> OnPostShelveAsync(string id, string? back) =>
        DoAsync((house, wall, mono) => house.Shelve(id, ShelveFor, mono, wall), back);

    public Task<IActionResult> OnPostUnshelveAsync(string id, string? back) =>
        DoAsync((house, wall, mono) => house.Unshelve(id, mono, wall), back);

    // An alarm that is gone meanwhile, or was acknowledged by another thumb, needs no message: the page shows how it is.
    private async Task<IActionResult> DoAsync(Func<LiveState, DateTimeOffset, TimeSpan, AlarmChange?> what, string? back)
    {
        await pipeline.AskAsync(what, HttpContext.RequestAborted);
        return Back(back);
    }

    private LocalRedirectResult Back(string? back) => LocalRedirect(Url.IsLocalUrl(back) ? back : "/alarms");
}
