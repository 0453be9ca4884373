using RootCellar.Advice;
using RootCellar.Api;
using RootCellar.Household;
using RootCellar.Lots;
using RootCellar.Places;
using RootCellar.Readings;
using RootCellar.Science.Keeping;
using RootCellar.Watch;

namespace RootCellar.Report;

// The figures as programs get them: SI units, weights in kg (the ledger's to the gram), spans in hours. Names are part of the API.
internal sealed record BeyondShape(double Hours, double Worst, double Limit, DateTimeOffset At);

internal sealed record WeekFigureShape(double Low, double Mean, double High, BeyondShape? Above, BeyondShape? Below);

internal sealed record PlaceWeekShape(
    string Place, string Name, Purpose Purpose, WeekFigureShape? TemperatureC, WeekFigureShape? RelativeHumidityPercent,
    double UnmeasuredHours, double LotsLostKg, double DryAirCostKg, double WarmthCostKg,
    IReadOnlyList<string> Lots);

internal sealed record BookWeekShape(double StartKg, double InKg, IReadOnlyDictionary<string, double> OutKg, double ShrinkKg, double EndKg);

internal sealed record EstimateWeekShape(double StartKg, double InKg, double OutKg, double ShrinkKg, double WaterKg, double BreathKg,
    RangeShape? ShrinkRangeKg, double SetRightKg, double EndKg, RangeShape? EndRangeKg);

internal sealed record LotWeekShape(
    string Lot, string Crop, string? Variety, IReadOnlyList<string> Bins, IReadOnlyList<string> Places, double DugKg, double LooseKg,
    BookWeekShape Book, EstimateWeekShape Estimate,
    double? RatePercent, double? LastWeekPercent, double? IdealAirPercent, double? DryAirCostKg, double? WarmthCostKg,
    double? UnmeasuredHours, HealingStage? Healing, double? RestUsed, When? FitToMove,
    When? Peeping, When? Sprouted, WayAhead? Way, SproutsLook? Seen, ShrinkShape Shrink);

internal sealed record UseFirstShape(string Bin, string Lot, double Kg, double LossIfLeftKg, int Days);

internal sealed record PromiseWeekShape(string Order, string Crop, string? Grade, DateOnly? Due, double OpenKg, CanMeet Answer,
    double ShortKg, IReadOnlyList<string> Bins);

internal sealed record WeighInShape(string Lot, string Bin, double ExpectedKg, double IntervalKg, double IntervalAfterKg);

internal sealed record HowFastShape(int Count, double MedianMinutes, double SlowestMinutes);

internal sealed record AlarmsWeekShape(int Raised, int Open, int Unacknowledged, HowFastShape? Acknowledged, HowFastShape? Returned);

internal sealed record SensorTroubleShape(string Sensor, string? Place, SensorNeeds Needs, double? Value, DateTimeOffset? Since);

internal sealed record JobShape(JobKind Kind, string What, string Why, string? Caution, IReadOnlyList<string> Bins, string? Place);

/// <summary>What the report said when it went out.</summary>
internal sealed record SentShape(DateTimeOffset At, DateTimeOffset UpTo, string Text);

/// <summary>A figure it said otherwise then: kg of a lot, hours out of the band of a place, or a count.</summary>
internal sealed record CorrectedShape(WeekFigure Figure, string? Lot, string? Place, double Said, double Now, DateTimeOffset? On);

/// <summary>
/// A week: <c>start + in - out - shrink = end</c> by the book; as estimated with <c>+ setRight</c>, what the scale said otherwise than
/// reckoned.
/// </summary>
internal sealed record ReportShape(
    string Week, DateTimeOffset From, DateTimeOffset To, DateTimeOffset UpTo, IEnumerable<PlaceWeekShape> Places,
    IEnumerable<LotWeekShape> Lots, IEnumerable<UseFirstShape> UseFirst,
    IEnumerable<PromiseWeekShape> PromisesAtRisk, WeighInShape? WeighIn, AlarmsWeekShape Alarms, IEnumerable<SensorTroubleShape> Sensors,
    IEnumerable<JobShape> Jobs,
    SentShape? Sent, IEnumerable<CorrectedShape> Corrected)
{
    public static ReportShape Of(WeekFigures w, ReportWords words)
    {
        var said = new JobWords(words, w);
        return new ReportShape(
            w.Week.Name, w.Week.From, w.Week.To, w.UpTo,
            w.Places.Select(p => new PlaceWeekShape(
                p.Place.Id, p.Place.Name, p.Place.Purpose, Figure(p.Temperature), Figure(p.Humidity), Round(p.UnmeasuredHours),
                Kg(p.LotsLostKg), Kg(p.WaterCostKg), Kg(p.BreathCostKg), p.Lots)),
            w.Lots.Select(Lot),
            w.UseFirst.Select(b => new UseFirstShape(b.Bin, b.Lot, Kg(b.Kg.Value), Kg(b.IfLeft.WorstKg), b.IfLeft.Days)),
            w.AtRisk.Select(p => new PromiseWeekShape(p.Promise.Order, p.Promise.Crop, p.Promise.Grade, p.Promise.Due, Kg(p.OpenKg),
                p.Answer, Kg(p.ShortKg), [.. p.Picks.Select(k => k.Bin)])),
            w.WeighIn is { } h ? new WeighInShape(h.Lot, h.Bin, Kg(h.ExpectedKg), Kg(h.WidthKg), Kg(h.AfterKg)) : null,
            new AlarmsWeekShape(w.Alarms.Raised, w.Alarms.Open.Count, w.Alarms.Unseen, Fast(w.Alarms.Acknowledged),
                Fast(w.Alarms.Returned)),
            w.Sensors.Select(s => new SensorTroubleShape(s.Sensor, s.Place, s.Needs, s.Value, s.Since)),
            w.Jobs.Select(j => said.Of(j) is var words ? new JobShape(j.Kind, words.What, words.Why, words.Caution, j.Bins, j.Place)
                : null!),
            w.Sent is { } sent ? new SentShape(sent.At, WeekFigures.Until(w.Week, sent.UpTo), sent.Text) : null,
            w.Corrected.Select(Change));
    }

    private static CorrectedShape Change(CorrectedFigure c)
    {
        bool place = SaidFigure.IsOfPlace(c.Figure);
        return new(c.Figure, place || c.About.Length == 0 ? null : c.About, place ? c.About : null, Kg(c.Said), Kg(c.Now), c.On);
    }

    private static LotWeekShape Lot(LotWeek l) => new(
        l.Lot, l.Crop, l.Variety, l.Bins, l.Places, l.DugGrams / 1000.0, l.LooseGrams / 1000.0,
        new BookWeekShape(l.Book.StartGrams / 1000.0, l.Book.InGrams / 1000.0,
            l.Book.Outs.ToDictionary(o => o.Key, o => o.Value / 1000.0, StringComparer.Ordinal), l.Book.ShrinkGrams / 1000.0,
            l.Book.EndGrams / 1000.0),
        new EstimateWeekShape(
            l.Estimate.StartGrams / 1000.0, l.Estimate.InGrams / 1000.0, l.Estimate.OutGrams / 1000.0, l.Estimate.ShrinkGrams / 1000.0,
            l.Estimate.WaterGrams / 1000.0, l.Estimate.BreathGrams / 1000.0,
            l.Estimate.ShrinkKg is { } s ? RangeShape.Of(s) : null, l.Estimate.SetRightGrams / 1000.0, l.Estimate.EndGrams / 1000.0,
            l.Estimate.EndKg is { } e ? RangeShape.Of(e) : null),
        Percent(l.Air?.RatePercent), Percent(l.Air?.LastWeekPercent), Percent(l.Air?.IdealPercent),
        l.Air is { } a ? Kg(a.WaterCostKg) : null, l.Air is { } b ? Kg(b.BreathCostKg) : null,
        l.Air is { } d ? Round(d.UnmeasuredHours) : null, l.Progress is { Cured: true } p ? p.StageEnd : null,
        l.Progress?.RestEnd is { } rest ? Math.Round(rest.Value, 4) : null,
        l.Progress?.FitToMove, l.Progress?.Peeping, l.Progress?.Sprouted, l.Progress?.Way, l.Progress?.Seen,
        ShrinkShape.Of(l.Shrink, l.Soil));

    private static WeekFigureShape? Figure(FigureWeek? f) => f is null
        ? null : new(Round(f.Low), Round(f.Mean), Round(f.High), Side(f.Above), Side(f.Below));

    private static BeyondShape? Side(Beyond? b) => b is null ? null : new(Round(b.Hours), Round(b.Worst), Round(b.Limit), b.At);

    private static HowFastShape? Fast(HowFast? f) => f is null
        ? null : new(f.Count, Math.Round(f.Median.TotalMinutes), Math.Round(f.Slowest.TotalMinutes));

    private static double? Percent(double? value) => value is { } v ? Math.Round(v, 3) : null;

    private static double Kg(double kg) => Math.Round(kg, 3) + 0.0;

    private static double Round(double value) => Math.Round(value, 2) + 0.0;
}
