using RootCellar.Household;
using RootCellar.Ledger;
using RootCellar.Lots;

namespace RootCellar.Api;

/// <summary>Lots, bins and stock by the book and as estimated.</summary>
internal static class BinsApi
{
    public static void Map(RouteGroupBuilder group)
    {
        // Both are unchanging pictures, and all that the answers are made of.
        var large = new LargeAnswer(s => [s.GetRequiredService<LedgerDoor>().Book, s.GetRequiredService<LotKeeper>().Views]);
        group.MapGet("lots", (LedgerDoor door, LotKeeper keeper) =>
        {
            var views = keeper.Views;
            return door.Book.Lots.Values.OrderBy(l => l.DugAt).ThenBy(l => l.Id, StringComparer.Ordinal).Select(l => Lot(l, views));
        }).WithName("listLots").WithSummary("Every lot with its bins, by the book and as estimated, the first dug first.")
            .WithMetadata(large);
        group.MapGet("lots/{lot}", (string lot, LedgerDoor door, LotKeeper keeper) =>
                door.Book is var book && book.Lots.TryGetValue(NameInAddress.Real(lot, book.Lots.ContainsKey), out var view)
                    ? Results.Ok(Lot(view, keeper.Views))
                    : ApiRoutes.Missing($"There is no lot '{lot}'."))
            .WithName("readLot").WithSummary("One lot.").Produces<LotShape>();
        group.MapGet("bins", (LedgerDoor door, LotKeeper keeper) =>
        {
            var (book, views) = (door.Book, keeper.Views);
            return book.Bins.Values.OrderBy(b => b.Id, StringComparer.Ordinal)
                .Select(b => BinShape.Of(b, book.Lots[b.Lot], Estimate(b, views)));
        }).WithName("listBins").WithSummary("Every bin, by the book and as estimated.").WithMetadata(large);
        group.MapGet("bins/{bin}", (string bin, LedgerDoor door, LotKeeper keeper) =>
            door.Book is var book && book.Bins.TryGetValue(NameInAddress.Real(bin, book.Bins.ContainsKey), out var view)
                ? Results.Ok(BinShape.Of(view, book.Lots[view.Lot], Estimate(view, keeper.Views)))
                : ApiRoutes.Missing($"There is no bin '{bin}'."))
            .WithName("readBin").WithSummary("One bin.").Produces<BinShape>();
        group.MapGet("stock", OnDay).WithName("readStock")
            .WithSummary("What is expected on a day by crop and grade, less what is promised.")
            .Produces<ExpectedStockShape>().WithMetadata(new LargeAnswer());
    }

    private static LotShape Lot(LotView lot, LotViews views) =>
        LotShape.Of(
            lot, Shrink.Of(lot, views), b => Estimate(b, views),
            views.Lots.TryGetValue(lot.Id, out var estimate) ? LotEstimateShape.Of(estimate) : null,
            views.Unfollowed.GetValueOrDefault(lot.Id)?.Text);

    private static BinEstimateShape? Estimate(BinView bin, LotViews views) =>
        views.Of(bin) is { } estimate ? BinEstimateShape.Of(estimate, views) : null;

    private static IResult OnDay(string? on, LedgerDoor door, LotKeeper keeper, StockNow stock)
    {
        var day = door.Today;
        if (!string.IsNullOrEmpty(on) && !HouseholdCalendar.TryDay(on, out day))
            return ApiRoutes.Wrong($"on: '{on}' is not a date. Right: 2026-12-24.");
        var expected = stock.On(day);
        return Results.Ok(new ExpectedStockShape(
            day, keeper.Views.At, expected.Lines.Select(ExpectedLineShape.Of), expected.Crops.Select(ExpectedLineShape.Of),
            stock.Promises.Select(PromisePlanShape.Of)));
    }
}

/// <summary>Where everything of a lot is; what was dug, and found beyond it when bins were filled, is the sum of the others.</summary>
internal sealed record BalanceShape(
    double DugKg, double FoundKg, double OnHandKg, double NotInBinsKg, double ShrinkKg, IReadOnlyDictionary<string, double> OutKg)
{
    public static BalanceShape Of(Balance b) => new(
        b.DugGrams / 1000.0, b.FoundGrams / 1000.0, b.OnHandGrams / 1000.0, b.LooseGrams / 1000.0, b.ShrinkGrams / 1000.0,
        b.OutGrams.ToDictionary(o => o.Key, o => o.Value / 1000.0, StringComparer.Ordinal));
}

/// <summary>
/// A lot by the book; <c>estimate</c> is what the keeping of it is worked out to be, <c>noEstimate</c> why there is none of a lot with
/// something left.
/// </summary>
internal sealed record LotShape(
    string Lot,
    string Crop,
    string? Variety,
    string? Row,
    DateOnly? PlantedOn,
    DateOnly DugOn,
    DateTimeOffset DugAt,
    string? Skin,
    IReadOnlyList<string> Flags,
    double? PulpC,
    BalanceShape Book,
    ShrinkShape Shrink,
    IEnumerable<BinShape> Bins,
    IReadOnlyList<long> Entries,
    LotEstimateShape? Estimate,
    string? NoEstimate)
{
    public static LotShape Of(
        LotView l, Shrink shrink, Func<BinView, BinEstimateShape?> estimateOfBin, LotEstimateShape? estimate, string? noEstimate) => new(
        l.Id, l.Crop, l.Variety, l.Row, l.PlantedOn, l.DugOn, l.DugAt, l.Skin, l.Flags, l.PulpC,
        BalanceShape.Of(l.Balance), ShrinkShape.Of(shrink, soil: null) with { SoilKg = estimate?.Shrink.SoilKg },
        l.Bins.Select(b => BinShape.Of(b, l, estimateOfBin(b))), l.Entries, estimate, noEstimate);
}

/// <summary>A bin by the book; <c>estimate</c> is what its weight and state are worked out to be.</summary>
internal sealed record BinShape(
    string Bin,
    string Lot,
    string Crop,
    string? Variety,
    string? Grade,
    string? Place,
    DateTimeOffset FilledAt,
    DateTimeOffset? EmptiedAt,
    double FilledKg,
    double BookKg,
    string? Lies,
    double? PieceKg,
    double? TareKg,
    IReadOnlyList<Stay> Stays,
    IReadOnlyList<Weighing> Weighings,
    IReadOnlyList<SproutsSeen> SproutsSeen,
    IReadOnlyList<ConditionSeen> Conditions,
    IReadOnlyList<long> Entries,
    BinEstimateShape? Estimate)
{
    public static BinShape Of(BinView b, LotView lot, BinEstimateShape? estimate) => new(
        b.Id, b.Lot, lot.Crop, lot.Variety, b.Grade, b.Place, b.FilledAt, b.EmptiedAt, b.FilledGrams / 1000.0, b.BookKg,
        b.Lies, b.PieceKg, b.Weighings.LastOrDefault(w => w.TareKg is not null)?.TareKg ?? b.TareKg, b.Stays,
        b.Weighings, b.SproutsSeen, b.Conditions, b.Entries, estimate);
}
