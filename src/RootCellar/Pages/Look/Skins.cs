using Microsoft.AspNetCore.Html;
using RootCellar.Charts;

namespace RootCellar.Pages.Look;

/// <summary>A crop in its skin, beside its name.</summary>
internal static class Skins
{
    public static IHtmlContent Of(string crop, string? variety)
    {
        var (skin, path) = SkinShapes.Of(crop, variety);
        return new HtmlString($"<svg class=\"skin {skin}\" viewBox=\"0 0 18 18\" aria-hidden=\"true\"><path d=\"{path}\"/></svg>");
    }
}
