using RootCellar.Api;
using RootCellar.Charts;
using RootCellar.Household;
using RootCellar.Ledger;
using RootCellar.Lots;
using RootCellar.Monitoring;
using RootCellar.Report;

namespace RootCellar.Pages;

/// <summary>
/// Charts by address: /charts/places/PLACE/FIGURE.svg /charts/lots/LOT/FIGURE.svg, /charts/report/WEEK/FIGURE.svg?lot=LOT or
/// ?place=PLACE, and /charts/ahead/cellar/FIGURE.svg and /charts/ahead/lots/LOT.svg, with ?c= and rh= for air that is held.
/// </summary>
internal static class ChartEndpoint
{
    /// <summary>What a chart of a place begins with, where nobody says from when.</summary>
    private static readonly TimeSpan TrendSpan = TimeSpan.FromHours(48);

    public static IResult Place(string place, string figure, string? from, string? to, bool? wide, HttpContext context, Pipeline pipeline,
        PlaceCharts charts, Show show)
    {
        if (!Span(from, to, show.Now - TrendSpan, show, out var start, out var end)) return Results.NotFound();
        if (pipeline.Snapshot.Place(NameInAddress.Real(place, _ => false)) is not { } view) return Results.NotFound();
        return charts.Of(view, figure, start, end) is { Count: > 0 } panels ? Svg(context, panels, wide) : Results.NotFound();
    }

    public static IResult Lot(
        string lot, string figure, string? bin, string? from, string? to, bool? wide, HttpContext context, LedgerDoor door,
        Pipeline pipeline, LotCharts charts, Show show)
    {
        if (!door.Book.Lots.TryGetValue(NameInAddress.Real(lot, door.Book.Lots.ContainsKey), out var view)) return Results.NotFound();
        if (!Span(from, to, view.DugAt, show, out var start, out var end)) return Results.NotFound();
        var only = string.IsNullOrEmpty(bin) ? null : view.Bins.Where(b => b.Id == bin).MaxBy(b => b.FilledAt);
        var views = pipeline.Snapshot.Places;
        var step = LotCharts.StepOf(new HistorySpan(HistorySpan.Own, start, end, EndsNow: false));
        return charts.Of(view, only, start, end, step, views, figure) is { Count: > 0 } panels ? Svg(context, panels, wide) : Results.NotFound();
    }

    /// <summary>All of it ahead: its weight, or what still lasts.</summary>
    public static IResult AheadOfAll(string figure, double? c, double? rh, bool? wide, HttpContext context, AheadNow ahead,
        AheadCharts charts) =>
        charts.Of(ahead.Of(Held(c, rh)), figure) is { } spec ? Svg(context, [spec], wide) : Results.NotFound();

    /// <summary>One lot ahead.</summary>
    public static IResult AheadOfLot(string lot, double? c, double? rh, bool? wide, HttpContext context, AheadNow ahead,
        AheadCharts charts, LedgerDoor door) =>
        ahead.Of(Held(c, rh)).Of(NameInAddress.Real(lot, door.Book.Lots.ContainsKey)) is { } found
            ? Svg(context, [charts.Of(found)], wide) : Results.NotFound();

    // What cannot be held is left out: the page that shows the picture has said so.
    private static Hold? Held(double? c, double? rh) => c is { } celsius && rh is { } percent ? Hold.Of(celsius, percent) : null;

    /// <summary>A chart as the report of a week has it, and its mail: what came later has no part in it.</summary>
    public static IResult Report(string week, string figure, string? lot, string? place, bool? wide, HttpContext context,
        ReportDesk desk) =>
        Week.Named(week, desk.Zone) is { } asked && desk.Of(asked)?.Charts.FirstOrDefault(
            c => c.Figure == figure && c.Lot == lot && c.Place == place) is { } chart ? Svg(context, [chart.Spec], wide) : Results.NotFound();

    private static IResult Svg(HttpContext context, IReadOnlyList<ChartSpec> charts, bool? wide)
    {
        // An image has no script; the style inside is its own. The address names the newest sample, so it may be kept.
        context.Response.Headers.ContentSecurityPolicy = "default-src 'none'; style-src 'unsafe-inline'";
        context.Response.Headers.CacheControl = "private, max-age=300";
        return Results.Text(ChartSvg.Draw([.. charts.Select(c => c.Sized(wide == true ? ChartSpec.Wide : ChartSpec.Narrow))]), "image/svg+xml");
    }

    private static bool Span(string? from, string? to, DateTimeOffset first, Show show, out DateTimeOffset start, out DateTimeOffset end)
    {
        start = first;
        return show.Calendar.TryTime(to, show.Now, out end) && show.Calendar.TryTime(from, first, out start) && start < end
            && end - start < TimeSpan.FromDays(1000);
    }
}
