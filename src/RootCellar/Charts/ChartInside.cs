using ScottPlot;

namespace RootCellar.Charts;

/// <summary>The colours of what is in the frame.</summary>
internal sealed record ChartColours(string Shade, string Band, string Interval, string Line, string Second, string Grid, string Level,
    string Point)
{
    /// <summary>Names more than colours: the stylesheet inside the SVG puts those of day or night in their place.</summary>
    public static readonly ChartColours Named = new("#C0A000", "#00A050", "#6080E0", "#1040C0", "#C04010", "#909090", "#505050", "#A000A0");

    /// <summary>Told apart without any colour, for paper and a printer's black.</summary>
    public static readonly ChartColours Grey = new("#E2E2E2", "#E2E2E2", "#B4B4B4", "#000000", "#404040", "#9A9A9A", "#303030", "#000000");
}

/// <summary>What is in the frame, drawn once for pages and mail: limits, intervals, lines, points. Hours run from the left edge.</summary>
internal static class ChartInside
{
    public static void Add(Plot plot, ChartFrame frame, ChartColours colours)
    {
        var spec = frame.Spec;
        if (spec.Shade is { } shade)
        {
            var meant = plot.Add.Rectangle(Math.Max(0, frame.Hours(shade.From)), Math.Min(frame.Hours(spec.To), frame.Hours(shade.To)),
                frame.Low, frame.High);
            meant.FillStyle.Color = Color.FromHex(colours.Shade);
            meant.LineStyle.Width = 0;
        }

        foreach (var band in frame.Bands)
        {
            var held = plot.Add.Rectangle(frame.Hours(band.From), frame.Hours(band.To), band.Low, band.High);
            held.FillStyle.Color = Color.FromHex(colours.Band);
            held.LineStyle.Width = 0;
        }

        foreach (var tick in frame.Times)
        {
            var line = plot.Add.VerticalLine(tick.At, 1, Color.FromHex(colours.Grid));
            line.LinePattern = LinePattern.Dotted;
        }

        foreach (var level in spec.Levels)
        {
            var line = plot.Add.HorizontalLine(level.Value, 1, Color.FromHex(colours.Level));
            line.LinePattern = LinePattern.Dashed;
        }

        var lines = spec.Series.Where(s => s.Kind == SeriesKind.Line).ToList();
        foreach (var part in spec.Series.Where(s => s.Kind != SeriesKind.Points).SelectMany(Unbroken)) Range(plot, frame, part, Color.FromHex(colours.Interval));
        for (int i = 0; i < lines.Count; i++)
        {
            var colour = Color.FromHex(i == 0 ? colours.Line : colours.Second);
            foreach (var part in Unbroken(lines[i]))
            {
                if (part.Count == 1)
                {
                    // One reading alone is no line, and yet it was there.
                    plot.Add.Marker(frame.Hours(part[0].At), part[0].Value, MarkerShape.FilledCircle, 3, colour);
                    continue;
                }

                var line = plot.Add.ScatterLine(part.Select(p => frame.Hours(p.At)).ToArray(), part.Select(p => p.Value).ToArray(), colour);
                line.LineWidth = 2;
                if (i > 0) line.LinePattern = LinePattern.Dashed;
            }
        }

        foreach (var point in spec.Series.Where(s => s.Kind == SeriesKind.Points).SelectMany(s => s.Points))
            plot.Add.Marker(frame.Hours(point.At), point.Value, MarkerShape.FilledDiamond, 9, Color.FromHex(colours.Point));
        plot.Axes.SetLimits(0, (spec.To - spec.From).TotalHours, frame.Low, frame.High);
    }

    /// <summary>The parts between gaps: a line across an hour without readings would claim what nobody measured.</summary>
    public static IEnumerable<List<ChartPoint>> Unbroken(ChartSeries series)
    {
        List<ChartPoint> part = [];
        foreach (var point in series.Points)
        {
            if (part.Count > 0 && point.At - part[^1].At > series.Gap)
            {
                yield return part;
                part = [];
            }

            part.Add(point);
        }

        if (part.Count > 0) yield return part;
    }

    private static void Range(Plot plot, ChartFrame frame, List<ChartPoint> part, Color colour)
    {
        var ranged = part.Where(p => p is { Low: not null, High: not null }).ToList();
        if (ranged.Count < 2 || ranged.TrueForAll(p => p.High - p.Low < 1e-9)) return;
        var fill = plot.Add.FillY(ranged.Select(p => frame.Hours(p.At)).ToArray(), ranged.Select(p => p.Low!.Value).ToArray(),
            ranged.Select(p => p.High!.Value).ToArray());
        fill.FillColor = colour;
        fill.LineWidth = 0;
        fill.MarkerSize = 0;
    }
}
