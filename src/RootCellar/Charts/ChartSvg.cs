using System.Globalization;
using System.Security;
using System.Text;
using RootCellar.Household;
using RootCellar.Pages;
using ScottPlot;

namespace RootCellar.Charts;

/// <summary>
/// A chart as SVG. ScottPlot draws what is in the frame; the words round it are written here as SVG text, so that they are
/// the reader's own font and a machine without any font draws the same picture. Colours are replaced by the stylesheet
/// inside, which knows light and dark.
/// </summary>
internal static class ChartSvg
{
    public static string Draw(ChartSpec spec)
    {
        var frame = ChartFrame.Of(spec);
        using var plot = new Plot();
        plot.HideGrid();
        plot.Layout.Frameless();
        plot.FigureBackground.Color = Colors.Transparent;
        plot.DataBackground.Color = Colors.Transparent;
        ChartInside.Add(plot, frame, ChartColours.Named);
        var inner = plot.GetSvgXml(frame.InnerWidth, frame.InnerHeight);
        inner = inner[inner.IndexOf("<svg", StringComparison.Ordinal)..]
            .Replace("<svg ", $"<svg x=\"{frame.Left}\" y=\"{frame.Top}\" ", StringComparison.Ordinal);

        var svg = new StringBuilder();
        svg.Append(CultureInfo.InvariantCulture,
            $"<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 {spec.Width} {spec.Height}\" width=\"{spec.Width}\" height=\"{spec.Height}\"><style>{Style}</style>");
        svg.Append(inner);
        svg.Append(CultureInfo.InvariantCulture,
            $"<rect class=\"frame\" x=\"{frame.Left}\" y=\"{frame.Top}\" width=\"{frame.InnerWidth}\" height=\"{frame.InnerHeight}\"/>");
        Text(svg, frame.Left - 6, 12, spec.Unit, "end");
        foreach (var value in frame.Values)
        {
            double y = frame.Y(value.At);
            svg.Append(CultureInfo.InvariantCulture, $"<path class=\"tick\" d=\"M{frame.Left - 4} {y:0.#}h4\"/>");
            // Beside the unit there is no room for a figure.
            if (y + 4 >= 26 || frame.Top > 20) Text(svg, frame.Left - 6, y + 4, value.Words!, "end");
        }

        foreach (var tick in frame.Times.Where(t => t.Words is not null))
            Text(svg, frame.X(spec.From.AddHours(tick.At)) + 3, spec.Height - 6, tick.Words!, "start");
        if (spec.EndsNow) Text(svg, spec.Width - ChartFrame.Right, spec.Height - 6, Strings.ChartNow, "end");
        Levels(svg, frame);
        Marks(svg, frame);
        return svg.Append("</svg>").ToString();
    }

    // Attribute selectors, because the drawing library writes colours as attributes, in capitals.
    private static readonly string Style =
        "text{font:12px system-ui,sans-serif;fill:#222}.frame{fill:none;stroke:#767676}.tick{stroke:#767676}.alarm{fill:#8c1105}.entry{fill:#10306e}.word{paint-order:stroke;stroke:#fff;stroke-width:3px}"
        + Rule(ChartColours.Named.Shade, "#e6e0d2") + Rule(ChartColours.Named.Band, "#bfe3c8") + Rule(
            ChartColours.Named.Interval, "#7f9bd8", 0.5) + Rule(ChartColours.Named.Line, "#10306e") + Rule(
                ChartColours.Named.Second, "#8a4b00")
        + Rule(ChartColours.Named.Grid, "#7a7a7a") + Rule(ChartColours.Named.Level, "#444") + Rule(ChartColours.Named.Point, "#7a0060")
        + "@media (prefers-color-scheme:dark){text{fill:#eee}.alarm{fill:#ffb4a5}.entry{fill:#ffd76a}.word{stroke:#1d1a15}"
        + Rule(ChartColours.Named.Shade, "#3a342a") + Rule(ChartColours.Named.Band, "#234d33") + Rule(
            ChartColours.Named.Interval, "#b99a45", 0.45) + Rule(ChartColours.Named.Line, "#ffd76a") + Rule(
                ChartColours.Named.Second, "#9fd0ff")
        + Rule(ChartColours.Named.Level, "#bbb") + Rule(ChartColours.Named.Point, "#ff9ee5") + "}";

    private static string Rule(string name, string colour, double opacity = 1) =>
        string.Create(CultureInfo.InvariantCulture,
            $"[fill=\"{name}\"]{{fill:{colour};fill-opacity:{opacity}}}[stroke=\"{name}\"]{{stroke:{colour}}}");

    private static void Levels(StringBuilder svg, ChartFrame frame)
    {
        double last = double.PositiveInfinity;
        foreach (var level in frame.Spec.Levels.OrderBy(l => l.Value))
        {
            double y = frame.Y(level.Value);
            if (last - y < 14 || y < frame.Top + 12) continue;
            last = y;
            Text(svg, frame.Left + 5, y - 3, level.Words, "start", "word");
        }
    }

    private static void Marks(StringBuilder svg, ChartFrame frame)
    {
        foreach (var kind in frame.Lanes)
        {
            double y = frame.Lane(kind);
            if (kind == MarkKind.Alarm)
            {
                foreach (var mark in frame.Spec.Marks.Where(m => m.Kind == kind && m.Until > frame.Spec.From && m.At < frame.Spec.To))
                {
                    double from = frame.X(mark.At);
                    svg.Append(CultureInfo.InvariantCulture,
                        $"<rect class=\"alarm\" x=\"{from:0.#}\" y=\"{y + 3:0.#}\" width=\"{Math.Max(1, frame.X(mark.Until!.Value) - from):0.#}\" height=\"2.5\"/>");
                }
            }

            foreach (var mark in frame.Apart(kind))
            {
                double x = frame.X(mark.At);
                svg.Append(kind == MarkKind.Alarm
                    ? string.Create(CultureInfo.InvariantCulture, $"<path class=\"alarm\" d=\"M{x - 5:0.#} {y + 5.5:0.#}l5-11 5 11z\"/>")
                    : string.Create(CultureInfo.InvariantCulture, $"<path class=\"entry\" d=\"M{x - 5:0.#} {y:0.#}l5-5 5 5-5 5z\"/>"));
            }
        }
    }

    private static void Text(StringBuilder svg, double x, double y, string words, string anchor, string? kind = null)
    {
        svg.Append(CultureInfo.InvariantCulture, $"<text x=\"{x:0.#}\" y=\"{y:0.#}\" text-anchor=\"{anchor}\"");
        if (kind is not null) svg.Append(" class=\"").Append(kind).Append('"');
        svg.Append('>').Append(SecurityElement.Escape(words)).Append("</text>");
    }
}
