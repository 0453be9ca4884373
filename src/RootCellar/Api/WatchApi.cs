using RootCellar.Entry;
using RootCellar.Monitoring;
using RootCellar.Storage;
using RootCellar.Tell;

namespace RootCellar.Api;

/// <summary>Whether somebody watches, as programs see it.</summary>
/// <param name="Unwatched">The last time nobody did; null where none is known.</param>
/// <param name="TimeCountedSince">The time is not known: it is counted on from then. Null where it is known.</param>
internal sealed record WatchShape(UnwatchedShape? Unwatched, PingShape Ping, DateTimeOffset? TimeCountedSince);

/// <param name="Settled">Whether what sensors kept of it has been waited for, and it was told.</param>
internal sealed record UnwatchedShape(DateTimeOffset From, DateTimeOffset To, bool Settled, IReadOnlyList<MeantimeShape> Places);

/// <summary>What the air of a place came to in that time, by what sensors kept; null where nothing says.</summary>
internal sealed record MeantimeShape(
    string Place, double? LowestTemperatureC, double? HighestTemperatureC, double? LowestHumidityPercent, double? HighestHumidityPercent);

/// <summary>The address outside that is called while all is alive.</summary>
/// <param name="SetBy">file (the installer's settings, which win) or page (also by this API); null while there is none.</param>
/// <param name="Trouble">Why the last call was not made or not answered; null where it was.</param>
/// <param name="Missed">It has not been reached for so long that whoever runs it should have noticed.</param>
internal sealed record PingShape(string? Url, int? EverySeconds, string? SetBy, DateTimeOffset? AnsweredAt, string? Trouble, bool Missed);

internal sealed record PingBody(string? Url = null, int? EverySeconds = null);

/// <summary>Whether somebody watches, and whether somebody outside would notice that nobody does.</summary>
internal static class WatchApi
{
    public static void Map(RouteGroupBuilder api)
    {
        api.MapGet("/watch", (Pipeline pipeline, ChannelDesk desk, PingState state, TimeProvider time) =>
                new WatchShape(Shape(pipeline.Snapshot.Unwatched), Shape(desk, state), (time as HouseClock)?.CountedSince))
            .WithName("getWatch").WithSummary("Whether somebody watches, and whether somebody outside would notice that nobody does.")
            .WithMetadata(new HouseholdOnly());
        api.MapPut("/watch/ping", (PingBody body, ChannelDesk desk, PingState state) =>
        {
            if (desk.IsPingConfigured)
                return Results.Problem("Tell:Ping is set in the service's settings, which win: change it there.",
                    statusCode: StatusCodes.Status409Conflict);
            if (ChannelRules.Ping(body.Url, body.EverySeconds, desk.SetUp.Ping, out var ping) is { } wrong) return ApiRoutes.Wrong(wrong.Text);
            try
            {
                desk.SavePing(ping);
            }
            catch (Exception e) when (e is IOException or UnauthorizedAccessException)
            {
                return ApiRoutes.NotKept(e.Message);
            }

            return Results.Ok(Shape(desk, state));
        }).WithName("setUpPing").WithSummary("Sets the address that is called while all is well; without url none is called.").Produces<PingShape>();
    }

    private static UnwatchedShape? Shape(Unwatched? time) => time is null ? null : new UnwatchedShape(
        time.From, time.To, time.Settled,
        [.. time.Places.Select(p => new MeantimeShape(p.Place, p.LowC, p.HighC, p.LowPercent, p.HighPercent))]);

    private static PingShape Shape(ChannelDesk desk, PingState state) => new(
        desk.Ping?.Url, desk.Ping?.EverySeconds, desk.Ping is null ? null : desk.IsPingConfigured ? "file" : "page", state.AnsweredAt,
        state.HeldBack ?? state.Fault, state.IsMissed);
}
