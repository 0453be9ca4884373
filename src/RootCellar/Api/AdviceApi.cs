using RootCellar.Advice;
using RootCellar.Lots;
using RootCellar.Monitoring;
using RootCellar.Places;

namespace RootCellar.Api;

/// <summary>The one judgement of each room and lot, the most urgent first: what texts, pages and reports say is this.</summary>
internal static class AdviceApi
{
    public static void Map(RouteGroupBuilder api) =>
        api.MapGet("/advice", (Pipeline pipeline, LotKeeper lots, JudgementWords words, TimeProvider time) =>
    {
        var (now, views) = (time.GetUtcNow(), lots.Views);
        var rooms = pipeline.Snapshot.Places
            .Where(p => p.Keeps)
            .OrderByDescending(p => p.Judgement.Lead?.Priority)
            .ThenBy(p => p.Place.Id, StringComparer.Ordinal)
            .Select(p => (Rank: Rank(p.Judgement.State), Shape: (AdviceShape?)AdviceShape.Of(p.Judgement, words, views, now)));
        var ofLots = views.Bins.Values.GroupBy(b => b.Lot, StringComparer.Ordinal)
            .OrderBy(g => g.Key, StringComparer.Ordinal)
            .Select(g => (Rank: Rank(g.Max(b => b.Advice.Urgency)), Shape: AdviceShape.Of(g.Key, g, now)));
        return rooms.Concat(ofLots).OrderBy(a => a.Rank).Select(a => a.Shape).OfType<AdviceShape>().ToList();
    }).WithName("listAdvice").WithSummary("What is wrong in each room and with each lot and what to do, the most urgent first.");

    // An alarm of a room stands before what a lot asks for, and that before a room in which all is well.
    private static int Rank(RoomState state) => state switch { RoomState.Alarm => 0, RoomState.Pending => 2, _ => 5 };

    private static int Rank(Urgency urgency) => urgency switch { Urgency.Now => 1, Urgency.Soon => 3, _ => 4 };
}
