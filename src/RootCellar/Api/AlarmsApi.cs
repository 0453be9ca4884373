using System.Security.Claims;
using RootCellar.Entry;
using RootCellar.Household;
using RootCellar.Monitoring;
using RootCellar.Storage;
using RootCellar.Watch;

namespace RootCellar.Api;

internal sealed record ShelveFor(double? Hours = null);

/// <summary>Alarms by the states of ANSI/ISA-18.2.</summary>
internal static class AlarmsApi
{
    private static readonly string[] States = [.. Enum.GetValues<AlarmState>().Select(s => s.Slug())];

    public static void Map(RouteGroupBuilder group)
    {
        group.MapGet("", List).WithName("listAlarms").WithSummary("Alarms by the states of ANSI/ISA-18.2, the last raised first.")
            .Produces<IEnumerable<AlarmShape>>().WithMetadata(new LargeAnswer());
        group.MapPost("{id}/acknowledge", (string id, ClaimsPrincipal who, Pipeline pipeline, CancellationToken cancellationToken) =>
            DoAsync(pipeline, id, (h, wall, mono) => h.Acknowledge(id, who.Identity?.Name ?? "", mono, wall), cancellationToken))
            .WithName("acknowledgeAlarm").WithSummary("Acknowledges an alarm: somebody has seen it and is on it.").Produces<AlarmShape>()
                .WithMetadata(new HelpersMay());
        group.MapPost("{id}/shelve", async (string id, ShelveFor? body, Pipeline pipeline, CancellationToken cancellationToken) =>
            {
                if (body?.Hours is { } h and not (> 0 and <= 24 * 30))
                    return ApiRoutes.Wrong($"hours: {h} must be more than 0 and at most 720.");
                var length = TimeSpan.FromHours(body?.Hours ?? 8);
                if (body?.Hours is { } asked && pipeline.Snapshot.OpenAlarms.FirstOrDefault(a => a.Id == id) is { } alarm
                    && length > alarm.Priority.LongestShelf())
                {
                    return ApiRoutes.Wrong(
                        $"hours: {asked} is too long for an urgent alarm: at most {alarm.Priority.LongestShelf().TotalHours:0}.");
                }

                return await DoAsync(pipeline, id, (house, wall, mono) => house.Shelve(id, length, mono, wall), cancellationToken);
            })
            .WithName("shelveAlarm").WithSummary("Shelves an alarm: quiet for some hours, 8 unless given; an urgent one for 1 hour at most.").Produces<AlarmShape>();
        group.MapPost("{id}/unshelve", (string id, Pipeline pipeline, CancellationToken cancellationToken) =>
            DoAsync(pipeline, id, (h, wall, mono) => h.Unshelve(id, mono, wall), cancellationToken))
            .WithName("unshelveAlarm").WithSummary("Ends the quiet of a shelved alarm.").Produces<AlarmShape>();
    }

    private static IResult List(string? state, Pipeline pipeline, Store store)
    {
        if (state is not null && !States.Contains(state))
            return ApiRoutes.Wrong($"state: '{state}' is not one of {string.Join(", ", States)}.");
        var open = pipeline.Snapshot.OpenAlarms;
        var all = state == AlarmState.Normal.Slug() || state is null
            ? store.Read(c => AlarmRows.Latest(c, AlarmState.Normal.Slug(), 500))
            : [];
        // What is open is told from memory: it is right even while the record cannot be written.
        var asked = open.Where(a => state is null || a.State.Slug() == state).Concat(all).OrderByDescending(a => a.RaisedAt).ToList();
        var raisings = store.Read(c => AlarmRows.Of(c, asked.Select(a => a.Id)));
        return Results.Ok(asked.Select(a => AlarmShape.Of(a, pipeline.Snapshot.NameOf) with
        {
            Occurrences = [.. raisings[a.Id].Where(o => o.Count < a.Count).Append(a).Select(OccurrenceShape.Of)],
        }));
    }

    private static async Task<IResult> DoAsync(
        Pipeline pipeline, string id, Func<LiveState, DateTimeOffset, TimeSpan, AlarmChange?> what, CancellationToken cancellationToken)
    {
        var change = await pipeline.AskAsync(what, cancellationToken);
        if (change is not null) return Results.Ok(AlarmShape.Of(change.After, pipeline.Snapshot.NameOf));
        // Saying again what is so already is not an error: a thumb taps twice.
        return pipeline.Snapshot.OpenAlarms.FirstOrDefault(a => a.Id == id) is { } known
            ? Results.Ok(AlarmShape.Of(known, pipeline.Snapshot.NameOf)) : ApiRoutes.Missing($"There is no open alarm '{id}'.");
    }
}
