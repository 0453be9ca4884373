using System.Globalization;
using System.Security;
using System.Text;
using RootCellar.Household;
using RootCellar.Pages;
using ScottPlot;

namespace RootCellar.Charts;

/// <summary>
/// Charts as SVG, several of one time under each other. ScottPlot draws what is in the frame; the words round it are written here as SVG
/// text, so that they are the reader's own font and a machine without any font draws the same picture. Colours are replaced by the
/// stylesheet inside, which knows light and dark.
/// </summary>
internal static class ChartSvg
{
    public static string Draw(params IReadOnlyList<ChartSpec> charts)
    {
        var together = Together(charts);
        int width = together[0].Width, height = together.Sum(c => c.Height);
        var svg = new StringBuilder();
        svg.Append(CultureInfo.InvariantCulture,
            $"<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 {width} {height}\" width=\"{width}\" height=\"{height}\"><style>{Style}</style>");
        int down = 0;
        foreach (var spec in together)
        {
            if (down > 0) svg.Append(CultureInfo.InvariantCulture, $"<g transform=\"translate(0 {down})\">");
            One(svg, ChartFrame.Of(spec));
            if (down > 0) svg.Append("</g>");
            down += spec.Height;
        }

        return svg.Append("</svg>").ToString();
    }

    /// <summary>Charts of one time on one axis: the same margin, the marks above the first and the words of the time below the last.</summary>
    public static IReadOnlyList<ChartSpec> Together(IReadOnlyList<ChartSpec> charts)
    {
        int left = charts.Max(c => ChartFrame.Of(c).Left);
        return
        [
            .. charts.Select((c, i) => c with { LeastLeft = left, SharesMarks = i > 0, SharesTime = i < charts.Count - 1 }),
        ];
    }

    private static void One(StringBuilder svg, ChartFrame frame)
    {
        var spec = frame.Spec;
        using var plot = new Plot();
        plot.HideGrid();
        plot.Layout.Frameless();
        plot.FigureBackground.Color = Colors.Transparent;
        plot.DataBackground.Color = Colors.Transparent;
        ChartInside.Add(plot, frame, ChartColours.Named);
        var inner = plot.GetSvgXml(frame.InnerWidth, frame.InnerHeight);
        svg.Append(inner[inner.IndexOf("<svg", StringComparison.Ordinal)..]
            .Replace("<svg ", $"<svg x=\"{frame.Left}\" y=\"{frame.Top}\" ", StringComparison.Ordinal));
        Text(svg, frame.Left - 6, 12, spec.Unit, "end");
        foreach (var value in frame.Values)
        {
            double y = frame.Y(value.At);
            if (spec.Rows.Count > 0)
                Text(svg, ChartFrame.SkinWidth - 8, y + 4, value.Words!, "start", "named");
            // Beside the unit there is no room for a figure.
            else if (y + 4 >= 26 || frame.Top > 20)
                Text(svg, frame.Left - 6, y + 4, value.Words!, "end");
        }

        for (int i = 0; i < spec.Rows.Count; i++)
        {
            var (row, y) = (spec.Rows[i], frame.Y(spec.Rows.Count - 1 - i));
            svg.Append(CultureInfo.InvariantCulture,
                $"<path class=\"skin\" fill=\"{SkinShapes.Colour(row.Crop, row.Variety)}\" transform=\"translate(1 {y - 9:0.#})\" d=\"{SkinShapes.Of(row.Crop, row.Variety).Path}\"/>");
        }

        if (!spec.SharesTime)
        {
            foreach (var tick in frame.Times.Where(t => t.Words is not null))
                Text(svg, frame.X(spec.From.AddHours(tick.At)) + 3, spec.Height - 6, tick.Words!, "start");
            if (spec is { EndsNow: true, NamesEnds: false })
                Text(svg, spec.Width - frame.Right, spec.Height - 6, Strings.ChartNow, "end");
        }

        Levels(svg, frame);
        Marks(svg, frame);
        if (spec.NamesEnds) Ends(svg, frame);
        if (spec.Present is { } present) Lantern(svg, frame, frame.X(present));
    }

    // Attribute selectors, because the drawing library writes colours as attributes, in capitals. Light and dark are those of the pages.
    private static readonly string Style =
        "text{font:12px Vollkorn,Georgia,\"Noto Serif\",serif;fill:#594b3d}.named,.word{font-weight:700;fill:#241b14}.alarm,.beyond{fill:#a92c0d}.entry{fill:#771f49}.word,.beyond{paint-order:stroke;stroke:#fbf9f2;stroke-width:3px}"
        + ".beyond{font-weight:700}.skin{stroke:#241b14;stroke-linejoin:round}.today{stroke:#805000;stroke-width:1.75}.lamp{fill:#f5c65c;stroke:#805000;stroke-width:1.5}"
        + Rules("#efe8d6", "#ece9e0", "#d9e6cd", "#2d6633", "#f8d9c9", "#b28f63", "#241b14", "#771f49", "#a92c0d", "#58707f", "#cfc5b2",
            "#594b3d", "#771f49", "#594b3d")
        + "@media (prefers-color-scheme:dark){text{fill:#cbbba3}.named,.word{fill:#f5ead9}.alarm,.beyond{fill:#ff9472}.entry{fill:#ee9fbf}.word,.beyond{stroke:#221a13}.skin{stroke:#f5ead9}.today,.lamp{stroke:#f3c04f}"
        + Rules("#2e2416", "#191109", "#22351c", "#9dcd86", "#4c1d0f", "#8a6a45", "#f5ead9", "#ee9fbf", "#ff9472", "#8fabbd", "#4a3d30",
            "#cbbba3", "#ee9fbf", "#cbbba3") + "}";

    private static string Rules(string shade, string night, string band, string edge, string alarm, string interval, string line,
        string second, string beyond, string outside, string grid, string level, string point, string wedge)
    {
        var named = ChartColours.Named;
        return Rule(named.Shade, shade) + Rule(named.Night, night) + Rule(named.Band, band) + Rule(named.Edge, edge)
            + Rule(named.Alarm, alarm) + Rule(named.Interval, interval, 0.5) + Rule(named.Line, line) + Rule(named.Second, second)
            + Rule(named.Out, beyond) + Rule(named.Outside, outside) + Rule(named.Grid, grid) + Rule(named.Level, level)
            + Rule(named.Point, point) + Rule(named.Wedge, wedge);
    }

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

    /// <summary>The lowest under its point, the highest over it, the last beside it.</summary>
    private static void Ends(StringBuilder svg, ChartFrame frame)
    {
        var spec = frame.Spec;
        if (ChartEnds.Last(spec) is not { } last) return;
        if (ChartEnds.Highest(spec) is { } high)
            Named(high, Math.Max(frame.Top + 11, frame.Y(high.Value) - 7), Strings.ChartHighest.With(spec.Say(high.Value)));
        if (ChartEnds.Lowest(spec) is { } low)
            Named(low, Math.Min(frame.Top + frame.InnerHeight - 3, frame.Y(low.Value) + 16), Strings.ChartLowest.With(spec.Say(low.Value)));
        // What ended long ago is not now.
        double y = Math.Clamp(frame.Y(last.Value) + 4, frame.Top + 11, frame.Top + frame.InnerHeight - 14), x = frame.X(last.At) + 6;
        if (x < spec.Width - frame.Right) return;
        Text(svg, x, y, spec.Say(last.Value), "start", ChartEnds.IsOut(spec, last.At, last.Value) ? "beyond" : "word");
        if (spec.EndsNow) Text(svg, x, y + 13, Strings.ChartNow, "start");

        void Named((DateTimeOffset At, double Value) end, double at, string words)
        {
            double across = frame.X(end.At), half = words.Length * 3.4;
            string anchor = across - half < frame.Left ? "start" : across + half > frame.Left + frame.InnerWidth ? "end" : "middle";
            Text(svg, across, at, words, anchor, ChartEnds.IsOut(spec, end.At, end.Value) ? "beyond" : "word");
        }
    }

    // Over lives it hangs; over a line are the marks, and it stands.
    private static void Lantern(StringBuilder svg, ChartFrame frame, double x)
    {
        int lamp = frame.Spec.Rows.Count > 0 ? frame.Top - 7 : frame.Top + frame.InnerHeight - 8;
        svg.Append(CultureInfo.InvariantCulture,
            $"<path class=\"today\" d=\"M{x:0.#} {frame.Top - 4}v{frame.InnerHeight + 4}\"/><circle class=\"lamp\" cx=\"{x:0.#}\" cy=\"{lamp}\" r=\"4.5\"/>");
        Text(svg, x + 8, lamp + 4, Strings.ChartNow, "start", "named");
    }

    private static void Text(StringBuilder svg, double x, double y, string words, string anchor, string? kind = null)
    {
        svg.Append(CultureInfo.InvariantCulture, $"<text x=\"{x:0.#}\" y=\"{y:0.#}\" text-anchor=\"{anchor}\"");
        if (kind is not null) svg.Append(" class=\"").Append(kind).Append('"');
        svg.Append('>').Append(SecurityElement.Escape(words)).Append("</text>");
    }
}
