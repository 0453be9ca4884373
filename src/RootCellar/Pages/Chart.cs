using System.Globalization;
using System.Text;
using RootCellar.Places;
using RootCellar.Storage;
using ScottPlot;

namespace RootCellar.Pages;

/// <summary>
/// A trend as SVG. ScottPlot draws what is in the frame; the words round it are written here as SVG text, so that they are
/// the reader's own font and a machine without any font draws the same picture. Colours are replaced by the stylesheet
/// inside, which knows light and dark.
/// </summary>
internal static class Chart
{
    public const string TemperatureFigure = "temperature";
    public const string HumidityFigure = "humidity";
    public const int Width = 360;
    public const int Height = 150;

    private const int Left = 34;
    private const int Top = 8;
    private const int Right = 6;
    private const int Bottom = 22;
    private const string Inside = "#00A050";
    private const string Line = "#1040C0";
    private const string Grid = "#909090";
    private static readonly TimeSpan Gap = TimeSpan.FromMinutes(25);

    /// <param name="points">Oldest first.</param>
    /// <param name="band">The limits in force; null for none.</param>
    public static string Draw(IReadOnlyList<(DateTimeOffset At, double Value)> points, (double Low, double High)? band, DateTimeOffset from, DateTimeOffset to, TimeZoneInfo zone, double narrowest)
    {
        var (low, high) = Limits(points, band, narrowest);
        var plot = new Plot();
        plot.HideGrid();
        plot.Layout.Frameless();
        plot.FigureBackground.Color = Colors.Transparent;
        plot.DataBackground.Color = Colors.Transparent;
        if (band is { } b)
        {
            var held = plot.Add.Rectangle(0, Hours(to - from), b.Low, b.High);
            held.FillStyle.Color = Color.FromHex(Inside);
            held.LineStyle.Width = 0;
        }

        var days = Midnights(from, to, zone).ToList();
        foreach (var day in days)
        {
            var line = plot.Add.VerticalLine(Hours(day - from), 1, Color.FromHex(Grid));
            line.LinePattern = LinePattern.Dotted;
        }

        foreach (var part in Unbroken(points))
        {
            var line = plot.Add.ScatterLine(part.Select(p => Hours(p.At - from)).ToArray(), part.Select(p => p.Value).ToArray(), Color.FromHex(Line));
            line.LineWidth = 2;
        }

        plot.Axes.SetLimits(0, Hours(to - from), low, high);
        const int width = Width - Left - Right;
        const int height = Height - Top - Bottom;
        var inner = plot.GetSvgXml(width, height);
        inner = inner[inner.IndexOf("<svg", StringComparison.Ordinal)..].Replace("<svg ", $"<svg x=\"{Left}\" y=\"{Top}\" ", StringComparison.Ordinal);

        var svg = new StringBuilder();
        svg.Append(CultureInfo.InvariantCulture, $"<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 {Width} {Height}\" width=\"{Width}\" height=\"{Height}\"><style>{Style}</style>");
        svg.Append(CultureInfo.InvariantCulture, $"<rect class=\"frame\" x=\"{Left}\" y=\"{Top}\" width=\"{width}\" height=\"{height}\"/>").Append(inner);
        foreach (var value in Ticks(low, high))
        {
            var y = Top + (height * (high - value) / (high - low));
            svg.Append(CultureInfo.InvariantCulture, $"<path class=\"tick\" d=\"M{Left - 4} {y:0.#}h4\"/><text x=\"{Left - 6}\" y=\"{y + 4:0.#}\" text-anchor=\"end\">{value:0.#}</text>");
        }

        foreach (var day in days)
        {
            var x = Left + (width * (day - from) / (to - from));
            if (x > Width - 85) continue;
            svg.Append(CultureInfo.InvariantCulture, $"<text x=\"{x + 3:0.#}\" y=\"{Height - 6}\">{TimeZoneInfo.ConvertTime(day, zone).ToString("ddd d", CultureInfo.CurrentCulture)}</text>");
        }

        svg.Append(CultureInfo.InvariantCulture, $"<text x=\"{Width - Right}\" y=\"{Height - 6}\" text-anchor=\"end\">{Strings.ChartNow}</text></svg>");
        return svg.ToString();
    }

    // Attribute selectors, because the drawing library writes colours as attributes, in capitals.
    private const string Style =
        "text{font:12px system-ui,sans-serif;fill:#222}.frame{fill:none;stroke:#767676}.tick{stroke:#767676}"
        + "[fill=\"" + Inside + "\"]{fill:#bfe3c8}[stroke=\"" + Line + "\"]{stroke:#10306e}[fill=\"" + Grid + "\"]{fill:#7a7a7a}"
        + "@media (prefers-color-scheme:dark){text{fill:#eee}[fill=\"" + Inside + "\"]{fill:#234d33}[stroke=\"" + Line + "\"]{stroke:#ffd76a}}";

    private static (double Low, double High) Limits(IReadOnlyList<(DateTimeOffset At, double Value)> points, (double Low, double High)? band, double narrowest)
    {
        var low = points.Min(p => p.Value);
        var high = points.Max(p => p.Value);
        if (band is { } b) (low, high) = (Math.Min(low, b.Low), Math.Max(high, b.High));
        var room = Math.Max((high - low) * 0.08, (narrowest - (high - low)) / 2);
        return (low - room, high + room);
    }

    private static IEnumerable<double> Ticks(double low, double high)
    {
        var step = new[] { 0.5, 1, 2, 5, 10, 20, 50 }.First(s => (high - low) / s <= 5 || s >= 50);
        for (var value = Math.Ceiling(low / step) * step; value <= high; value += step) yield return value;
    }

    private static IEnumerable<DateTimeOffset> Midnights(DateTimeOffset from, DateTimeOffset to, TimeZoneInfo zone)
    {
        for (var day = TimeZoneInfo.ConvertTime(from, zone).Date.AddDays(1); ; day = day.AddDays(1))
        {
            var at = new DateTimeOffset(day, zone.GetUtcOffset(day));
            if (at >= to) yield break;
            yield return at;
        }
    }

    // A line across an hour without readings would claim what nobody measured.
    private static IEnumerable<List<(DateTimeOffset At, double Value)>> Unbroken(IReadOnlyList<(DateTimeOffset At, double Value)> points)
    {
        List<(DateTimeOffset At, double Value)> part = [];
        foreach (var point in points)
        {
            if (part.Count > 0 && point.At - part[^1].At > Gap)
            {
                yield return part;
                part = [];
            }

            part.Add(point);
        }

        if (part.Count > 0) yield return part;
    }

    private static double Hours(TimeSpan span) => span.TotalHours;
}

/// <summary>/charts/places/PLACE/FIGURE.svg</summary>
internal static class ChartEndpoint
{
    public static async Task<IResult> DrawAsync(string place, string figure, HttpContext context, Pipeline pipeline, Store store, Show show, Settings settings)
    {
        if (figure is not (Chart.TemperatureFigure or Chart.HumidityFigure)) return Results.NotFound();
        if (await pipeline.AskAsync((h, _, _) => h.View(place)) is not { } view) return Results.NotFound();
        var temperature = figure == Chart.TemperatureFigure;
        var now = show.Now;
        var air = store.Read(c => PlaceRows.Air(c, place, now - PlaceCards.TrendSpan, now));
        if (view.Air is { Quality: not AirQuality.None } latest) air = [.. air, latest];
        var points = air
            .Select(a => (a.At, Value: temperature ? a.TemperatureC is { } t ? show.Degrees(t) : null : a.RelativeHumidityPercent))
            .Where(p => p.Value is not null)
            .Select(p => (p.At, p.Value!.Value))
            .ToList();
        if (points.Count == 0) return Results.NotFound();
        (double, double)? band = view.Band is not { } b ? null
            : temperature ? (show.Degrees(b.Air.TemperatureLowC), show.Degrees(b.Air.TemperatureHighC))
            : (b.Air.HumidityLowPercent, b.Air.HumidityHighPercent);
        // An image has no script; the style inside is its own. The address names the newest sample, so it may be kept.
        context.Response.Headers.ContentSecurityPolicy = "default-src 'none'; style-src 'unsafe-inline'";
        context.Response.Headers.CacheControl = "private, max-age=300";
        return Results.Text(Chart.Draw(points, band, now - PlaceCards.TrendSpan, now, settings.Household.Zone(), temperature ? 4 : 10), "image/svg+xml");
    }
}
