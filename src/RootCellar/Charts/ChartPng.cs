using RootCellar.Household;
using RootCellar.Pages;
using ScottPlot;
using ScottPlot.TickGenerators;
using SkiaSharp;

namespace RootCellar.Charts;

/// <summary>
/// A chart as a picture for mail, its axes' words drawn in, its title left to who shows it. Greys only: no colour is needed to read it, and
/// it is small. The limits and a shaded time are a light grey, an interval darker, the
/// line black, a second one dashed, weigh-ins diamonds, alarms triangles and entries of the book diamonds above.
/// </summary>
internal static class ChartPng
{
    /// <summary>Room above the first row for the word of the present, in rows.</summary>
    private const double HeadOfRows = 0.7;

    /// <param name="spec">The chart; its width and height are those of the picture in pixels of CSS.</param>
    /// <param name="scale">Pixels of the picture to one of CSS.</param>
    public static byte[] Draw(ChartSpec spec, int scale = 2)
    {
        var frame = ChartFrame.Of(spec);
        using var plot = new Plot();
        plot.HideGrid();
        plot.Font.Set(ChartFont.Name);
        ChartInside.Add(plot, frame, ChartColours.Grey);
        plot.YLabel(spec.Unit, 13);
        plot.Axes.Left.TickGenerator = new NumericManual([.. frame.Values.Select(v => v.At)], [.. frame.Values.Select(v => v.Words ?? "")]);
        plot.Axes.Bottom.TickGenerator = new NumericManual([.. frame.Times.Select(t => t.At)], [.. frame.Times.Select(t => t.Words ?? "")]);
        foreach (var level in spec.Levels) Words(plot, level.Words, 0, level.Value, Alignment.LowerLeft, 4, 0);
        if (spec.NamesEnds && ChartEnds.Highest(spec) is { } high && ChartEnds.Lowest(spec) is { } low)
        {
            Words(plot, Strings.ChartHighest.With(spec.Say(high.Value)), frame.Hours(high.At), high.Value, Side(frame, high.At, up: true), 0, -5);
            Words(plot, Strings.ChartLowest.With(spec.Say(low.Value)), frame.Hours(low.At), low.Value, Side(frame, low.At, up: false), 0, 5);
        }

        if (spec.Present is { } present)
        {
            plot.Add.VerticalLine(frame.Hours(present), 1.5f, Colors.Black);
            Words(plot, Strings.ChartNow, frame.Hours(present), frame.High + HeadOfRows, Alignment.UpperLeft, 4, 0);
        }

        // Above what is drawn, where nothing else is: the axis is stretched for it.
        double line = (frame.High - frame.Low) * 0.09;
        for (int lane = 0; lane < frame.Lanes.Count; lane++)
        {
            var kind = frame.Lanes[lane];
            double y = frame.High + (line * (frame.Lanes.Count - lane - 0.5));
            foreach (var mark in frame.Apart(kind))
                plot.Add.Marker(frame.Hours(mark.At < spec.From ? spec.From : mark.At), y,
                    kind == MarkKind.Alarm ? MarkerShape.FilledTriangleUp : MarkerShape.FilledDiamond, 9, Colors.Black);
            if (kind != MarkKind.Alarm) continue;
            foreach (var mark in spec.Marks.Where(m => m.Kind == kind && m.Until > spec.From && m.At < spec.To))
                plot.Add.Line(Math.Max(0, frame.Hours(mark.At)), y, Math.Min(frame.Hours(spec.To), frame.Hours(mark.Until!.Value)),
                    y).Color = Colors.Black;
        }

        plot.Axes.SetLimitsY(frame.Low, frame.High + (line * frame.Lanes.Count) + (spec.Present is null ? 0 : HeadOfRows));
        plot.ScaleFactor = scale;
        return Grey(plot.GetImageBytes(spec.Width * scale, spec.Height * scale, ImageFormat.Bmp));
    }

    private static void Words(Plot plot, string said, double x, double y, Alignment alignment, float right, float down)
    {
        var words = plot.Add.Text(said, x, y);
        words.LabelFontSize = 12;
        words.LabelFontName = ChartFont.Name;
        words.LabelAlignment = alignment;
        words.OffsetX = right;
        words.OffsetY = down;
    }

    private static Alignment Side(ChartFrame frame, DateTimeOffset at, bool up)
    {
        double x = frame.X(at) - frame.Left;
        return (x < 60, x > frame.InnerWidth - 60, up) switch
        {
            (true, _, true) => Alignment.LowerLeft,
            (true, _, false) => Alignment.UpperLeft,
            (_, true, true) => Alignment.LowerRight,
            (_, true, false) => Alignment.UpperRight,
            (_, _, true) => Alignment.LowerCenter,
            _ => Alignment.UpperCenter,
        };
    }

    /// <summary>One byte a pixel for four: half the mail.</summary>
    private static byte[] Grey(byte[] picture)
    {
        using var drawn = SKBitmap.Decode(picture);
        using var grey = drawn.Copy(SKColorType.Gray8);
        using var packed = grey.Encode(SKEncodedImageFormat.Png, 100);
        return packed.ToArray();
    }
}
