using System.Globalization;
using System.Net;
using System.Text;
using Microsoft.AspNetCore.Html;
using RootCellar.Household;
using RootCellar.Ledger;
using RootCellar.Ledger.Events;
using RootCellar.Lots;
using RootCellar.Pages.Bins;
using RootCellar.Science.Keeping;

namespace RootCellar.Pages.Look;

/// <summary>
/// Where a lot is in its life: dug, fit to move, resting, sprouting, filled up to the lantern of today. Stations are evenly set and not to
/// scale, so that their dates are always written; brackets are spreads, nine lots in ten.
/// </summary>
internal static class LifeLine
{
    private const double From = 2, Fit = 116, WedgeEnd = 156, BarFrom = 164, End = 284, Last = 306, Middle = 46;

    public static IHtmlContent Of(LotEstimate lot, string harvested, bool cured, DateTimeOffset now, Show show)
    {
        var (word, when) = Ends(lot);
        var fit = cured ? lot.FitToMove?.Likely : null;
        var stations = new List<(double X, string Word, string Date, string Anchor)>
        {
            (From, harvested, show.Day(lot.DugAt), "start"),
        };
        if (fit is { } f) stations.Add((Fit, Strings.LifeFit, show.Day(f), "middle"));
        stations.Add((310, word, when.Likely is { } e ? show.Day(e) : Strings.LifeFar, "end"));

        double X(DateTimeOffset at) => Across(at, lot.DugAt, fit, when.Likely, cured);
        var today = X(now);
        var drawn = new StringBuilder();
        drawn.Append(cured ? Wedge(today) + Bar(BarFrom, today) : Bar(From, today));
        if (lot.RestUsed is not null)
            drawn.Append("<path class=\"shoot\" d=\"M287 50h4c9 0 6-9 6-13M297 41c.4-6 3.5-9.5 10-11 0 7.500-3.5 11-10 11zM297 44c-1-4.500-3.5-7-8-7.500.5 5 3.5 7.500 8 7.500\"/>");
        if (cured && lot.Stage < HealingStage.Adequate && lot.FitToMove is { Early: { } a, Late: { } b })
            drawn.Append(Bracket(X(a), X(b), 30, 36));
        if (when is { Early: { } c, Late: { } d } && !lot.SproutsSeen) drawn.Append(Bracket(X(c), X(d), 66, 60));
        var side = today < 60 ? "start" : today > 250 ? "end" : "middle";
        drawn.Append(Text("word", today, 10, side, Strings.TodayInText)).Append(CultureInfo.InvariantCulture,
            $"<path class=\"today\" d=\"M{today:0.#} 22V62\"/><circle class=\"lamp\" cx=\"{today:0.#}\" cy=\"20\" r=\"5\"/>");
        foreach (var s in stations)
        {
            var x = s.Anchor == "end" ? End : Math.Max(3, s.X);
            drawn.Append(CultureInfo.InvariantCulture, $"<path class=\"tickmark\" d=\"M{x:0.#} 66v5\"/>")
                .Append(Text("word", s.X, 86, s.Anchor, s.Word)).Append(Text("", s.X, 102, s.Anchor, s.Date));
        }

        var says = string.Join("; ", stations.Select(s => $"{s.Word} {s.Date}"));
        return new HtmlString(
            $"<svg class=\"lifeline\" viewBox=\"0 0 312 106\" role=\"img\" aria-label=\"{WebUtility.HtmlEncode(says)}\">{drawn}</svg>");
    }

    /// <summary>What ends its line: sprouts where its rest is followed, else until when it lasts.</summary>
    private static (string Word, When When) Ends(LotEstimate lot) => lot.RestUsed is null || lot.Peeping is not { } peeping
        ? (Strings.LifeLasts, lot.Lasts.When) : (lot.SproutsSeen ? Strings.LifeSprouted : Strings.LifeSprouts, peeping);

    private static double Across(DateTimeOffset at, DateTimeOffset dug, DateTimeOffset? fit, DateTimeOffset? end, bool cured)
    {
        // Where the end is further off than is looked ahead, a year stands for it (assumed).
        var last = end ?? dug.AddDays(365);
        if (!cured || fit is not { } f || f >= last) return Between(at, dug, last, From, End);
        return at <= f ? Between(at, dug, f, From, Fit) : Between(at, f, last, Fit, End);
    }

    private static double Between(DateTimeOffset at, DateTimeOffset from, DateTimeOffset to, double low, double high) =>
        Math.Clamp(low + ((at - from) / (to - from) * (high - low)), From, Last);

    private static string Wedge(double today)
    {
        var x = Math.Min(today, WedgeEnd);
        var share = (x - From) / (WedgeEnd - From);
        return FormattableString.Invariant(
            $"<path class=\"track\" d=\"M{From} {Middle}L{WedgeEnd} {Middle - 10}V{Middle + 10}z\"/><path class=\"past\" d=\"M{From} {Middle}L{x:0.#} {Middle - (10 * share):0.#}V{Middle + (10 * share):0.#}z\"/>");
    }

    private static string Bar(double from, double today)
    {
        var done = Math.Clamp(today - from, 0, End - from);
        return FormattableString.Invariant(
            $"<rect class=\"track\" x=\"{from}\" y=\"{Middle - 10}\" width=\"{End - from}\" height=\"20\" rx=\"1\"/><rect class=\"past\" x=\"{from}\" y=\"{Middle - 10}\" width=\"{done:0.#}\" height=\"20\" rx=\"1\"/>");
    }

    private static string Bracket(double from, double to, double at, double turned) => FormattableString.Invariant(
        $"<path class=\"spread\" d=\"M{from:0.#} {turned}V{at}H{Math.Max(to, from + 3):0.#}V{turned}\"/>");

    private static string Text(string css, double x, double y, string anchor, string text) => string.Create(
        CultureInfo.InvariantCulture,
        $"<text class=\"{css}\" x=\"{x:0.#}\" y=\"{y:0.#}\" text-anchor=\"{anchor}\">{WebUtility.HtmlEncode(text)}</text>");
}
