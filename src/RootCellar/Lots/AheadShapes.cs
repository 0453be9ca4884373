namespace RootCellar.Lots;

/// <summary>The JSON of <see cref="AheadReading"/>: the figures of the page Ahead, in SI units.</summary>
internal sealed record AheadShape(
    DateTimeOffset? At, DateOnly Until, HoldShape? Hold, CellarAheadShape? Cellar, IEnumerable<CellarAheadShape> Crops,
    IEnumerable<LotAheadShape> Lots, IEnumerable<NotFollowedShape> NotFollowed, IReadOnlyList<string> NotInBins)
{
    public static AheadShape Of(AheadReading a) => new(
        a.At, a.Until, a.Hold is { } hold ? new HoldShape(hold.TemperatureC, hold.HumidityPercent) : null,
        a.Cellar is { } cellar ? CellarAheadShape.Of(cellar) : null, a.Crops.Select(CellarAheadShape.Of), a.Lots.Select(LotAheadShape.Of),
        a.NotFollowed.Select(u => new NotFollowedShape(u.Lot, u.Text)), a.NotInBins);
}

internal sealed record HoldShape(double TemperatureC, double HumidityPercent);

/// <summary>A lot with something in bins that is known to the book only, and why.</summary>
internal sealed record NotFollowedShape(string Lot, string Why);

/// <summary>A day to come of several lots: what is there now, and what of it is in lots that still last then.</summary>
internal sealed record CellarStepShape(DateOnly On, DateTimeOffset At, RangeShape Kg, RangeShape LastsKg)
{
    public static CellarStepShape Of(CellarStep s) => new(s.On, s.At, RangeShape.Of(s.Kg), RangeShape.Of(s.LastsKg));
}

/// <summary>All lots of a crop; <c>crop</c> is null for all together, <c>held</c> where no air was asked about.</summary>
internal sealed record CellarAheadShape(string? Crop, IEnumerable<CellarStepShape> Present, IEnumerable<CellarStepShape>? Held)
{
    public static CellarAheadShape Of(CellarAhead c) =>
        new(c.Crop, c.Present.Select(CellarStepShape.Of), c.Held?.Select(CellarStepShape.Of));
}

/// <summary>A day to come of a lot. <c>healedPercent</c> is null where it is not cured.</summary>
internal sealed record AheadStepShape(DateOnly On, DateTimeOffset At, RangeShape Kg, double? HealedPercent)
{
    public static AheadStepShape Of(AheadStep s) =>
        new(s.On, s.At, RangeShape.Of(s.Kg), s.HealedPercent is { } healed ? Math.Round(healed, 1) : null);
}

/// <summary>
/// What a lot comes to along one way. A date is null where it is further off than is looked ahead, <c>fitOn</c> and <c>healedOn</c> where
/// it is not cured, <c>sprouts</c> and <c>sprouted</c> where dormancy is not followed.
/// </summary>
internal sealed record AheadCourseShape(
    IEnumerable<AheadStepShape> Steps, When? FitOn, When? HealedOn, When? Sprouts, When? Sprouted, LastsUntil LastsUntil)
{
    public static AheadCourseShape Of(AheadCourse c) =>
        new(c.Steps.Select(AheadStepShape.Of), c.Fit, c.Healed, c.Sprouts, c.Sprouted, c.Lasts);
}

/// <summary>
/// A lot as it goes and, where an air was asked about, as it would if held, with what the reckoning of that does not show.
/// </summary>
internal sealed record LotAheadShape(
    string Lot, string Crop, string? Variety, IReadOnlyList<string> Bins, WayAhead Way, bool AirAssumed, AheadCourseShape Present,
    AheadCourseShape? Held, IReadOnlyList<HoldCaution> HeldCautions)
{
    public static LotAheadShape Of(LotAhead l) => new(
        l.Lot.Lot, l.Lot.Crop, l.Lot.Variety, l.Lot.Bins, l.Lot.Way, l.Assumed, AheadCourseShape.Of(l.Present),
        l.Held is { } held ? AheadCourseShape.Of(held) : null, l.Cautions);
}
