using System.Text.Encodings.Web;
using System.Text.Json;
using RootCellar.Household;
using RootCellar.Ledger;
using RootCellar.Science.Crops;

namespace RootCellar.Pages.Bins;

/// <summary>
/// The form for what comes in: its words for each way a crop can, which the page's script puts in when another crop is chosen.
/// </summary>
internal static class HarvestForm
{
    public static string On => Words(HarvestWords.On);

    public static string HowMuch => Words(HarvestWords.HowMuch);

    public static IReadOnlyList<Crop> ByName(CropTable crops) => [.. crops.Crops.OrderBy(c => CropWords.Name(c), NameOrder.Instance)];

    private static readonly JsonSerializerOptions AsWritten = new() { Encoder = JavaScriptEncoder.UnsafeRelaxedJsonEscaping };

    /// <summary>A list in the order of the ways. It goes through the page's own escaping.</summary>
    private static string Words(Func<Harvest?, string> say) =>
        JsonSerializer.Serialize(Enum.GetValues<Harvest>().Select(way => say(way)), AsWritten);
}
