using System.Globalization;
using System.Text;

namespace RootCellar.Science.Tests.Published;

/// <summary>docs/science/validation.md out of the checks. Rounded, so that another machine's last bit does not change it.</summary>
internal static class ValidationPage
{
    /// <param name="checks">The rows.</param>
    /// <param name="more">Sections after them.</param>
    public static string Of(IReadOnlyList<PublishedCheck> checks, params IReadOnlyList<(string Title, string Text)> more)
    {
        var page = new StringBuilder();
        page.Append(CultureInfo.InvariantCulture, $"""
            # Our figures beside published ones

            Written by the tests (`ValidationTests`) on purpose only; do not edit it by hand. Every row is a figure that somebody
            outside this project published, what this program works out for the same case, and how far the two are apart; "under" is a
            limit. What we worked out of published figures, or made a number of somebody's words, stands in a table of its own.
            *Predicted*: nothing of ours was set by that figure. *Fitted*: it was used to set one of ours, so that it proves only
            that the fit holds together. *Allowed* is the distance that would do. A row that is further away falls short and says so in its
            remark: the distance is reported, not tuned away, and the test fails when it grows.

            | topic | figures | predicted | fitted | worked out by us | fall short |
            |---|--:|--:|--:|--:|--:|

            """);
        var topics = checks.Select(row => row.Topic).Distinct(StringComparer.Ordinal).ToList();
        foreach (string topic in topics)
            Count(page, topic, [.. checks.Where(row => row.Topic == topic)]);
        Count(page, "all", checks);
        foreach (string topic in topics)
        {
            page.Append(CultureInfo.InvariantCulture, $"\n## {topic}\n\n");
            Table(page, "published", checks.Where(row => row.Topic == topic && !row.Worked));
            PublishedCheck[] worked = [.. checks.Where(row => row.Topic == topic && row.Worked)];
            if (worked is [])
                continue;
            page.Append("\nWorked out by us:\n\n");
            Table(page, "worked out", worked);
        }

        foreach (var (title, text) in more)
            page.Append(CultureInfo.InvariantCulture, $"\n## {title}\n\n{text}");
        Grid(page);
        return page.ToString().ReplaceLineEndings("\n");
    }

    /// <summary>What the grid test holds us to, not what it found: it is skipped where node or the package is not to be had.</summary>
    private static void Grid(StringBuilder page)
    {
        page.Append("""

            ## A grid of airs against a library

            psychrolib 1.1.1 (MIT), a general-purpose library of the ASHRAE equations, on 19 temperatures from -20 to 40 C, humidities from
            10 to 100 % in steps of 5, at 101325 and 85000 Pa (`PsychrolibGridTests`; skipped, saying why, where it cannot be fetched). The
            distances allowed are those found, rounded up. Most of each is Hyland and Wexler's saturation pressure (theirs) against IAPWS (ours);
            of the wet bulbs, psychrolib's search stops at 0.001 C. Airs whose wick could be wet or frozen are left out.

            | what | unit | no further apart than |
            |---|---|--:|

            """);
        foreach (var (what, unit, allowed) in PsychrolibGridTests.Compared)
            page.Append(CultureInfo.InvariantCulture, $"| {what} | {unit} | {allowed} |\n");
    }

    private static void Count(StringBuilder page, string topic, IReadOnlyList<PublishedCheck> rows) =>
        page.Append(CultureInfo.InvariantCulture,
            $"| {topic} | {rows.Count} | {rows.Count(row => row is { Fitted: false, Worked: false })} | {rows.Count(row => row is { Fitted: true, Worked: false })} | {rows.Count(row => row.Worked)} | {rows.Count(FallsShort)} |\n");

    private static void Table(StringBuilder page, string figure, IEnumerable<PublishedCheck> rows)
    {
        page.Append(CultureInfo.InvariantCulture,
            $"| what | source | unit | {figure} | ours | distance | allowed | kind | remark |\n|---|---|---|--:|--:|--:|--:|---|---|\n");
        foreach (var row in rows)
            Line(page, row);
    }

    private static bool FallsShort(PublishedCheck row) => row.Remark?.Contains("falls short", StringComparison.OrdinalIgnoreCase) ?? false;

    private static void Line(StringBuilder page, PublishedCheck row)
    {
        string published = row.Published.ToString("G10", CultureInfo.InvariantCulture);
        int digits = Math.Clamp(published.Split('E')[0].TrimStart('-', '0', '.').Count(char.IsAsciiDigit) + 1, 4, 10);
        string ours = row.Ours.ToString("G" + digits.ToString(CultureInfo.InvariantCulture), CultureInfo.InvariantCulture);
        page.Append(CultureInfo.InvariantCulture,
            $"| {Cell(row.What)} | {Cell(row.Source)} | {Cell(row.Unit)} | {(row.AtMost ? "under " : "")}{published} | {ours} | {Distance(row)} | {row.Allowed:G2} | {(row.Fitted ? "fitted" : "predicted")} | {Cell(row.Remark ?? "")} |\n");
    }

    // A distance that is nothing but the last bits of a double differs from machine to machine.
    private static string Distance(PublishedCheck row)
    {
        double distance = row.Distance;
        if (Math.Abs(distance) <= 1e-11 * Math.Abs(row.Published))
            return "0";
        return distance.ToString(Math.Abs(distance) < 1e-3 ? "0.#E+0" : "G2", CultureInfo.InvariantCulture);
    }

    private static string Cell(string text) => text.Replace("|", "\\|", StringComparison.Ordinal);
}
