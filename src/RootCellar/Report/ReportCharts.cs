using Microsoft.Data.Sqlite;
using RootCellar.Charts;
using RootCellar.Ledger;
using RootCellar.Pages;
using RootCellar.Places;
using RootCellar.Watch;

namespace RootCellar.Report;

/// <summary>A chart of the report: of which place, and which figure.</summary>
internal sealed record ReportChart(string Place, string Figure, ChartSpec Spec);

/// <summary>The air of the places that are judged, drawn by the same hand as on the pages.</summary>
internal static class ReportCharts
{
    /// <summary>More would make the mail too heavy for a phone far from the mast.</summary>
    private const int Most = 8;

    private static readonly TimeSpan Step = TimeSpan.FromMinutes(30);

    public static IReadOnlyList<ReportChart> Of(SqliteConnection connection, Book book, WeekFigures week, ReportWords words, WatchOptions watch)
    {
        var bands = new BandsInForce(CropLookup.Find, watch);
        var charts = new List<ReportChart>();
        foreach (var place in week.Places.Where(p => p.Band is not null && p.Temperature is not null).OrderByDescending(p => p.CostKg).ThenBy(p => p.Place.Id, StringComparer.Ordinal).Take(Most / 2))
        {
            var steps = PlaceRows.History(connection, place.Place.Id, week.Week.From, week.UpTo, Step);
            var stretches = BandsOver.Of(book, bands, place.Place, week.Week.From, week.UpTo);
            var alarms = AlarmRows.OfPlace(connection, place.Place.Id, week.Week.From, week.UpTo);
            Add(Strings.Temperature, "temperature", words.TemperatureUnit, s => s.TemperatureC, words.Degrees, b => (words.Degrees(b.Air.TemperatureLowC), words.Degrees(b.Air.TemperatureHighC)),
                v => $"{v:0.0} {words.TemperatureUnit}", words.Fahrenheit ? 6 : 3, [Measure.Air, Measure.Pulp], ceiling: null);
            Add(Strings.Humidity, "humidity", "%", s => s.RelativeHumidityPercent, v => v, b => (b.Air.HumidityLowPercent, b.KeptDry ? b.Air.HumidityHighPercent : 100),
                v => $"{v:0} %", 10, [Measure.Humidity, Measure.DewMargin], ceiling: 100);

            void Add(
                string title, string figure, string unit, Func<AirStep, Spread?> of, Func<double, double> shown, Func<Band, (double Low, double High)> limits, Func<double, string> say,
                double narrowest, Measure[] measures, double? ceiling)
            {
                var points = steps.Select(s => (s.At, Spread: of(s))).Where(s => s.Spread is not null)
                    .Select(s => new ChartPoint(Earlier(s.At + (Step / 2), week.UpTo), shown(s.Spread!.Mean), shown(s.Spread.Min), shown(s.Spread.Max))).ToList();
                if (points.Count == 0) return;
                var name = $"{ReportWords.Line(place.Place.Name)}: {title}";
                charts.Add(new ReportChart(place.Place.Id, figure, new ChartSpec(name, unit, week.Week.From, week.UpTo, words.Zone, [new ChartSeries(title, points, Step * 1.6)], say)
                {
                    Bands = [.. stretches.Select(b => limits(b.Band) is var (low, high) ? new ChartBand(b.From, b.To, low, high) : default)],
                    Marks = [.. alarms.Where(a => measures.Contains(a.Measure)).Select(a => new ChartMark(a.RaisedAt, MarkKind.Alarm, ReportWords.Rule(a.Rule), a.ReturnedAt ?? week.UpTo))],
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
