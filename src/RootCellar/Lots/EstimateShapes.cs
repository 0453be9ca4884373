using RootCellar.Science.Air;
using RootCellar.Science.Keeping;

namespace RootCellar.Lots;

/// <summary>The JSON of estimates, rounded to what they are worth; for the API and for rootcellar/out/lots/LOT.</summary>
internal sealed record RangeShape(double Low, double Mid, double High)
{
    public static RangeShape Of(Interval i, int decimals = 3) =>
        new(Math.Round(i.Low, decimals), Math.Round(i.Value, decimals), Math.Round(i.High, decimals));
}

internal sealed record HealingShape(HealingStage Stage, double Days, bool FitToMove, When? FitOn);

internal sealed record RestShape(RangeShape Used, When? Peeping, When? Sprouted, double SproutMillimetres, double SproutedSharePercent);

internal sealed record DosesShape(double WetHours, double ColdHours, double FreezingHours, double LightHours, double DarkHours,
    double DarkSharePercent);

/// <summary>
/// Weigh-ins that have taught how fast it loses weight: of its own lot; of other lots of its crop before them, and of those the ones of its
/// variety; and of other lots of any crop that stood where it stands.
/// </summary>
internal sealed record LearnedFromShape(int OwnWeighIns, int OtherWeighIns, int PlaceWeighIns, int VarietyWeighIns);

internal sealed record IfLeftShape(int Days, RangeShape LossKg, double WithSproutsAndRotKg);

internal sealed record BinEstimateShape(
    string Bin, string Lot, DateTimeOffset At, double BookKg, RangeShape EstimateKg, double LostPercent, ShrinkShape Shrink,
    RangeShape WaterMultiplier, HealingShape? Healing, RestShape? Rest,
    DosesShape Doses, double? PulpC, IfLeftShape IfLeft, int UseFirst, IEnumerable<string> Questions, IEnumerable<string> Said,
    WayAhead Way, SproutsLook? Seen, double ScaleStepKg, BinAdvice Advice, LearnedFromShape LearnedFrom)
{
    public static BinEstimateShape Of(BinEstimate b, LotViews views) => new(
        b.Bin, b.Lot, b.At, Math.Round(b.BookKg, 3), RangeShape.Of(b.Kg), Math.Round(b.Shrink.Percent, 2), ShrinkShape.Of(b.Shrink, b.Soil),
        RangeShape.Of(b.WaterMultiplier, 2),
        b.Cured ? new HealingShape(b.Stage, Math.Round(b.HealedDays, 2), b.FitNow, b.FitToMove) : null,
        b.RestUsed is { } used
            ? new RestShape(RangeShape.Of(used), b.Peeping, b.Sprouted, Math.Round(b.SproutMm, 1), Math.Round(b.SproutedSharePercent, 1))
                : null,
        new DosesShape(
            Math.Round(b.WetHours, 1), Math.Round(b.ColdHours, 1), Math.Round(b.FreezingHours, 1), Math.Round(b.LightHours, 1),
            Math.Round(b.DarkHours, 1), Math.Round(b.DarkSharePercent, 1)),
        double.IsNaN(b.PulpC) ? null : Math.Round(b.PulpC, 1),
        new IfLeftShape(b.IfLeft.Days, RangeShape.Of(b.IfLeft.Kg), Math.Round(b.IfLeft.WorstKg, 3)),
        views.UseRank(b.Bin),
        b.Questions.Select(q => q.Asked.Words(pounds: false)),
        b.Said,
        b.Way,
        b.Seen,
        Math.Round(b.ScaleStepKg, 3),
        b.Advice,
        new LearnedFromShape(b.LearnedFrom.Own, b.LearnedFrom.Others, b.LearnedFrom.Place, b.LearnedFrom.Variety));
}

internal sealed record LotEstimateShape(
    string Lot, string Crop, string? Variety, DateTimeOffset DugAt, DateTimeOffset At, double BookKg, RangeShape EstimateKg,
    double LostPercent, ShrinkShape Shrink,
    HealingStage Healing, When? FitOn, RangeShape? RestUsed, When? Peeping, When? Sprouted, RangeShape WaterMultiplier,
    WayAhead Way, SproutsLook? Seen, BinAdvice Advice, IReadOnlyList<string> Bins, LastsUntil LastsUntil)
{
    public static LotEstimateShape Of(LotEstimate l) => new(
        l.Lot, l.Crop, l.Variety, l.DugAt, l.At, Math.Round(l.BookKg, 3), RangeShape.Of(l.Kg, 2),
        Math.Round(l.Shrink.Percent, 2), ShrinkShape.Of(l.Shrink, l.Soil),
        l.Stage, l.FitToMove, l.RestUsed is { } used ? RangeShape.Of(used, 2) : null, l.Peeping, l.Sprouted,
        RangeShape.Of(l.WaterMultiplier, 2), l.Way, l.Seen, l.Advice, l.Bins, l.Lasts);
}

/// <summary>The figures of an advice in SI; what it does not speak of is null.</summary>
/// <param name="PulpC">Temperature of the produce, C.</param>
/// <param name="BelowC">Where it freezes, or is chilled below, C.</param>
/// <param name="LowC">The lower end of the temperatures that it should have where it goes, C.</param>
/// <param name="HighC">The upper end, C.</param>
/// <param name="Hours">For so long: wet, in light, without readings, of dry air; of chilling what is left before harm.</param>
/// <param name="KgAWeek">What dry air costs a week, kg.</param>
/// <param name="Percent">Humidity that it has, %.</param>
/// <param name="LowPercent">Humidity that it should have, %: the lower end.</param>
/// <param name="HighPercent">The upper end.</param>
/// <param name="To">The place it should go to.</param>
/// <param name="ToC">The temperature there, C.</param>
/// <param name="Seen">What was seen: the share that sprouts, or how it was.</param>
/// <param name="At">When that was seen.</param>
/// <param name="When">When it is fit to move, or sprouts show.</param>
internal sealed record AdviceFiguresShape(
    string? Crop, double? PulpC, double? BelowC, double? LowC, double? HighC, double? Hours, double? KgAWeek, double? Percent,
    double? LowPercent, double? HighPercent, string? To, double? ToC, string? Seen, DateTimeOffset? At, When? When)
{
    private static readonly AdviceFiguresShape Nothing =
        new(null, null, null, null, null, null, null, null, null, null, null, null, null, null, null);

    public static AdviceFiguresShape? Of(BinAdvice advice)
    {
        var f = advice.Figures;
        var moves = advice.Says is AdviceSays.Move or AdviceSays.NowhereToMove ? f.Of?.Storage : null;
        double? below = advice.Says switch
        {
            AdviceSays.Freezing or AdviceSays.NearFreezing => f.Of?.FreezingPointC,
            AdviceSays.Chilling => f.Of?.ChillingBelowC,
            _ => null,
        };
        var shape = new AdviceFiguresShape(
            f.Crop, Round(f.PulpC, 1), Round(below, 1), Round(moves?.TemperatureLowC, 1), Round(moves?.TemperatureHighC, 1), Round(f.Hours, 1),
            Round(f.Kg, 3), Round(f.Percent, 1), f.LowPercent, f.HighPercent, f.To, Round(f.ToC, 1), f.Seen, f.At, f.When);
        return shape == Nothing ? null : shape;
    }

    private static double? Round(double? figure, int decimals) =>
        figure is { } known && double.IsFinite(known) ? Math.Round(known, decimals) : null;
}

/// <summary>What there will be of a crop and grade. Less promised: as expected, and even if the bins come out at their low ends.</summary>
internal sealed record ExpectedLineShape(
    string Crop, string? Grade, int Bins, double BookKg, RangeShape ExpectedKg, double ExpectedShrinkKg, double PromisedKg,
    double LessPromisedKg, double SurelyLessPromisedKg,
    double ShortKg, double DueKg)
{
    public static ExpectedLineShape Of(ExpectedLine l) => new(
        l.Crop, l.Grade, l.Bins, Math.Round(l.BookKg, 3), RangeShape.Of(l.ExpectedKg), Math.Round(l.ShrinkKg, 3),
        Math.Round(l.PromisedKg, 3), Math.Round(l.FreeKg, 3), Math.Round(l.SurelyFreeKg, 3), Math.Round(l.ShortKg, 3),
        Math.Round(l.DueKg, 3));
}

internal sealed record PickShape(string Bin, double Kg);

/// <summary>A promise, whether it can be met, and from which bins.</summary>
internal sealed record PromisePlanShape(
    string Order, string Crop, string? Grade, double PromisedKg, double GoneKg, double OpenKg, DateOnly? Due, CanMeet CanBeMet,
    double ShortKg, IEnumerable<PickShape> From)
{
    public static PromisePlanShape Of(PromisePlan p) => new(
        p.Promise.Order, p.Promise.Crop, p.Promise.Grade, p.Promise.Grams / 1000.0, p.Promise.GoneGrams / 1000.0, p.OpenKg, p.Promise.Due,
        p.Answer, Math.Round(p.ShortKg, 3),
        p.Picks.Select(k => new PickShape(k.Bin, Math.Round(k.Kg, 3))));
}

/// <summary>Stock on a day. Stock: by crop and grade; crops: each crop as a whole, with promises of any grade.</summary>
internal sealed record ExpectedStockShape(DateOnly On, DateTimeOffset? EstimatedAt, IEnumerable<ExpectedLineShape> Stock,
    IEnumerable<ExpectedLineShape> Crops, IEnumerable<PromisePlanShape> Promises);
