using RootCellar.Household;
using RootCellar.Ledger;
using RootCellar.Lots;
using RootCellar.Monitoring;
using RootCellar.Pages;
using RootCellar.Places;
using RootCellar.Science.Air;
using RootCellar.Science.Keeping;

namespace RootCellar.Charts;

/// <summary>A lot's charts: what became of it, and the air it had.</summary>
internal sealed record LotChartSet(IReadOnlyList<NamedChart> Lot, IReadOnlyList<NamedChart> Air);

/// <summary>Makes the charts of a lot or of one filling of a bin.</summary>
internal sealed class LotCharts(LotHistory history, PlaceCharts places, LedgerDoor door, EntryWords words, AheadNow ahead,
    Show show, HouseholdCalendar calendar)
{
    /// <summary>More entries than this are told by the day, not one by one.</summary>
    private const int MostEntries = 40;

    private const int MostSteps = 100;

    // What is ahead is told by the week.
    private static readonly TimeSpan LeastAhead = TimeSpan.FromDays(28);

    /// <param name="lot">The lot by the book.</param>
    /// <param name="bin">One bin's filling; null for all together, and then the air is that of the fullest.</param>
    /// <param name="from">The beginning.</param>
    /// <param name="to">The end.</param>
    /// <param name="step">Between moments.</param>
    /// <param name="views">The places as they are now.</param>
    public LotChartSet Of(LotView lot, BinView? bin, DateTimeOffset from, DateTimeOffset to, TimeSpan step, IReadOnlyList<PlaceView> views)
    {
        var marks = Entries(lot, bin, from, to, [.. views.Select(v => v.Place)]);
        var past = Past(lot, bin, from, to, step);
        return new LotChartSet(past is null ? [] : Figures(past, lot, bin, from, to, marks), Air(lot, bin, from, to, step, views, marks));
    }

    /// <summary>Its steps, wider than those of a place: a lot changes slowly, and its page carries its figures.</summary>
    public static TimeSpan StepOf(HistorySpan span) => span.StepOf(MostSteps);

    /// <summary>One of them, or the two of <see cref="PlaceCharts.Air"/>; empty where there is no such figure.</summary>
    public IReadOnlyList<ChartSpec> Of(LotView lot, BinView? bin, DateTimeOffset from, DateTimeOffset to, TimeSpan step, IReadOnlyList<PlaceView> views,
        string figure)
    {
        var marks = Entries(lot, bin, from, to, [.. views.Select(v => v.Place)]);
        var charts = LotKeys.Contains(figure) ? Past(lot, bin, from, to, step) is { } past
            ? Figures(past, lot, bin, from, to, marks) : [] : Air(lot, bin, from, to, step, views, marks, figure == PlaceCharts.Air ? null : figure);
        return figure == PlaceCharts.Air ? PlaceCharts.Panels(charts) : [.. charts.Where(c => c.Key == figure).Select(c => c.Spec)];
    }

    private static readonly string[] LotKeys = ["weight", "healing", "lost", "dormancy"];

    // Sooner than by the hour nothing of a lot moves.
    private LotPast? Past(LotView lot, BinView? bin, DateTimeOffset from, DateTimeOffset to, TimeSpan step) =>
        history.Of(lot, bin, from, to, step < TimeSpan.FromHours(1) ? TimeSpan.FromHours(1) : step);

    private List<NamedChart> Figures(LotPast past, LotView lot, BinView? bin, DateTimeOffset from, DateTimeOffset to,
        IReadOnlyList<ChartMark> marks)
    {
        if (past.Samples.Count == 0) return [];
        var charts = new List<NamedChart>();
        charts.Add(new NamedChart(
            "weight", GoingOn(lot, bin, WeightChart.Of(Strings.WeightEstimated, show.WeightUnit, lot, bin, past.Samples, from, to, calendar.Zone,
                show.WeightOf, v => show.Weight(show.WeightKg(v))) with
            {
                Marks = marks,
                EndsNow = HistorySpan.IsNow(to, show.Now),
            })));
        if (past.Rule != CuringRule.None)
        {
            double most = past.Samples.Max(s => s.HealedDays);
            // The stages reached, and the next one.
            var stages = ((HealingStage[])[HealingStage.Sealed, HealingStage.Adequate, HealingStage.Healed])
                .Where(s => s == HealingStage.Sealed || past.DaysTo(s - 1) <= most).ToList();
            Add(
                "healing", Strings.HealingTitle.With(CuringDegrees(past.Rule)), Strings.DaysUnit,
                [Line(Strings.Healing, s => s.HealedDays)], v => Strings.Days.With(
                    Units.Number(v, "0.0")), 2, 0, null,
                [.. stages.Select(s => new ChartLevel(past.DaysTo(s), HarvestWords.Stage(s, past.Rule)))]);
        }

        Add("lost", Strings.ShrinkSoFar, "%", [Line(Strings.ShrinkSoFar, s => s.Shrink.Percent)], Percent, 2, 0, 100);
        if (past.Samples.Any(s => s.RestUsed is not null))
        {
            Add(
                "dormancy", Strings.DormancyUsed, "%",
                [Line(Strings.DormancyUsed, s => 100 * (s.RestUsed?.Value ?? 0), s => 100 * (s.RestUsed?.Low ?? 0),
                    s => 100 * (s.RestUsed?.High ?? 0))], Percent, 10, 0, 104,
                past.Samples.Max(s => s.RestUsed?.High ?? 0) > 0.6 ? [new ChartLevel(100, Strings.SproutsPeep)] : []);
        }

        return charts;

        ChartSeries Line(string name, Func<LotSample, double> value, Func<LotSample, double>? low = null, Func<LotSample,
            double>? high = null) =>
            new(name, [.. past.Samples.Select(s => new ChartPoint(s.At, value(s), low?.Invoke(s), high?.Invoke(s)))],
                WeightChart.Spaced(past.Samples));

        void Add(string key, string title, string unit, IReadOnlyList<ChartSeries> series, Func<double, string> say, double narrowest,
            double? floor, double? ceiling, IReadOnlyList<ChartLevel>? levels = null) =>
            charts.Add(new NamedChart(key, new ChartSpec(title, unit, from, to, calendar.Zone, series, say)
            {
                Narrowest = narrowest,
                Floor = floor,
                Ceiling = ceiling,
                Levels = levels ?? [],
                Marks = marks,
                EndsNow = HistorySpan.IsNow(to, show.Now),
            }));

        static string Percent(double v) => Units.Number(v, "0.0") + "\u00A0%";
    }

    /// <summary>No weight is said finer than it is known; and where the past of a lot comes up to now it goes on, with its interval.</summary>
    private ChartSpec GoingOn(LotView lot, BinView? bin, ChartSpec spec)
    {
        var foreseen = ahead.Of(null).Of(lot.Id);
        var past = spec.Series[0] with { Say = Said };
        spec = spec with { Series = [past, .. spec.Series.Skip(1)] };
        // As far ahead as it goes back; of all its life, a few weeks at least.
        var far = spec.To - spec.From;
        if (far < LeastAhead && lot.Bins.Min(b => b.FilledAt) >= spec.From) far = LeastAhead;
        if (bin is not null || !spec.EndsNow || far < LeastAhead / 4 || past.Points is not [.., var last] || foreseen is null) return spec;
        List<ChartPoint> on =
        [
            last,
            .. foreseen.Present.Steps.Where(s => s.At > last.At && s.At <= spec.To + far).Select(s => AheadCharts.Point(show, s.At, s.Kg)),
        ];
        return on.Count == 1 ? spec : spec with
        {
            To = on[^1].At,
            EndsNow = false,
            Present = spec.To,
            Series = [past, new ChartSeries(Strings.AheadAsItGoes, on, TimeSpan.MaxValue) { Say = Said }, .. spec.Series.Skip(1)],
        };

        string Said(ChartPoint p) => show.AboutBetween(
            new Interval(show.WeightKg(p.Low ?? p.Value), show.WeightKg(p.Value), show.WeightKg(p.High ?? p.Value)),
            foreseen?.Lot.ScaleStepKg ?? 0);
    }

    private string CuringDegrees(CuringRule rule)
    {
        double celsius = rule switch { CuringRule.Potato => 20, CuringRule.SweetPotato => 29, CuringRule.Drying => 27, _ => 28 };
        return show.Degrees(celsius).ToString("0", System.Globalization.CultureInfo.CurrentCulture) + "\u00A0" + show.TemperatureUnit;
    }

    /// <summary>The air of the places it stood in, one after the other.</summary>
    private List<NamedChart> Air(LotView lot, BinView? bin, DateTimeOffset from, DateTimeOffset to, TimeSpan step,
        IReadOnlyList<PlaceView> views, IReadOnlyList<ChartMark> marks, string? only = null)
    {
        var of = bin ?? lot.Bins.OrderByDescending(b => b.EmptiedAt is null).ThenByDescending(b => b.Grams)
            .ThenByDescending(b => b.FilledGrams).FirstOrDefault();
        if (of is null) return [];
        var parts = new List<NamedChart>();
        for (int i = 0; i < of.Stays.Count; i++)
        {
            var start = i == 0 ? lot.DugAt : of.Stays[i].From;
            var end = i + 1 < of.Stays.Count ? of.Stays[i + 1].From : of.EmptiedAt ?? to;
            if (start < from) start = from;
            if (end > to) end = to;
            if (end <= start || views.FirstOrDefault(v => v.Place.Id == of.Stays[i].Place) is not { } view) continue;
            parts.AddRange(places.Of(view, start, end, step, only));
        }

        return
        [
            .. parts.GroupBy(p => p.Key).Select(g => new NamedChart(g.Key, g.First().Spec with
            {
                From = from,
                To = to,
                Series = [g.First().Spec.Series[0] with { Points = [.. g.SelectMany(p => p.Spec.Series[0].Points)] }],
                Bands = [.. g.SelectMany(p => p.Spec.Bands)],
                HoursOut = g.Any(p => p.Spec.HoursOut is not null) ? () => g.Sum(p => p.Spec.HoursOut?.Invoke() ?? 0) : null,
                Marks = [.. g.SelectMany(p => p.Spec.Marks).Where(m => m.Kind == MarkKind.Alarm).Distinct(), .. marks],
                EndsNow = HistorySpan.IsNow(to, show.Now),
                Nights = PlaceCharts.NightsOf(from, to, calendar),
            })),
        ];
    }

    private List<ChartMark> Entries(LotView lot, BinView? bin, DateTimeOffset from, DateTimeOffset to, IReadOnlyList<Place> all)
    {
        var book = door.Book;
        var entries = LedgerSelection.Of(book, bin?.Id, lot.Id, from, to).Where(s => s is { Void: false, Counts: true, Entry.Of: null })
            .ToList();
        if (entries.Count <= MostEntries) return [.. entries.Select(s => new ChartMark(s.At, MarkKind.Event, Said(s)))];
        return
        [
            .. entries.GroupBy(s => (Day: show.DayOf(s.At), s.Entry.Kind))
                .Select(g => new ChartMark(g.Min(s => s.At), MarkKind.Event, g.Count() == 1 ? Said(g.First())
                    : Strings.EntriesOfKind.With(LogKinds.Name(g.Key.Kind), g.Count())))
                .OrderBy(m => m.At),
        ];

        string Said(Standing standing)
        {
            string text = words.Of(book, standing, all);
            string? name = bin is null ? standing.Event?.About().Bin : null;
            return name is null ? text : Strings.BinDid.With(name, text);
        }
    }
}
