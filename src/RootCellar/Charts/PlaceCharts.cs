using RootCellar.Household;
using RootCellar.Ledger;
using RootCellar.Lots;
using RootCellar.Monitoring;
using RootCellar.Pages;
using RootCellar.Places;
using RootCellar.Science.Air;
using RootCellar.Storage;
using RootCellar.Tell;
using RootCellar.Watch;

namespace RootCellar.Charts;

/// <summary>A chart under the name its address has.</summary>
internal sealed record NamedChart(string Key, ChartSpec Spec);

/// <summary>
/// Makes the charts of a place's air: what was measured, the limits that were in force, its alarms, what came in and went out.
/// </summary>
internal sealed class PlaceCharts(Store store, Show show, WatchOptions watch, HouseholdCalendar calendar, LedgerDoor door,
    AlarmWords alarmWords)
{
    public const string Temperature = "temperature";
    public const string Humidity = "humidity";
    public const string Deficit = "deficit";

    /// <summary>Temperature and humidity on one axis of time.</summary>
    public const string Air = "air";

    /// <summary>Nights are shaded up to so long a time: over more they are stripes that say nothing.</summary>
    private static readonly TimeSpan LongestWithNights = TimeSpan.FromDays(15);

    private const int MostNames = 6;

    private BandsInForce bands => new(CropLookup.Of(door.Book.Crops), watch);

    private sealed record Figure(
        string Key, string Column, string Title, string Unit, double Narrowest, double? Floor, double? Ceiling, Func<double, double> Shown,
        Func<AirStep, Places.Spread?> Of, Func<PlaceAir, double?> Now,
        Func<Watch.Band, (double Low, double High)>? Limits, Func<Watch.Band, (double Low, double High)>? Measured, Func<double,
        string> Say, params Measure[] Alarms);

    /// <summary>Every figure that was measured in the time asked for.</summary>
    /// <param name="view">The place as it is now.</param>
    /// <param name="from">The beginning.</param>
    /// <param name="to">The end.</param>
    /// <param name="step">Of what is thinned.</param>
    /// <param name="only">One figure; null for all.</param>
    public IReadOnlyList<NamedChart> Of(PlaceView view, DateTimeOffset from, DateTimeOffset to, TimeSpan step, string? only = null)
    {
        var place = view.Place;
        var figures = Figures();
        string? column = only is null ? null : figures.FirstOrDefault(f => f.Key == only)?.Column;
        if (only is not null && column is null) return [];
        var (steps, alarms, outdoors) = store.Read(c => (
            PlaceRows.History(c, place.Id, from, to, step, column), AlarmRows.OfPlace(c, place.Id, from, to),
            only is null or Temperature && place.Purpose != Purpose.Outdoors
                && PlaceRows.All(c).FirstOrDefault(p => p.Purpose == Purpose.Outdoors) is { } yard
                    ? PlaceRows.History(c, yard.Id, from, to, step, "temperature_c") : []));
        var nights = NightsOf(from, to, calendar);
        var stretches = BandsOf(place, from, to);
        var events = Movements(place, from, to);
        var now = show.Now;
        bool endsNow = HistorySpan.IsNow(to, now);
        var charts = new List<NamedChart>();
        foreach (var figure in figures.Where(f => only is null || f.Key == only))
        {
            var points = Points(figure, steps, step, to);
            if (endsNow && view.Air is { Quality: not AirQuality.None } latest && figure.Now(latest) is { } last
                && (points.Count == 0 || latest.At > points[^1].At) && latest.At <= to)
                points.Add(new ChartPoint(latest.At, figure.Shown(last)));
            if (points.Count == 0) continue;
            var gap = TimeSpan.FromTicks(Math.Max(TimeSpan.FromMinutes(25).Ticks, (long)(step.Ticks * 1.6)));
            charts.Add(new NamedChart(
                figure.Key, new ChartSpec(figure.Title, figure.Unit, from, to, calendar.Zone,
                    [new ChartSeries(figure.Title, points, gap), .. Outside(figure, outdoors, step, to, gap)], figure.Say)
                {
                    NamesEnds = true,
                    Nights = nights,
                    Bands = figure.Limits is null
                    ? [] : [.. stretches.Select(s => figure.Limits(s.Band) is var (low, high) ? new ChartBand(s.From, s.To, low, high)
                        : default)],
                    HoursOut = figure.Measured is { } limits ? () => HoursOut(place.Id, figure.Column, from, to, stretches, limits) : null,
                    Marks = [.. alarms.Where(a => a.Measure == Measure.None || figure.Alarms.Contains(a.Measure))
                    .Select(a => Mark(a, place, now)), .. events],
                    Narrowest = figure.Narrowest,
                    Floor = figure.Floor,
                    Ceiling = figure.Ceiling,
                    RangesAreMeasured = true,
                    EndsNow = endsNow,
                }));
        }

        return charts;
    }

    /// <summary>
    /// One figure of one place over some time, for who draws it elsewhere: <see cref="Air"/> is two under each other. Empty where nothing
    /// was measured.
    /// </summary>
    public IReadOnlyList<ChartSpec> Of(PlaceView view, string figure, DateTimeOffset from, DateTimeOffset to)
    {
        var step = new HistorySpan(HistorySpan.Own, from, to, EndsNow: false).Step;
        if (figure != Air) return [.. Of(view, from, to, step, figure).Select(c => c.Spec)];
        return Panels([.. Of(view, from, to, step, Temperature), .. Of(view, from, to, step, Humidity)]);
    }

    /// <summary>Of some charts those that share an axis of time: temperature over humidity, with the alarms of both across both.</summary>
    public static IReadOnlyList<ChartSpec> Panels(IReadOnlyList<NamedChart> charts)
    {
        var panels = charts.Where(c => c.Key is Temperature or Humidity).Select(c => c.Spec).ToList();
        var marks = panels.SelectMany(p => p.Marks).Distinct().OrderBy(m => m.At).ToList();
        return [.. panels.Select(p => p with { Marks = marks })];
    }

    /// <summary>The dark hours, 8 in the evening to 6 in the morning of the household's clock (assumed); none of a longer time.</summary>
    public static IReadOnlyList<(DateTimeOffset From, DateTimeOffset To)> NightsOf(DateTimeOffset from, DateTimeOffset to,
        HouseholdCalendar calendar)
    {
        var nights = new List<(DateTimeOffset From, DateTimeOffset To)>();
        if (to - from > LongestWithNights) return nights;
        for (var day = TimeZoneInfo.ConvertTime(from, calendar.Zone).Date.AddDays(-1); ; day = day.AddDays(1))
        {
            var dusk = calendar.Moment(day.AddHours(20));
            if (dusk >= to) return nights;
            nights.Add((dusk, calendar.Moment(day.AddHours(30))));
        }
    }

    private static IEnumerable<ChartSeries> Outside(Figure figure, IReadOnlyList<AirStep> outdoors, TimeSpan step, DateTimeOffset to,
        TimeSpan gap) =>
        figure.Key == Temperature && outdoors.Count > 0
            ? [new ChartSeries(Strings.ChartOutside, [.. Points(figure, outdoors, step, to).Select(p => new ChartPoint(p.At, p.Value))], gap, SeriesKind.Outside)] : [];

    /// <summary>
    /// The limits in force in a place over time: what it is set up for, and the crops of the bins that stood there by the book.
    /// </summary>
    public IReadOnlyList<(DateTimeOffset From, DateTimeOffset To, Watch.Band Band)> BandsOf(
        Place place, DateTimeOffset from, DateTimeOffset to) =>
        BandsOver.Of(door.Book, bands, place, from, to);

    private double HoursOut(
        string place, string column, DateTimeOffset from, DateTimeOffset to,
        IReadOnlyList<(DateTimeOffset From, DateTimeOffset To, Watch.Band Band)> stretches,
        Func<Watch.Band, (double Low, double High)> limits)
    {
        long first = TimeStep.Of(from), end = TimeStep.Of(to);
        var measured = new Dictionary<long, double>();
        foreach (var (at, value) in store.Read(
            c => PlaceRows.Figure(c, place, column, TimeStep.At(first - PlaceAirRecord.HeldCells), TimeStep.At(end))))
            measured[TimeStep.Of(at)] = value;
        return new OutOfBand(
            first, end, measured,
            [.. stretches.Select(s => limits(s.Band) is var (low, high) ? (s.From, s.To, low, high) : default)]).Hours;
    }

    private List<ChartMark> Movements(Place place, DateTimeOffset from, DateTimeOffset to)
    {
        var stays = BandsOver.StaysIn(door.Book, place.Id).ToList();
        var came = stays.Where(s => s.Came >= from && s.Came < to).Select(s => (At: s.Came, Words: Strings.MarkCameIn, s.Bin));
        var left = stays.Where(s => s.Went >= from && s.Went < to)
            .Select(s => (At: s.Went!.Value, Words: s.Next is null ? Strings.MarkEmptied : Strings.MarkWentOut, s.Bin));
        // Twenty bins carried over in an hour are one thing that happened.
        return
        [
            .. came.Concat(left).GroupBy(m => (Hour: m.At.ToUnixTimeSeconds() / 3600, m.Words))
                .Select(g => new ChartMark(g.Min(m => m.At), MarkKind.Event,
                    g.Key.Words.With(Names(
                        [.. g.OrderBy(m => m.At).Select(m => $"{m.Bin.Id} ({EntryWords.Kind(door.Book.Lots[m.Bin.Lot])})")
                            .Distinct(StringComparer.Ordinal)]))))
                .OrderBy(m => m.At),
        ];
    }

    private static string Names(List<string> names) =>
        names.Count <= MostNames ? string.Join(", ", names) : Strings.AndMore.With(
            string.Join(", ", names.Take(MostNames)), names.Count - MostNames);

    private ChartMark Mark(Alarm alarm, Place place, DateTimeOffset now)
    {
        var card = alarmWords.Of(alarm, place, "");
        return new ChartMark(alarm.Since, MarkKind.Alarm, card.Fact, alarm.ReturnedAt ?? (alarm.Active ? now : null));
    }

    private static List<ChartPoint> Points(Figure figure, IReadOnlyList<AirStep> steps, TimeSpan step, DateTimeOffset to)
    {
        var points = new List<ChartPoint>(steps.Count);
        bool thinned = step > TimeSpan.FromMinutes(5);
        foreach (var s in steps)
        {
            if (figure.Of(s) is not { } spread) continue;
            var at = thinned ? s.At + (step / 2) : s.At;
            points.Add(new ChartPoint(
                at < to ? at : to, figure.Shown(spread.Mean), thinned ? figure.Shown(spread.Min) : null,
                thinned ? figure.Shown(spread.Max) : null));
        }

        return points;
    }

    private Figure[] Figures()
    {
        Func<double, string> degrees = v => show.Temperature(show.Celsius(v));
        return
        [
            new Figure(
                Temperature, "temperature_c", Strings.Temperature, show.TemperatureUnit, show.InFahrenheit ? 6 : 3, null, null,
                show.Degrees, s => s.TemperatureC, a => a.TemperatureC,
                b => (show.Degrees(b.Air.TemperatureLowC), show.Degrees(b.Air.TemperatureHighC)), LimitsOf.Temperature, degrees,
                Measure.Air, Measure.AirSpread),
            new Figure(
                Humidity, "humidity_pct", Strings.Humidity, "%", 10, 0, 100, v => v, s => s.RelativeHumidityPercent,
                a => a.RelativeHumidityPercent,
                // Roots can hardly have too much short of dew: there no more than 100 % is out of it.
                b => (b.Air.HumidityLowPercent, b.KeptDry ? b.Air.HumidityHighPercent : 100), LimitsOf.Humidity, Show.Humidity,
                    Measure.Humidity, Measure.HumiditySpread, Measure.DewMargin),
            new Figure(
                Deficit, "deficit_pa", Strings.Deficit, "Pa", 60, 0, null, v => v, s => s.VapourPressureDeficitPa,
                a => a.VapourPressureDeficitPa, DeficitOf, DeficitOf, Show.Pascal),
            new Figure(
                "pulp", "pulp_c", Strings.Pulp, show.TemperatureUnit, show.InFahrenheit ? 6 : 3, null, null, show.Degrees, s => s.PulpC,
                a => a.PulpC,
                b => (show.Degrees(b.Air.TemperatureLowC), show.Degrees(b.Air.TemperatureHighC)), LimitsOf.Temperature, degrees,
                Measure.Pulp),
            new Figure(
                "light", "light_lx", Strings.Light, "lx", 10, 0, null, v => v, s => s.LightLux, a => a.LightLux,
                b => (b.LightLimitLux is null ? double.NegativeInfinity : 0, b.LightLimitLux ?? double.PositiveInfinity), LimitsOf.Light,
                Show.Light, Measure.Light),
            new Figure("co2", "co2_ppm", Strings.Co2, "ppm", 400, 0, null, v => v, s => s.Co2Ppm, a => a.Co2Ppm, null, null, Show.Co2,
                Measure.Co2),
        ];
    }

    /// <summary>
    /// What the limits of temperature and humidity come to in vapour pressure deficit, corner to corner; nobody is alarmed by it.
    /// </summary>
    private static (double Low, double High) DeficitOf(Watch.Band band) => (
        MoistAir.DeficitPa(band.Air.TemperatureLowC, band.KeptDry ? band.Air.HumidityHighPercent : 100),
        MoistAir.DeficitPa(band.Air.TemperatureHighC, band.Air.HumidityLowPercent));
}
