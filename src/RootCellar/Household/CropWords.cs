using System.Globalization;
using RootCellar.Science.Crops;

namespace RootCellar.Household;

/// <summary>
/// The crop table's words in the household's language: a file of words may name a crop (<c>crop.potato</c>) and what ethylene does to it
/// (<c>crop.potato.ethylene</c>). Varieties keep their names, and sources are cited as they are printed.
/// </summary>
internal static class CropWords
{
    /// <summary>A crop's name by its id; what the table does not have, as it is written.</summary>
    public static string Name(string crop) => CropTable.Default.Find(crop) is { } known ? Name(known) : crop;

    public static string Name(Crop crop) => Said(Key(crop)) ?? crop.Name;

    /// <summary>What ethylene does to it; null where the table does not say.</summary>
    public static string? EthyleneEffect(Crop crop) => Said(EthyleneKey(crop)) ?? crop.EthyleneEffect?.Text;

    /// <summary>Whether a file of words may have it.</summary>
    public static bool IsKey(string key) =>
        CropTable.Default.Crops.Any(c => key == Key(c) || (c.EthyleneEffect is not null && key == EthyleneKey(c)));

    public static string Key(Crop crop) => "crop." + crop.Id;

    public static string EthyleneKey(Crop crop) => Key(crop) + ".ethylene";

    private static string? Said(string key) => CultureInfo.CurrentUICulture is LanguageCulture { Words: var words }
        ? words.GetValueOrDefault(key) : null;
}
