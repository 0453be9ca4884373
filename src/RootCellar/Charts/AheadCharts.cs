using RootCellar.Household;
using RootCellar.Lots;
using RootCellar.Science.Air;

namespace RootCellar.Charts;

/// <summary>
/// What is ahead, drawn: the middle with a fan of nine in ten, half of the time darker, and dashed as it would go if held. The ground is
/// paler where the first sprouts may show.
/// </summary>
internal sealed class AheadCharts(Show show, HouseholdCalendar calendar)
{
    public const string Weight = "weight";

    public const string Lasting = "lasting";

    /// <summary>All of it together; null where there is no such figure, or nothing in bins.</summary>
    public ChartSpec? Of(AheadReading ahead, string figure) => (ahead.Cellar, figure) switch
    {
        ({ } cellar, Weight) => Spec(Strings.AheadAllWeight, Points(cellar.Present, s => s.Kg), Points(cellar.Held, s => s.Kg)),
        // A lot lasts or does not: between the ends there is no half of the time.
        ({ } cellar, Lasting) => Spec(
            Strings.AheadAllLasting, Points(cellar.Present, s => s.LastsKg), Points(cellar.Held, s => s.LastsKg), half: false),
        _ => null,
    };

    public ChartSpec Of(LotAhead lot)
    {
        var course = lot.Present;
        var spec = Spec(
            Strings.AheadLotWeight, [.. course.Steps.Select(s => (s.At, s.Kg))], [.. lot.Held?.Steps.Select(s => (s.At, s.Kg)) ?? []]);
        var marks = new List<ChartMark>();
        if (course.Sprouts?.Likely is { } sprouts) marks.Add(new ChartMark(sprouts, MarkKind.Event, Strings.AheadSprouts));
        if (course.Lasts.When.Likely is { } ends) marks.Add(new ChartMark(ends, MarkKind.Event, Strings.AheadLasts));
        return spec with
        {
            Marks = [.. marks.Where(m => m.At > spec.From && m.At < spec.To)],
            Shade = course.Sprouts is { Early: { } early } when && early < spec.To ? (early, when.Late ?? spec.To) : null,
        };
    }

    private ChartSpec Spec(string title, List<(DateTimeOffset At, Interval Kg)> present, List<(DateTimeOffset At, Interval Kg)> held,
        bool half = true)
    {
        var series = new List<ChartSeries>
        {
            Series(Strings.AheadAsItGoes, present.ConvertAll(p => Point(show, p.At, p.Kg))),
        };
        if (half)
            series.Add(Series(Strings.AheadHalf, present.ConvertAll(p => Point(show, p.At, LotUncertainty.Half(p.Kg)))) with { Kind = SeriesKind.Range });
        if (held.Count > 0)
            series.Add(Series(Strings.AheadHeld, held.ConvertAll(p => new ChartPoint(p.At, show.WeightOf(p.Kg.Value)))));
        return new ChartSpec(
            title, show.WeightUnit, present[0].At, present.Concat(held).Max(p => p.At), calendar.Zone, series,
            v => show.Weight(show.WeightKg(v)))
        {
            FromZero = true,
            Floor = 0,
        };

        static ChartSeries Series(string name, List<ChartPoint> points) => new(name, points, TimeSpan.MaxValue);
    }

    /// <summary>A weight to come, with its interval.</summary>
    public static ChartPoint Point(Show show, DateTimeOffset at, Interval kg) => new(
        at, show.WeightOf(kg.Value), show.WeightOf(Math.Max(0, kg.Low)), show.WeightOf(kg.High));

    private static List<(DateTimeOffset At, Interval Kg)> Points(IReadOnlyList<CellarStep>? steps, Func<CellarStep, Interval> kg) =>
        [.. steps?.Select(s => (s.At, kg(s))) ?? []];
}
