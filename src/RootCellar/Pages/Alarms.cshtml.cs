using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.Mvc.RazorPages;
using Microsoft.Data.Sqlite;
using RootCellar.Household;
using RootCellar.Monitoring;
using RootCellar.Storage;
using RootCellar.Watch;

namespace RootCellar.Pages;

/// <summary>Alarms that are open and those that are over.</summary>
internal sealed class AlarmsModel(Pipeline pipeline, Store store, AlarmWords words) : PageModel
{
    private const int Shown = 60;

    /// <summary>So many are acknowledged with one press.</summary>
    private const int MostAtOnce = 200;

    private static readonly TimeSpan ShelveFor = TimeSpan.FromHours(8);

    /// <summary>The rooms whose air is wrong, one card each.</summary>
    public IReadOnlyList<RoomCard> Rooms { get; private set; } = [];

    /// <summary>Any other alarm that is not done with.</summary>
    public IReadOnlyList<AlarmCard> Open { get; private set; } = [];

    public IReadOnlyList<AlarmCard> Past { get; private set; } = [];

    public string? Problem { get; private set; }

    public void OnGet()
    {
        var now = pipeline.Snapshot;
        var places = now.Places;
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
