using RootCellar.Advice;
using RootCellar.Lots;
using RootCellar.Monitoring;
using RootCellar.Places;

namespace RootCellar.Api;

/// <summary>The one judgement of each room, the most urgent first: what texts, pages and reports say is this.</summary>
internal static class AdviceApi
{
    public static void Map(RouteGroupBuilder api) => api.MapGet("/advice", (Pipeline pipeline, LotKeeper lots, JudgementWords words, TimeProvider time) =>
    {
        var now = time.GetUtcNow();
        return pipeline.Snapshot.Places
            .Where(p => p.Place.Purpose != Purpose.Outdoors)
            .OrderByDescending(p => p.Judgement.State == RoomState.Alarm)
            .ThenByDescending(p => p.Judgement.Lead?.Priority)
            .ThenBy(p => p.Place.Id, StringComparer.Ordinal)
            .Select(p => AdviceShape.Of(p.Judgement, words, lots.Views, now))
            .ToList();
    }).WithName("listAdvice").WithSummary("What is wrong in each room and what to do, the most urgent first.");
}
