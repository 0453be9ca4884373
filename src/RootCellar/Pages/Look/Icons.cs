using Microsoft.AspNetCore.Html;

namespace RootCellar.Pages.Look;

/// <summary>
/// The icons, drawn for this program: strokes on a grid of 24, no fill but a flame or a tuber. Each stands beside its word and is hidden
/// from screen readers; back, help and the brand have a name of their own.
/// </summary>
internal static class Icons
{
    public static readonly IHtmlContent Now =
        Of("M8 8h8l1.5 10h-11zM9 8V6.5a3 3 0 0 1 6 0V8M6 21h12M12 15.6c1.3-.7 1.4-2 0-3.6-1.4 1.6-1.3 2.9 0 3.6z");

    public static readonly IHtmlContent Bins =
        Of("M3 11.5h18M3 20.5h18M5 11.5v-6h5.5v6M13.5 11.5V7H19v4.5M5 20.5v-5h5.5v5M13.5 20.5v-6H19v6");

    public static readonly IHtmlContent Write = Of("M5 19l1-4L16 5l3 3L9 18zM14 7l3 3");

    public static readonly IHtmlContent Ahead = Of(
        "M2.5 19c3-4.5 5-4.5 8 0 2.5-4 5-4 7.5 0 1-1.6 2-2.3 3.5-2.5"
        + "M12 10.5V8.5c0-2.5 1.5-4.5 4.5-5 .3 3-1.5 5-4.5 5zM12 8.5C9.8 8.3 8.3 7 8 4.8c2.3.1 3.7 1.3 4 3.7");

    public static readonly IHtmlContent More = Of(
        "M4 12.2c0-1.5 3.6-1.7 3.7.1.1 1.8-3.7 1.8-3.7-.1zM10.2 11.8c0-1.6 3.7-1.5 3.7.3s-3.7 1.5-3.7-.3z"
        + "M16.4 12.1c.1-1.7 3.7-1.6 3.6.1-.1 1.7-3.7 1.5-3.6-.1z");

    public static readonly IHtmlContent Weigh = Of("M12 3v3M7 6h10l-1.5 6a3.7 3.7 0 0 1-7 0zM12 9.5l1.8-1.5M8 15l-3 5h14l-3-5");

    public static readonly IHtmlContent Move = Of("M3 20v-7h7v7zM14 20v-7h7v7zM6.5 9.5C8 5 15 4 17.5 8.5M17.8 5v3.8H14");

    public static readonly IHtmlContent Fill = Of("M4 12l1.5 8.5h13L20 12M3 12h4M17 12h4M12 3v11M8.5 11l3.5 3.5L15.5 11");

    public static readonly IHtmlContent Dig = Of("M12 3v9M9.5 3h5M7.5 12h9M7.5 12v8M12 12v9M16.5 12v8M2.5 16.5h2M19.5 16.5h2");

    public static readonly IHtmlContent Sort = Of("M5 5h14M12 5v5M12 10l-5 4M12 10l5 4M4 20c0-4.5 6.5-4.5 6.5 0zM14 20c0-3.5 6-3.5 6 0z");

    public static readonly IHtmlContent Take = Of("M4 11h16l-2 9H6zM8 11c0-8 8-8 8 0M9 14.5v2.5M12 14.5v2.5M15 14.5v2.5");

    public static readonly IHtmlContent Seen = Of(
        "M2.5 13C6 7 18 7 21.5 13 18 18.5 6 18.5 2.5 13zM12 15.5a2.5 2.5 0 1 0 0-5 2.5 2.5 0 0 0 0 5z"
        + "M12 5V3M17.5 6.5l1-1.7M6.5 6.5l-1-1.7");

    public static readonly IHtmlContent Plant = Of(
        "M2.5 13c3 0 3.5 6 9.5 6s6.5-6 9.5-6M12 15.5c-2.5 0-2.8-3 0-3s2.5 3 0 3zM12 4v5M9.7 7L12 9.3 14.3 7");

    public static readonly IHtmlContent Promise = Of("M7 4h10v16l-5-3-5 3zM10 8.5h4M10 12h4");

    public static readonly IHtmlContent Rows = Of("M2.5 20c2-5 4.5-5 6.5 0 2-5 4.5-5 6.5 0 2-5 4.5-5 6.5 0M5.8 13V9M12.2 13V9M18.7 13V9");

    public static readonly IHtmlContent Stock = Of("M6 9c-3 7-1.5 11.5 6 11.5S21 16 18 9M9 4l-1.5 3h9L15 4zM6 9h12M9.5 13.5h5");

    public static readonly IHtmlContent Text = Of("M4 5h16v11h-8l-5 4v-4H4zM8 9h8M8 12h5");

    public static readonly IHtmlContent Sensor = Of("M10 13.5V5a2 2 0 0 1 4 0v8.5a4 4 0 1 1-4 0zM12 9v7M17.5 6c1.5 1.8 1.5 4.2 0 6M6.5 6C5 7.8 5 10.2 6.5 12");

    public static readonly IHtmlContent Report = Of("M6 3.5h9l3.5 3.5v13.5H6zM9 17v-3M12 17v-6M15 17v-4.5");

    public static readonly IHtmlContent Label = Of("M4 5h9l7 7-8 8-8-8zM8.5 9.5v.1");

    public static readonly IHtmlContent SetUp = Of("M4 7h9M17 7h3M4 17h3M11 17h9M15 9.5a2.5 2.5 0 1 0 0-5 2.5 2.5 0 0 0 0 5zM9 19.5a2.5 2.5 0 1 0 0-5 2.5 2.5 0 0 0 0 5z");

    public static readonly IHtmlContent Door = Of("M5 21V6c0-4 14-4 14 0v15M3 21h18M15.5 13v1.5");

    public static readonly IHtmlContent Check = Of("M5 12.5l4.5 4.5L19 7");

    public static readonly IHtmlContent Next = Of("M9 5l7 7-7 7");

    public static readonly IHtmlContent Back = Of("M15 5l-7 7 7 7");

    public static readonly IHtmlContent Help =
        Of("M12 21a9 9 0 1 0 0-18 9 9 0 0 0 0 18zM9.3 9.6c0-3.4 5.4-3.3 5.4 0 0 2.1-2.7 2.2-2.7 4.2M12 16.9v.1");

    /// <summary>The house in the hill, with what it keeps.</summary>
    public static readonly IHtmlContent Brand = new HtmlString(
        "<svg class=\"i\" viewBox=\"0 0 24 24\" aria-hidden=\"true\"><path d=\"M4 21v-7a8 8 0 0 1 16 0v7zM12 6V2.5M12 4.5c.2-1.6 1.3-2.5 3.2-2.7\"/>"
        + "<path class=\"solid\" d=\"M12 18.5c-4.6 0-4.8-5.6 0-5.6s4.6 5.6 0 5.6z\"/></svg>");

    /// <summary>The lantern stands where now is.</summary>
    public static readonly IHtmlContent Lantern = new HtmlString(
        "<svg class=\"lantern\" viewBox=\"0 0 56 68\" aria-hidden=\"true\"><path d=\"M28 0v6M18 20C16 2 40 2 38 20M19 20h18l3 5H16zM18 25l-3 26M38 25l3 26"
        + "M13 51h30l2 7H11zM23 15.5h10\"/><path class=\"flame\" d=\"M28 48c-7-3-8.5-9.5 0-18 8.5 8.5 7 15 0 18z\"/>"
        + "<path class=\"heart\" d=\"M28 45.5c-2.6-1.6-3-4.6 0-8 3 3.4 2.6 6.4 0 8z\"/></svg>");

    /// <param name="path">Its strokes.</param>
    /// <param name="style">Its classes in the stylesheet.</param>
    public static HtmlString Of(string path, string style = "i") =>
        new($"<svg class=\"{style}\" viewBox=\"0 0 24 24\" aria-hidden=\"true\"><path d=\"{path}\"/></svg>");
}
