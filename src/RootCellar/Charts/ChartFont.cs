using System.Reflection;
using ScottPlot;
using SkiaSharp;

namespace RootCellar.Charts;

/// <summary>
/// The font of pictures, out of the program itself: a machine without fonts has figures at its axes too. Vollkorn (SIL Open Font License
/// 1.1, vollkorn-licence.txt), the same letters as on the pages.
/// </summary>
internal sealed class ChartFont : IFontResolver
{
    private static readonly Lazy<string> Known = new(() =>
    {
        Fonts.FontResolvers.Insert(0, new ChartFont());
        return Ours;
    });

    private const string Ours = "RootCellar Text";

    private ChartFont()
    {
    }

    /// <summary>Its name, known to the drawing library from then on.</summary>
    public static string Name => Known.Value;

    /// <summary>The library disposes of what it is given: each time a new one.</summary>
    public SKTypeface? CreateTypeface(string fontName, FontWeight weight, FontSlant slant, FontSpacing spacing)
    {
        if (fontName != Ours) return null;
        using var file = Assembly.GetExecutingAssembly().GetManifestResourceStream("Charts/vollkorn-text.ttf");
        return SKTypeface.FromStream(file);
    }

    public SKTypeface? CreateTypeface(string fontName, bool bold, bool italic) =>
        CreateTypeface(fontName, bold ? FontWeight.Bold : FontWeight.Normal, italic ? FontSlant.Italic : FontSlant.Upright, FontSpacing.Normal);
}
