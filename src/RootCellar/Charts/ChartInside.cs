using ScottPlot;

namespace RootCellar.Charts;

/// <summary>The colours of what is in the frame.</summary>
internal sealed record ChartColours(string Shade, string Night, string Band, string Edge, string Alarm, string Interval, string Line,
    string Second, string Out, string Outside, string Grid, string Level, string Point, string Wedge)
{
    /// <summary>Names more than colours: the stylesheet inside the SVG puts those of day or night in their place.</summary>
    public static readonly ChartColours Named = new("#C0A000", "#A0A0B0", "#00A050", "#008040", "#E08060", "#6080E0", "#1040C0", "#C04010",
        "#D02000", "#4080A0", "#909090", "#505050", "#A000A0", "#604020");

    /// <summary>Told apart without any colour, for paper and a printer's black.</summary>
    public static readonly ChartColours Grey = new("#EDEDED", "#F2F2F2", "#E2E2E2", "#9A9A9A", "#CFCFCF", "#B4B4B4", "#000000", "#404040",
        "#000000", "#707070", "#9A9A9A", "#303030", "#000000", "#303030");
}

/// <summary>What is in the frame, drawn once for pages and mail: limits, intervals, lines, points. Hours run from the left edge.</summary>
internal static class ChartInside
{
    public static void Add(Plot plot, ChartFrame frame, ChartColours colours)
    {
        var spec = frame.Spec;
        if (spec.Shade is { } shade) Across(plot, frame, shade.From, shade.To, colours.Shade);
        foreach (var night in spec.Nights) Across(plot, frame, night.From, night.To, colours.Night);
        foreach (var band in frame.Bands) Band(plot, frame, band, colours);
        foreach (var alarm in spec.Marks.Where(m => m is { Kind: MarkKind.Alarm, Until: not null }))
            Across(plot, frame, alarm.At, alarm.Until!.Value, colours.Alarm);
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

        foreach (var outside in spec.Series.Where(s => s.Kind == SeriesKind.Outside).SelectMany(Unbroken))
            Line(plot, frame, outside, Color.FromHex(colours.Outside), 1);
        var lines = spec.Series.Where(s => s.Kind == SeriesKind.Line).ToList();
        foreach (var part in spec.Series.Where(s => s.Kind is SeriesKind.Line or SeriesKind.Range).SelectMany(Unbroken))
            Range(plot, frame, part, Color.FromHex(colours.Interval));
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

                var line = Line(plot, frame, part, colour, 2);
                if (i > 0) line.LinePattern = LinePattern.Dashed;
                if (i > 0 || !spec.NamesEnds) continue;
                foreach (var beyond in ChartEnds.PartsOut(spec, part)) Line(plot, frame, beyond, Color.FromHex(colours.Out), 3.5f);
            }
        }

        foreach (var point in spec.Series.Where(s => s.Kind == SeriesKind.Points).SelectMany(s => s.Points))
            plot.Add.Marker(frame.Hours(point.At), point.Value, MarkerShape.FilledDiamond, 9, Color.FromHex(colours.Point));
        if (spec.NamesEnds)
        {
            foreach (var (at, value) in new[] { ChartEnds.Lowest(spec), ChartEnds.Highest(spec), ChartEnds.Last(spec) }
                .OfType<(DateTimeOffset At, double Value)>())
                plot.Add.Marker(frame.Hours(at), value, MarkerShape.FilledCircle, 6,
                    Color.FromHex(ChartEnds.IsOut(spec, at, value) ? colours.Out : colours.Line));
        }

        for (int i = 0; i < spec.Rows.Count; i++) Row(plot, frame, spec.Rows[i], spec.Rows.Count - 1 - i, colours);
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

    /// <summary>A time from top to bottom.</summary>
    private static void Across(Plot plot, ChartFrame frame, DateTimeOffset from, DateTimeOffset to, string colour)
    {
        var (left, right) = (Math.Max(0, frame.Hours(from)), Math.Min(frame.Hours(frame.Spec.To), frame.Hours(to)));
        if (right <= left) return;
        var meant = plot.Add.Rectangle(left, right, frame.Low, frame.High);
        meant.FillStyle.Color = Color.FromHex(colour);
        meant.LineStyle.Width = 0;
    }

    private static void Band(Plot plot, ChartFrame frame, ChartBand band, ChartColours colours)
    {
        var (from, to) = (frame.Hours(band.From), frame.Hours(band.To));
        var held = plot.Add.Rectangle(from, to, band.Low, band.High);
        held.FillStyle.Color = Color.FromHex(colours.Band);
        held.LineStyle.Width = 0;
        // An edge where the frame ends is no limit.
        foreach (var limit in ((double[])[band.Low, band.High]).Where(l => l > frame.Low && l < frame.High))
            plot.Add.Line(from, limit, to, limit).LineStyle = new LineStyle(1, Color.FromHex(colours.Edge), LinePattern.Dotted);
    }

    private static ScottPlot.Plottables.Scatter Line(Plot plot, ChartFrame frame, List<ChartPoint> part, Color colour, float width)
    {
        var line = plot.Add.ScatterLine(part.Select(p => frame.Hours(p.At)).ToArray(), part.Select(p => p.Value).ToArray(), colour);
        line.LineWidth = width;
        return line;
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

    // A wedge that thickens while it heals, a bar while it keeps, a point where it has ended nine times in ten.
    private static void Row(Plot plot, ChartFrame frame, ChartRow row, double y, ChartColours colours)
    {
        const double Half = 0.22;
        var ends = frame.Hours(frame.Spec.To);
        double X(DateTimeOffset at) => Math.Clamp(frame.Hours(at), 0, ends);
        var (from, keeps) = (X(row.From), X(row.Healed ?? row.From));
        var skin = Color.FromHex(SkinShapes.Colour(row.Crop, row.Variety));
        var outline = Color.FromHex(colours.Wedge);
        if (keeps > from)
            Shape(outline, new(from, y - 0.03), new(keeps, y - Half), new(keeps, y + Half), new(from, y + 0.03));
        var early = row.Early ?? row.Likely;
        var until = Math.Max(keeps, early is { } e ? X(e) : ends);
        Shape(skin, new(keeps, y - Half), new(until, y - Half), new(until, y + Half), new(keeps, y + Half));
        if (early is null) return;
        if (row.Late is not { } late || X(late) >= ends)
            Shape(skin.WithAlpha(0.5), new(until, y - Half), new(ends, y - (Half / 2)), new(ends, y + (Half / 2)), new(until, y + Half));
        else if (X(late) > until)
            Shape(skin.WithAlpha(0.5), new(until, y - Half), new(X(late), y), new(until, y + Half));
        if (row.Likely is { } likely && frame.Hours(likely) <= ends)
            plot.Add.Marker(X(likely), y, MarkerShape.FilledCircle, 6, Color.FromHex(colours.Line));

        void Shape(Color fill, params Coordinates[] corners)
        {
            var shape = plot.Add.Polygon(corners);
            shape.FillColor = fill;
            shape.LineColor = outline;
            shape.LineWidth = 1;
            shape.MarkerSize = 0;
        }
    }
}
