using System.ComponentModel;
using RootCellar.Household;
using RootCellar.Ledger;
using RootCellar.Lots;
using RootCellar.Science.Keeping;

namespace RootCellar.Api;

/// <summary>How a lot stood at times gone by.</summary>
internal static class HistoryApi
{
    private const int MostSteps = 5_000;

    public static void Map(RouteGroupBuilder group) => group.MapGet("lots/{lot}/history", Of)
        .WithName("readLotHistory").WithSummary("How a lot, or one bin of it, stood at times gone by.")
        .Produces<LotHistoryShape>().WithMetadata(new LargeAnswer());

    private static IResult Of(
        string lot,
        [Description("Only what is in this bin of the lot.")] string? bin,
        string? from,
        string? to,
        string? step,
        LedgerDoor door,
        LotHistory history)
    {
        if (!door.Book.Lots.TryGetValue(NameInAddress.Real(lot, door.Book.Lots.ContainsKey), out var view))
            return ApiRoutes.Missing($"There is no lot '{lot}'.");
        var filling = string.IsNullOrEmpty(bin) ? null : view.Bins.Where(b => b.Id == bin).MaxBy(b => b.FilledAt);
        if (!string.IsNullOrEmpty(bin) && filling is null) return ApiRoutes.Missing($"Lot '{lot}' was never in a bin '{bin}'.");
        if (ApiRoutes.Time(door.Calendar, nameof(to), to, door.Now, out var end) is { } notTo) return notTo;
        if (ApiRoutes.Time(door.Calendar, nameof(from), from, view.DugAt, out var start) is { } notFrom) return notFrom;
        if (!Steps.TryParse(string.IsNullOrEmpty(step) ? "1d" : step, out var width))
            return ApiRoutes.Wrong($"step: '{step}' is not a span. Right: 1h, 6h, 1d or seconds.");
        if (width < TimeSpan.FromHours(1)) return ApiRoutes.Wrong("A lot is told by the hour at the finest: step=1h or longer.");
        if (end <= start) return ApiRoutes.Wrong("from must be before to.");
        if ((end - start) / width > MostSteps)
            return ApiRoutes.Wrong($"That is more than {MostSteps} steps; ask for a longer step or a shorter time.");
        return Results.Ok(LotHistoryShape.Of(view, filling, history.Of(view, filling, start, end, width)));
    }
}

/// <summary>Days of healing, at the temperature the crop's rule counts by, to each stage.</summary>
internal sealed record StagesShape(double Sealed, double Adequate, double Healed);

/// <summary>A moment gone by; <c>restUsed</c> is null where dormancy is not followed.</summary>
internal sealed record LotMomentShape(
    DateTimeOffset At, int Bins, double BookKg, RangeShape EstimateKg, double LostPercent, ShrinkShape Shrink,
    HealingStage Healing, double HealingDays, RangeShape? RestUsed, double DarkHours);

/// <summary>A lot's past, oldest first; no moments where it is not followed.</summary>
internal sealed record LotHistoryShape(string Lot, string? Bin, StagesShape? HealingDaysTo, IEnumerable<LotMomentShape> Moments)
{
    public static LotHistoryShape Of(LotView lot, BinView? bin, LotPast? past) => new(
        lot.Id,
        bin?.Id,
        past is null || past.Rule == CuringRule.None ? null : new StagesShape(
            Math.Round(past.DaysTo(HealingStage.Sealed), 2), Math.Round(past.DaysTo(HealingStage.Adequate), 2),
            Math.Round(past.DaysTo(HealingStage.Healed), 2)),
        past?.Samples.Select(s => new LotMomentShape(
            s.At, s.Bins, Math.Round(s.BookKg, 3), RangeShape.Of(s.Kg), Math.Round(s.Shrink.Percent, 2), ShrinkShape.Of(s.Shrink, soil: null),
            s.Stage, Math.Round(s.HealedDays, 2),
            s.RestUsed is { } used ? RangeShape.Of(used) : null, Math.Round(s.DarkHours, 1))) ?? []);
}
