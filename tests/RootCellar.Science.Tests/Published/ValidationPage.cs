using System.Globalization;
using System.Text;

namespace RootCellar.Science.Tests.Published;

/// <summary>docs/science/validation.md out of the checks. Rounded, so that another machine's last bit does not change it.</summary>
internal static class ValidationPage
{
    public static string Of(IReadOnlyList<PublishedCheck> checks)
    {
        var page = new StringBuilder();
        page.Append(CultureInfo.InvariantCulture, $"""
            # Our figures beside published ones

            Written by the tests (`ValidationTests`) each time they run; do not edit it by hand. Every row is a figure that somebody
            outside this project published, what this program works out for the same case, and how far the two are apart.
            *Predicted*: nothing of ours was set by that figure. *Fitted*: it was used to set one of ours, so that it proves only
            that the fit holds together. *Allowed* is the distance at which the test fails. A row that falls short says so in its remark: the
            distance is reported, not tuned away.

            | topic | figures | predicted | fitted | fall short |
            |---|--:|--:|--:|--:|

            """);
        var topics = checks.Select(row => row.Topic).Distinct(StringComparer.Ordinal).ToList();
        foreach (string topic in topics)
            Count(page, topic, [.. checks.Where(row => row.Topic == topic)]);
        Count(page, "all", checks);
        foreach (string topic in topics)
        {
            page.Append(CultureInfo.InvariantCulture, $"\n## {topic}\n\n");
            page.Append("| what | source | unit | published | ours | distance | allowed | kind | remark |\n|---|---|---|--:|--:|--:|--:|---|---|\n");
            foreach (var row in checks.Where(row => row.Topic == topic))
                Line(page, row);
        }

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
            $"| {topic} | {rows.Count} | {rows.Count(row => !row.Fitted)} | {rows.Count(row => row.Fitted)} | {rows.Count(FallsShort)} |\n");

    private static bool FallsShort(PublishedCheck row) => row.Remark?.Contains("falls short", StringComparison.OrdinalIgnoreCase) ?? false;

    private static void Line(StringBuilder page, PublishedCheck row)
    {
        string published = row.Published.ToString("G10", CultureInfo.InvariantCulture);
        int digits = Math.Clamp(published.Split('E')[0].TrimStart('-', '0', '.').Count(char.IsAsciiDigit) + 1, 4, 10);
        string ours = row.Ours.ToString("G" + digits.ToString(CultureInfo.InvariantCulture), CultureInfo.InvariantCulture);
        page.Append(CultureInfo.InvariantCulture,
            $"| {Cell(row.What)} | {Cell(row.Source)} | {Cell(row.Unit)} | {published} | {ours} | {Distance(row)} | {row.Allowed:G2} | {(row.Fitted ? "fitted" : "predicted")} | {Cell(row.Remark ?? "")} |\n");
    }

    // A distance that is nothing but the last bits of a double differs from machine to machine.
    private static string Distance(PublishedCheck row)
    {
        double distance = row.Ours - row.Published;
        if (Math.Abs(distance) <= 1e-11 * Math.Abs(row.Published))
            return "0";
        return distance.ToString(Math.Abs(distance) < 1e-3 ? "0.#E+0" : "G2", CultureInfo.InvariantCulture);
    }

    private static string Cell(string text) => text.Replace("|", "\\|", StringComparison.Ordinal);
}
