using Microsoft.Data.Sqlite;
using RootCellar.Advice;
using RootCellar.Charts;
using RootCellar.Household;
using RootCellar.Ledger;
using RootCellar.Lots;
using RootCellar.Pages;
using RootCellar.Places;
using RootCellar.Science.Air;
using RootCellar.Watch;

namespace RootCellar.Report;

/// <summary>A chart of the report: of which place or lot, and which figure.</summary>
internal sealed record ReportChart(string? Place, string? Lot, string Figure, ChartSpec Spec);

/// <summary>The air of the places that are judged and the weight of the lots, drawn by the same hand as on the pages.</summary>
internal static class ReportCharts
{
    /// <summary>More would make the mail too heavy for a phone far from the mast.</summary>
    private const int MostPlaces = 4;
    private const int MostLots = 6;

    /// <summary>Moments of a season remembered while it is drawn.</summary>
    private const int MostKnown = 100_000;

    private static readonly TimeSpan Step = TimeSpan.FromMinutes(30);

    /// <param name="courses">States already worked out from this record.</param>
    public static IReadOnlyList<ReportChart> Of(SqliteConnection connection, Book book, WeekFigures week, ReportWords words,
        WatchOptions watch, TrajectoryCache courses) =>
        [
            .. new LotLines(week, words).Picture() is { } all ? [new ReportChart(null, null, "lots", all)] : (ReportChart[])[],
            .. Air(connection, book, week, words, watch), .. Weights(connection, book, week, words, courses),
        ];

    /// <summary>The lots whose weight could be drawn: what is followed and not all gone, first those that lost most this week.</summary>
    public static IEnumerable<LotWeek> Drawable(WeekFigures week) => week.Lots.Where(l => l.Bins.Count > 0 && l.Estimate.EndKg is not null)
        .OrderByDescending(l => l.Estimate.ShrinkGrams).ThenByDescending(l => l.Estimate.EndGrams)
            .ThenBy(l => l.Lot, StringComparer.Ordinal);

    /// <summary>What stands over a picture of the air, and how to read it.</summary>
    public static string AirCaption(ChartSpec spec) =>
        (spec.Marks.Any(m => m.Kind == MarkKind.Alarm) ? Strings.ReportAirCaptionAlarms
            : Strings.ReportAirCaption).With(spec.Series[0].Name);

    /// <summary>The same of a lot's weight.</summary>
    public static string WeightCaption(ChartSpec spec, ReportWords words) =>
        (spec.Shade is null ? Strings.ReportWeightCaption : Strings.ReportWeightShaded).With(words.Day(spec.From, spec.To));

    /// <summary>What a reader takes from a lot's weight: where it began, where the week did and where it is.</summary>
    public static string WeightInWords(ChartSpec spec, ReportWords words)
    {
        var points = spec.Series[0].Points;
        var (first, last) = (points[0], points[^1]);
        var (began, day) = (spec.Say(first.Value), words.Day(first.At, last.At));
        var now = words.Kg(new Interval(words.WeightKg(last.Low!.Value), words.WeightKg(last.Value), words.WeightKg(last.High!.Value)));
        return spec.Shade is { } week && points.LastOrDefault(p => p.At <= week.From) is { At.Ticks: > 0 } then
            ? Strings.ReportWeightSaysWeek.With(spec.Title, began, day, spec.Say(then.Value), now, words.Day(last.At, last.At))
            : Strings.ReportWeightSays.With(spec.Title, began, day, now, words.Day(last.At, last.At));
    }

    private static List<ReportChart> Weights(SqliteConnection connection, Book book, WeekFigures week, ReportWords words,
        TrajectoryCache courses)
    {
        using var moment = connection.BeginTransaction(deferred: true);
        courses.Use(connection);
        var purposes = week.Places.ToDictionary(p => p.Place.Id, p => p.Place.Purpose, StringComparer.Ordinal);
        var house = HouseSays.Of(book, purposes, courses, TimeStep.Of(week.UpTo));
        var charts = new List<ReportChart>();
        foreach (var l in Drawable(week).Take(MostLots))
        {
            var lot = book.Lots[l.Lot];
            // No step is so long that the week in it would be a single line.
            var step = new HistorySpan(HistorySpan.Own, lot.DugAt, week.UpTo, EndsNow: false).Step is var wide
                && wide > TimeSpan.FromDays(1) ? TimeSpan.FromDays(1) : wide < TimeSpan.FromHours(1) ? TimeSpan.FromHours(1) : wide;
            if (LotHistory.Of(lot, purposes, courses, week.UpTo, step, MostKnown, house) is not { Samples.Count: > 1 } past) continue;
            var end = l.Estimate.EndKg!.Value;
            var spec = WeightChart.Of(
                Strings.ReportWeightOf.With(ReportWords.Line(l.Lot, 40)), words.WeightUnit, lot, null, past.Samples, lot.DugAt, week.UpTo,
                    words.Zone, words.WeightOf, v => words.Kg(words.WeightKg(v), (end.High - end.Low) / 2));
            charts.Add(new ReportChart(null, l.Lot, "weight", week.Week.From > lot.DugAt
                ? spec with { Shade = (week.Week.From, week.UpTo) } : spec));
        }

        return charts;
    }

    private static List<ReportChart> Air(SqliteConnection connection, Book book, WeekFigures week, ReportWords words, WatchOptions watch)
    {
        var bands = new BandsInForce(CropLookup.Of(book.Crops), watch);
        var charts = new List<ReportChart>();
        foreach (var place in week.Places.Where(p => p.Band is not null && p.Temperature is not null).OrderByDescending(p => p.CostKg)
            .ThenBy(p => p.Place.Id, StringComparer.Ordinal).Take(MostPlaces))
        {
            var steps = PlaceRows.History(connection, place.Place.Id, week.Week.From, week.UpTo, Step);
            var stretches = BandsOver.Of(book, bands, place.Place, week.Week.From, week.UpTo);
            var alarms = AlarmRows.OfPlace(connection, place.Place.Id, week.Week.From, week.UpTo);
            Add(Strings.Temperature, "temperature", words.TemperatureUnit, s => s.TemperatureC, words.Degrees,
                b => (words.Degrees(b.Air.TemperatureLowC), words.Degrees(b.Air.TemperatureHighC)),
                v => $"{v:0.0} {words.TemperatureUnit}", words.InFahrenheit ? 6 : 3, [Measure.Air, Measure.Pulp], ceiling: null);
            Add(Strings.Humidity, "humidity", "%", s => s.RelativeHumidityPercent, v => v,
                b => (b.Air.HumidityLowPercent, b.KeptDry ? b.Air.HumidityHighPercent : 100),
                v => $"{v:0} %", 10, [Measure.Humidity, Measure.DewMargin], ceiling: 100);

            void Add(
                string title, string figure, string unit, Func<AirStep, Places.Spread?> of, Func<double, double> shown, Func<Band,
                (double Low, double High)> limits, Func<double, string> say,
                double narrowest, Measure[] measures, double? ceiling)
            {
                var points = steps.Select(s => (s.At, Spread: of(s))).Where(s => s.Spread is not null)
                    .Select(s => new ChartPoint(Earlier(s.At + (Step / 2), week.UpTo), shown(s.Spread!.Mean), shown(s.Spread.Min),
                        shown(s.Spread.Max))).ToList();
                if (points.Count == 0) return;
                var name = $"{ReportWords.Line(place.Place.Name)}: {title}";
                charts.Add(new ReportChart(place.Place.Id, null, figure,
                    new ChartSpec(name, unit, week.Week.From, week.UpTo, words.Zone, [new ChartSeries(title, points, Step * 1.6)], say)
                    {
                        HoursOut = () => (figure == "temperature" ? place.Temperature : place.Humidity)?.HoursOut ?? 0,
                        Bands = [.. stretches.Select(b => limits(b.Band) is var (low, high) ? new ChartBand(b.From, b.To, low, high)
                        : default)],
                        Marks = [.. alarms.Where(a => measures.Contains(a.Measure)).Select(a =>
                        new ChartMark(a.Since, MarkKind.Alarm, JudgementWords.Name(a.Rule, a.Measure), a.ReturnedAt ?? week.UpTo))],
                        NamesEnds = true,
                        Nights = PlaceCharts.NightsOf(week.Week.From, week.UpTo, HouseholdCalendar.Of(words.Zone)),
                        Narrowest = narrowest,
                        Floor = ceiling is null ? null : 0,
                        Ceiling = ceiling,
                        RangesAreMeasured = true,
                    }));
            }
        }

        return charts;
    }

    private static DateTimeOffset Earlier(DateTimeOffset a, DateTimeOffset b) => a < b ? a : b;
}
