using System.Globalization;
using System.Net;
using Microsoft.AspNetCore.Html;

namespace RootCellar.Pages.Look;

/// <summary>
/// A gauge: a furrow whose floor is the band. A value inside lies in it, one outside lies up on the ridge, at the edge where it is more
/// than the width of the band away.
/// </summary>
internal static class Furrow
{
    // The floor goes from 26.5 to 59.5; 7 to 79 are in sight, and a stone on a ridge is wholly so.
    private const double FloorFrom = 26.5, FloorTo = 59.5, RidgeFrom = 14, RidgeTo = 72, Down = 14.9, Up = 3.2;

    /// <param name="value">Null where it is not known.</param>
    /// <param name="lowLabel">The low limit as a household reads it.</param>
    /// <param name="says">What the picture says, for those who don't see it.</param>
    public static IHtmlContent Of(
        double? value, double low, double high, string lowLabel, string highLabel, Meaning meaning, string says)
    {
        var (x, y) = Place(value, low, high);
        var pip = meaning switch
        {
            _ when value is null => Circle("dunno", (FloorFrom + FloorTo) / 2, Down - 1),
            Meaning.Now => FormattableString.Invariant(
                $"<path class=\"pip now\" d=\"M{x:0.0} {y - 7:0.0}l7 7-7 7-7-7z\"/>"),
            Meaning.Soon => Circle("soon", x, y) + FormattableString.Invariant(
                $"<path class=\"half\" d=\"M{x:0.0} {y - 6:0.0}a6 6 0 0 1 0 12z\"/>"),
            Meaning.Well => Circle("well", x, y),
            _ => Circle("dunno", x, y),
        };
        return new HtmlString(
            $"<svg class=\"gauge\" viewBox=\"7 -4 72 44\" role=\"img\" aria-label=\"{WebUtility.HtmlEncode(says)}\">"
            + "<path class=\"bed\" d=\"M0 9.5H12.5C19.5 9.5 18.5 21.5 26.5 21.5H59.5C67.5 21.5 66.5 9.5 73.5 9.5H86V26H0z\"/>"
            + $"<path class=\"floor\" d=\"M26.5 21.5H59.5\"/>{pip}"
            + $"<text x=\"21.5\" y=\"38\">{WebUtility.HtmlEncode(lowLabel)}</text><text x=\"64.5\" y=\"38\">{WebUtility.HtmlEncode(highLabel)}</text></svg>");
    }

    /// <summary>Where the value lies: across, and down in the furrow or up on a ridge.</summary>
    internal static (double X, double Y) Place(double? value, double low, double high)
    {
        if (value is not { } v || high <= low) return ((FloorFrom + FloorTo) / 2, Down);
        var share = (v - low) / (high - low);
        if (share is >= 0 and <= 1)
        {
            // The tuber itself stays on the floor: its middle keeps a radius from the slopes.
            return (FloorFrom + 4 + (share * (FloorTo - FloorFrom - 8)), Down);
        }

        var x = share < 0 ? 18.5 + (share * (18.5 - RidgeFrom)) : 67.5 + ((share - 1) * (RidgeTo - 67.5));
        return (Math.Clamp(x, RidgeFrom, RidgeTo), Up);
    }

    private static string Circle(string css, double x, double y) => string.Create(
        CultureInfo.InvariantCulture, $"<circle class=\"pip {css}\" cx=\"{x:0.0}\" cy=\"{y:0.0}\" r=\"6\"/>");
}
