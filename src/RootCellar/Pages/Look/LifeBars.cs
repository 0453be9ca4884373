using Microsoft.AspNetCore.Html;
using RootCellar.Lots;
using RootCellar.Science.Keeping;

namespace RootCellar.Pages.Look;

/// <summary>
/// How far a bin is: a wedge that thickens as its skins heal, a bar that fills as its rest is used, a shoot at the end. A crop that is not
/// cured has no wedge; one whose rest is not followed has a bar of the time it lasts.
/// </summary>
internal static class LifeBars
{
    private const double Whole = 98, WedgeEnd = 46, BarFrom = 50;

    /// <summary>Where on the wedge a bin is fit to move.</summary>
    private const double FitAt = 0.75;

    public static IHtmlContent Of(BinEstimate bin)
    {
        var healed = bin.Cured ? Healed(bin) : (double?)null;
        var rest = Rest(bin);
        var from = healed is null ? 0 : BarFrom;
        var wedge = healed is { } h ? Wedge(h) : "";
        var bar = rest is { } r ? Bar(from, Whole, r) : "";
        var shoot = rest is null || bin.RestUsed is null ? ""
            : $"<path class=\"shoot{(bin.SproutsSeen ? " out" : "")}\" d=\"M101 10h1.5C106 10 105 5 105 4M105 6c.2-2.5 1.5-4 4-4.5 0 3-1.5 4.5-4 4.5z\"/>";
        return new HtmlString($"<svg class=\"life\" viewBox=\"0 0 112 12\" preserveAspectRatio=\"xMinYMid meet\" aria-hidden=\"true\">{wedge}{bar}{shoot}</svg>");
    }

    /// <summary>Share of the healing: by the days it took and those it is likely to take still; three quarters where it is fit to move.</summary>
    internal static double Healed(BinEstimate bin) => bin.Stage switch
    {
        HealingStage.Healed => 1,
        HealingStage.Adequate => Math.Max(FitAt, 0.85),
        _ when bin.FitToMove?.Likely is { } fit && fit > bin.DugAt => Math.Clamp((bin.At - bin.DugAt) / (fit - bin.DugAt) * FitAt, 0.04, FitAt),
        HealingStage.Sealed => 0.4,
        _ => 0.1,
    };

    /// <summary>Share of the rest, or of the time it lasts; null where neither is known.</summary>
    internal static double? Rest(BinEstimate bin) => bin.RestUsed is { } used ? Math.Clamp(used.Value, 0, 1)
        : bin.Lasts.When.Likely is { } end && end > bin.DugAt ? Math.Clamp((bin.At - bin.DugAt) / (end - bin.DugAt), 0, 1) : null;

    private static string Wedge(double share)
    {
        // The edges meet the wedge's own at the point reached.
        var x = share * WedgeEnd;
        var (top, bottom) = (7.2 - (share * 4.2), 8.8 + (share * 2.2));
        return FormattableString.Invariant(
            $"<path class=\"track\" d=\"M0 7.2L46 3V11L0 8.8z\"/><path class=\"past\" d=\"M0 7.2L{x:0.#} {top:0.#}V{bottom:0.#}L0 8.8z\"/>");
    }

    private static string Bar(double from, double to, double share) => FormattableString.Invariant(
        $"<rect class=\"track\" x=\"{from}\" y=\"3\" width=\"{to - from}\" height=\"8\" rx=\"1\"/><rect class=\"past\" x=\"{from}\" y=\"3\" width=\"{share * (to - from):0.#}\" height=\"8\" rx=\"1\"/>");
}
