using RootCellar.Advice;
using RootCellar.Lots;
using RootCellar.Monitoring;
using RootCellar.Places;

namespace RootCellar.Api;

/// <summary>The one judgement of each room and lot, the most urgent first: what texts, pages and reports say is this.</summary>
internal static class AdviceApi
{
    public static void Map(RouteGroupBuilder api) => api.MapGet("/advice", (Pipeline pipeline, LotKeeper lots, JudgementWords words, TimeProvider time) =>
    {
        var (now, views) = (time.GetUtcNow(), lots.Views);
        var rooms = pipeline.Snapshot.Places
            .Where(p => p.Place.Purpose != Purpose.Outdoors)
            .OrderByDescending(p => p.Judgement.State == RoomState.Alarm)
            .ThenByDescending(p => p.Judgement.Lead?.Priority)
            .ThenBy(p => p.Place.Id, StringComparer.Ordinal)
            .Select(p => AdviceShape.Of(p.Judgement, words, views, now));
        var ofLots = (views?.Bins.Values ?? []).GroupBy(b => b.Lot, StringComparer.Ordinal)
            .OrderByDescending(g => g.Max(b => b.Advice.Urgency)).ThenBy(g => g.Key, StringComparer.Ordinal)
            .Select(g => AdviceShape.Of(g.Key, g)).OfType<AdviceShape>();
        // An alarm of a room stands before what a lot asks for, and that before a room in which all is well. The order within each stays.
        return rooms.Concat(ofLots).OrderBy(a => a.State switch { "alarm" => 0, "now" => 1, "pending" => 2, "soon" => 3, "note" => 4, _ => 5 }).ToList();
    }).WithName("listAdvice").WithSummary("What is wrong in each room and with each lot and what to do, the most urgent first.");
}
