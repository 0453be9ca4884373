using System.Text.RegularExpressions;
using System.Xml.Linq;
using RootCellar.Charts;

namespace RootCellar.Tests.Charts;

public class ChartTests
{
    private static readonly DateTimeOffset From = new(2025, 10, 4, 4, 0, 0, TimeSpan.Zero);
    private static readonly TimeZoneInfo Zone = TimeZoneInfo.FindSystemTimeZoneById("America/New_York");

    private static ChartSpec Spec(IReadOnlyList<ChartPoint> points, double days = 1, TimeSpan? gap = null) => new(
        "Temperature", "°F", From, From.AddDays(days), Zone, [new ChartSeries("Temperature", points, gap ?? TimeSpan.FromMinutes(25))],
        v => v.ToString("0.0", System.Globalization.CultureInfo.InvariantCulture) + " °F");

    private static List<ChartPoint> Every5(double value, int from = 0, int to = 288) =>
        [.. Enumerable.Range(from, to - from).Select(i => new ChartPoint(From.AddMinutes(5 * i), value))];

    private static List<XElement> Named(string svg, string attribute, string colour) =>
        [.. XDocument.Parse(svg).Descendants().Where(e => e.Attribute(attribute)?.Value == colour)];

    [Fact]
    public void A_gap_stays_a_gap()
    {
        var whole = Named(ChartSvg.Draw(Spec(Every5(50))), "stroke", ChartColours.Named.Line).Count;
        var broken = Named(ChartSvg.Draw(Spec([.. Every5(50, 0, 100), .. Every5(50, 140, 288)])), "stroke", ChartColours.Named.Line).Count;
        (whole, broken).Should().Be((1, 2));
    }

    [Fact]
    public void The_band_is_shaded_where_it_was_in_force_and_as_high_as_its_limits()
    {
        var spec = Spec(Every5(50)) with
        {
            Bands = [new ChartBand(From, From.AddHours(6), 45, 55),
            new ChartBand(From.AddHours(6), From.AddDays(1), 40, 60)]
        };
        var frame = ChartFrame.Of(spec);
        var shaded = Named(ChartSvg.Draw(spec), "fill", ChartColours.Named.Band);
        shaded.Should().HaveCount(2);
        (Size(shaded[0], "width"), Size(shaded[0], "height")).Should()
            .Be((Math.Round(frame.InnerWidth / 4.0), Math.Round(frame.Y(45) - frame.Y(55))));
        (Size(shaded[1], "width"), Size(shaded[1], "height")).Should()
            .Be((Math.Round(frame.InnerWidth * 0.75), Math.Round(frame.Y(40) - frame.Y(60))));

        static double Size(XElement rectangle, string name) =>
            Math.Round(double.Parse(rectangle.Attribute(name)!.Value, System.Globalization.CultureInfo.InvariantCulture));
    }

    [Fact]
    public void What_is_out_of_the_band_is_drawn_thick_from_where_the_line_crosses_its_edge()
    {
        // 50 for 6 hours, then 60 for 6, then 50: the edge at 55 is crossed half way between two points.
        List<ChartPoint> points = [.. Every5(50, 0, 72), .. Every5(60, 72, 144), .. Every5(50, 144)];
        var spec = Spec(points) with { NamesEnds = true, Bands = [new ChartBand(From, From.AddDays(1), 45, 55)] };
        var part = ChartEnds.PartsOut(spec, points).Should().ContainSingle().Subject;
        (part[0].At, part[0].Value, part[^1].At, part[^1].Value).Should().Be(
            (From.AddMinutes((5 * 71) + 2.5), 55.0, From.AddMinutes((5 * 143) + 2.5), 55.0));
        part.Skip(1).SkipLast(1).Should().OnlyContain(p => p.Value > 55);
        Named(ChartSvg.Draw(spec), "stroke", ChartColours.Named.Out).Should().HaveCount(1);
        Named(ChartSvg.Draw(spec with { Bands = [new ChartBand(From, From.AddDays(1), 45, 65)] }), "stroke", ChartColours.Named.Out).Should().BeEmpty();
    }

    [Fact]
    public void Lowest_highest_and_last_are_written_at_the_line()
    {
        List<ChartPoint> points = [.. Every5(50)];
        points[40] = points[40] with { Value = 41 };
        points[200] = points[200] with { Value = 67 };
        var spec = Spec(points) with { NamesEnds = true, EndsNow = true };
        var said = XDocument.Parse(ChartSvg.Draw(spec)).Descendants().Where(e => e.Name.LocalName == "text").Select(e => e.Value).ToList();
        said.Should().Contain(["41.0 °F lowest", "67.0 °F highest", "50.0 °F", "now"]);
    }

    [Fact]
    public void Two_charts_of_one_time_share_their_axis_their_margin_and_their_alarms()
    {
        var alarm = new ChartMark(From.AddHours(6), MarkKind.Alarm, "too warm", From.AddHours(12));
        var warm = Spec(Every5(50)) with { Marks = [alarm], NamesEnds = true };
        var damp = Spec(Every5(12345)) with { Title = "Humidity", Unit = "%", Marks = [alarm], NamesEnds = true };
        var together = ChartSvg.Together([warm, damp]);
        var (above, below) = (ChartFrame.Of(together[0]), ChartFrame.Of(together[1]));
        (above.Left, above.InnerWidth).Should().Be((below.Left, below.InnerWidth));
        above.Left.Should().BeGreaterThan(ChartFrame.Of(warm).Left, "the wider figures of the other need the room");
        var svg = XDocument.Parse(ChartSvg.Draw([warm, damp]));
        Named(svg.ToString(), "fill", ChartColours.Named.Alarm).Should().HaveCount(2, "the alarm goes across both");
        svg.Descendants().Count(e => e.Attribute("class")?.Value == "alarm" && e.Name.LocalName == "path").Should().Be(1, "its mark stands above the first");
        svg.Root!.Attribute("height")!.Value.Should().Be((2 * warm.Height).ToString(System.Globalization.CultureInfo.InvariantCulture));
    }

    [Fact]
    public void Lives_are_rows_by_name_with_a_wedge_a_bar_and_an_end()
    {
        ChartRow[] rows =
        [
            new("Kennebec", "potato", "Kennebec", From, From.AddDays(14), From.AddDays(100), From.AddDays(120), From.AddDays(140)),
            new("Carrots", "carrot", null, From, null, null, null, null),
        ];
        var spec = (Spec([], 200) with { Rows = rows, Present = From.AddDays(20) }).Sized(ChartSpec.Narrow);
        var drawn = XDocument.Parse(ChartSvg.Draw(spec));
        drawn.Descendants().Where(e => e.Name.LocalName == "text").Select(e => e.Value).Should().Contain(["Kennebec", "Carrots", "now"]);
        Named(drawn.ToString(), "fill", ChartColours.Named.Wedge).Should().HaveCount(1, "what is not cured has no wedge");
        var png = ChartPng.Draw(spec);
        (png[16] << 24 | png[17] << 16 | png[18] << 8 | png[19]).Should().Be(2 * ChartSpec.Narrow);
    }

    [Theory]
    [InlineData(1)]
    [InlineData(2)]
    [InlineData(7)]
    [InlineData(10)]
    [InlineData(30)]
    [InlineData(75)]
    [InlineData(150)]
    [InlineData(240)]
    [InlineData(400)]
    [InlineData(800)]
    public void Words_under_the_axis_never_touch_however_long_the_time(double days)
    {
        foreach (int width in (int[])[ChartSpec.Narrow, ChartSpec.Wide])
        {
            var spec = (Spec(Every5(50), days) with { EndsNow = true }).Sized(width);
            var texts = XDocument.Parse(ChartSvg.Draw(spec)).Descendants()
                .Where(e => e.Name.LocalName == "text" && Number(e, "y") > spec.Height - 10).ToList();
            texts.Count.Should().BeGreaterThan(2);
            // An average letter of a 12 px sans-serif is less than 7 px wide.
            var spans = texts.Select(t => t.Attribute("text-anchor")!.Value == "end"
                ? (From: Number(t, "x") - (7 * t.Value.Length), To: Number(t, "x"))
                    : (From: Number(t, "x"), To: Number(t, "x") + (7 * t.Value.Length)))
                .OrderBy(s => s.From).ToList();
            spans.Zip(spans.Skip(1)).Should().AllSatisfy(s => s.Second.From.Should().BeGreaterThanOrEqualTo(s.First.To));
            spans[^1].To.Should().BeLessThanOrEqualTo(spec.Width);
        }

        static double Number(XElement e, string name) =>
            double.Parse(e.Attribute(name)!.Value, System.Globalization.CultureInfo.InvariantCulture);
    }

    [Fact]
    public void Days_begin_at_the_household_s_midnight_also_when_the_clock_is_put_back()
    {
        var from = new DateTimeOffset(2025, 11, 1, 4, 0, 0, TimeSpan.Zero);
        var frame = ChartFrame.Of(Spec([]) with { From = from, To = from.AddDays(4), Width = ChartSpec.Wide });
        frame.Times.Where(t => t.Words is "Sun 2" or "Mon 3").Select(t => t.At).Should().Equal(24, 49);
    }

    [Fact]
    public void Hostile_words_stay_words()
    {
        var spec = Spec(Every5(50)) with { Unit = "<b>", Levels = [new ChartLevel(50, "<script>alert(1)</script>")] };
        var drawn = XDocument.Parse(ChartSvg.Draw(spec));
        drawn.Descendants().Select(e => e.Name.LocalName).Should().NotContain(["script", "b"]);
        drawn.Descendants().Should().Contain(e => e.Value == "<script>alert(1)</script>");
    }

    [Fact]
    public void A_time_that_is_meant_is_shaded_from_top_to_bottom()
    {
        var spec = Spec(Every5(50)) with { Shade = (From.AddHours(18), From.AddDays(2)) };
        var frame = ChartFrame.Of(spec);
        var shaded = Named(ChartSvg.Draw(spec), "fill", ChartColours.Named.Shade).Should().ContainSingle().Subject;
        Number("x").Should().BeApproximately(frame.InnerWidth * 0.75, 1);
        Number("width").Should().BeApproximately(frame.InnerWidth * 0.25, 1);
        Number("height").Should().BeApproximately(frame.InnerHeight, 1);

        double Number(string name) => double.Parse(shaded.Attribute(name)!.Value, System.Globalization.CultureInfo.InvariantCulture);
    }

    [Fact]
    public void The_text_says_what_the_last_may_be()
    {
        List<ChartPoint> points = [.. Every5(50)];
        points[^1] = points[^1] with { Low = 48, High = 51.5 };
        ChartText.Of(Spec(points)).Should().EndWith("The last may be anything from 48.0 °F to 51.5 °F, nine times in ten.");
        ChartText.Of(Spec(points) with { RangesAreMeasured = true }).Should().NotContain("nine times");
    }

    [Fact]
    public void The_text_says_lowest_highest_last_hours_outside_and_what_happened()
    {
        List<ChartPoint> points = [.. Every5(50, 0, 200), .. Every5(62, 200, 236), .. Every5(55, 236, 288)];
        points[10] = points[10] with { Value = 47.5 };
        var spec = Spec(points) with
        {
            Bands = [new ChartBand(From, From.AddDays(1), 45, 60)],
            HoursOut = () => 3,
            Marks = [new ChartMark(From.AddHours(17), MarkKind.Alarm, "too warm"),
                new ChartMark(From.AddHours(2), MarkKind.Event, "B1 moved"), new ChartMark(From.AddHours(3), MarkKind.Event, "B2 moved")],
        };
        ChartText.Of(spec).Should().Be(
            "Temperature: lowest 47.5 °F on Sat 4 Oct 00:50, highest 62.0 °F on Sat 4 Oct 16:40, last 55.0 °F on Sat 4 Oct 23:55. Out of the band for about 3 h. Alarms: 1. Entries of the book: 2.");
        ChartText.Of(spec with { Bands = [new ChartBand(From, From.AddDays(1), 45, 70)], HoursOut = () => 0, Marks = [] }).Should()
            .EndWith("Never out of the band.");
        ChartText.Of(Spec([.. Every5(50, 0, 100), .. Every5(50, 172, 288)])).Should().EndWith("Without readings for about 6 h.");
        ChartText.Of(Spec([])).Should().Be("Temperature: nothing was measured in this time.");
    }

    [Fact]
    public void The_picture_for_mail_needs_no_colour()
    {
        var spec = Spec([.. Every5(50, 0, 200), .. Every5(62, 200, 288)]) with
        {
            Bands = [new ChartBand(From, From.AddDays(1), 45, 60)],
            Levels = [new ChartLevel(58, "limit")],
            Marks = [new ChartMark(From.AddHours(17), MarkKind.Alarm, "too warm", From.AddHours(20)),
                new ChartMark(From.AddHours(2), MarkKind.Event, "B1 moved")],
        };
        var png = ChartPng.Draw(spec.Sized(ChartSpec.Wide));
        png.Take(8).Should().Equal(0x89, 0x50, 0x4E, 0x47, 0x0D, 0x0A, 0x1A, 0x0A);
        // Width and height of the header, big end first: two pixels to one of CSS.
        (png[16] << 24 | png[17] << 16 | png[18] << 8 | png[19]).Should().Be(2 * ChartSpec.Wide);
        (png[20] << 24 | png[21] << 16 | png[22] << 8 | png[23]).Should().Be(460);
        using var image = SkiaSharp.SKBitmap.Decode(png);
        image.Pixels.Should().OnlyContain(p => Math.Abs(p.Red - p.Green) <= 2 && Math.Abs(p.Green - p.Blue) <= 2);
        image.Pixels.Select(p => p.Red / 32).Distinct().Count().Should().BeGreaterThan(3, "band, grid and line are told apart");
    }

    [Fact]
    public void Marks_too_close_to_tell_apart_are_drawn_once_and_told_all()
    {
        var spec = Spec(Every5(50)) with
        {
            Marks = [.. Enumerable.Range(0, 30)
            .Select(i => new ChartMark(From.AddHours(10).AddSeconds(i), MarkKind.Event, $"B{i} moved"))]
        };
        Regex.Count(ChartSvg.Draw(spec), "class=\"entry\"", RegexOptions.None, TimeSpan.FromSeconds(5)).Should().Be(1);
        ChartText.Of(spec).Should().Contain("Entries of the book: 30.");
    }
}
