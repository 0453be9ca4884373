using Microsoft.AspNetCore.Html;
using RootCellar.Household;

namespace RootCellar.Pages.Look;

/// <summary>The four meanings; each has its own shape, word and colour.</summary>
internal enum Meaning
{
    Well,
    Soon,
    Now,
    Unknown,
}

/// <summary>The shapes of the meanings: a tuber with a tick, a half moon, a stone on its point, a broken ring.</summary>
internal static class Signs
{
    private static readonly IHtmlContent Well = Of(
        "<circle class=\"fill well\" cx=\"12\" cy=\"12\" r=\"9.5\"/><path class=\"line\" d=\"M7.5 12.5l3 3 6-6.5\"/>");

    private static readonly IHtmlContent Soon = Of(
        "<circle class=\"line soon\" cx=\"12\" cy=\"12\" r=\"8.7\"/><path class=\"fill soon\" d=\"M12 3.3a8.7 8.7 0 0 1 0 17.4z\"/>");

    private static readonly IHtmlContent Now = Of(
        "<path class=\"fill now\" d=\"M12 1l11 11-11 11L1 12z\"/><path class=\"line\" d=\"M12 6.5v6.5M12 16.8v.1\"/>");

    private static readonly IHtmlContent Unknown = Of(
        "<circle class=\"line dunno\" cx=\"12\" cy=\"12\" r=\"9\" stroke-dasharray=\"4.2 2.9\"/>"
        + "<path class=\"line dunno\" d=\"M9.7 9.8c0-3 4.7-2.9 4.7 0 0 1.9-2.4 2-2.4 3.7M12 16.5v.1\"/>");

    /// <summary>The shape alone; its word or its name stands beside it.</summary>
    public static IHtmlContent Shape(Meaning meaning) => meaning switch
    {
        Meaning.Well => Well,
        Meaning.Soon => Soon,
        Meaning.Now => Now,
        _ => Unknown,
    };

    public static string Word(Meaning meaning) => meaning switch
    {
        Meaning.Well => Strings.SignWell,
        Meaning.Soon => Strings.SignSoon,
        Meaning.Now => Strings.SignNow,
        _ => Strings.SignUnknown,
    };

    /// <summary>The name of the colours of a meaning in the stylesheet.</summary>
    public static string Css(Meaning meaning) => meaning switch
    {
        Meaning.Well => "well",
        Meaning.Soon => "soon",
        Meaning.Now => "now",
        _ => "dunno",
    };

    private static HtmlString Of(string drawn) => new($"<svg class=\"sign\" viewBox=\"0 0 24 24\" aria-hidden=\"true\">{drawn}</svg>");
}
