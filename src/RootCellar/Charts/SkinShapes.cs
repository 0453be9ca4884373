using RootCellar.Science.Crops;

namespace RootCellar.Charts;

/// <summary>
/// How a crop is drawn: one of our colours in the crop's own shape, on a grid of 18, always with an outline and beside its name. A potato
/// has the colour of its variety's skin as the table of varieties gives it.
/// </summary>
internal static class SkinShapes
{
    private const string Tuber = "M3 10C2.5 5.5 6.5 2.8 10 3.2c4 .4 7 3 6.2 7.3C15.5 14.5 11 15.8 7.5 15 5 14.4 3.2 12.8 3 10z";
    private const string Globe = "M9 5.5c4 0 6.5 2 6.5 4.8 0 3-3.5 4-6.5 6.2-3-2.2-6.5-3.2-6.5-6.2C2.5 7.5 5 5.5 9 5.5zM9 5.5V2M9 16.5v1";
    private const string Spindle = "M9 4.5c2.8 0 4.5 1 4.5 3 0 3-2.5 7-4.5 9.5C7 14.5 4.5 10.5 4.5 7.5c0-2 1.7-3 4.5-3zM9 4.5V2M6.8 4L6 2.5M11.2 4l.8-1.5";
    private const string Bulb = "M9 4c.6 2 6.5 2.8 6.5 7.3 0 3-2.8 4.7-6.5 4.7s-6.5-1.7-6.5-4.7C2.5 6.8 8.4 6 9 4zM9 4V1.5M8 16v1.5M10 16v1.5";
    private const string Head = "M9 3c4.2 0 7 2.8 7 6.5S13.2 16 9 16 2 13.2 2 9.5 4.8 3 9 3zM9 16C7.5 12 7.5 8 9 3M3.5 12c2.5-1 4-.5 5 1M14.5 12c-2.5-1-4-.5-5 1";
    private const string Gourd = "M9 3c2 0 2.8 1.5 2.8 3.3 0 2 3.7 3 3.7 6.2 0 2.6-2.7 4-6.5 4s-6.5-1.4-6.5-4c0-3.2 3.7-4.2 3.7-6.2C6.2 4.5 7 3 9 3zM9 3V1";
    private const string Apple = "M9 5.5c1.5-1.3 6.5-1.5 6.5 3.5 0 4-3 7.5-5 7.5-.8 0-.8-.4-1.5-.4s-.7.4-1.5.4c-2 0-5-3.5-5-7.5 0-5 5-4.8 6.5-3.5zM9 5.5C9 3.5 10 2.5 11.5 2";

    private static readonly Dictionary<string, string> Colours = new(StringComparer.Ordinal)
    {
        ["buff"] = "#E3CF9C",
        ["gold"] = "#E0AE31",
        ["red"] = "#B8434C",
        ["violet"] = "#66518F",
        ["russet"] = "#A8794A",
        ["beet"] = "#8B2A52",
        ["carrot"] = "#E07A2B",
        ["squash"] = "#D59A5B",
        ["green"] = "#7F9A52",
        ["pale"] = "#EFE6D0",
    };

    /// <summary>The name its colour has in the stylesheet, and its strokes.</summary>
    public static (string Skin, string Path) Of(string crop, string? variety) => crop switch
    {
        "potato" => (OfPotato(variety), Tuber),
        "sweet-potato" => ("carrot", Tuber),
        "jerusalem-artichoke" or "celeriac" => ("buff", Tuber),
        "carrot" => ("carrot", Spindle),
        "parsnip" or "salsify" or "horseradish" => ("pale", Spindle),
        "scorzonera" => ("russet", Spindle),
        "beet" => ("beet", Globe),
        "turnip" or "rutabaga" => ("violet", Globe),
        "winter-radish" => ("red", Globe),
        "kohlrabi" => ("green", Globe),
        "onion" or "shallot" => ("gold", Bulb),
        "garlic" => ("pale", Bulb),
        "leek" => ("green", Spindle),
        "cabbage" or "brussels-sprouts" => ("green", Head),
        "butternut" or "winter-squash" or "pumpkin" => ("squash", Gourd),
        "acorn-squash" => ("green", Gourd),
        "pear" or "asian-pear" => ("gold", Gourd),
        "apple" or "apple-tender" => ("red", Apple),
        _ => ("buff", Tuber),
    };

    /// <summary>Its colour by day, for pictures that have no stylesheet.</summary>
    public static string Colour(string crop, string? variety) => Colours[Of(crop, variety).Skin];

    private static string OfPotato(string? variety) => (variety is null ? null : VarietyTable.Default.Find(variety)?.Skin) switch
    {
        SkinColour.Russet => "russet",
        SkinColour.Red => "red",
        SkinColour.Yellow => "gold",
        SkinColour.Blue => "violet",
        _ => "buff",
    };
}
