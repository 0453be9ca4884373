using RootCellar.Science.Crops;

namespace RootCellar.Watch;

/// <summary>What judging takes from the crop table.</summary>
internal static class CropLookup
{
    public static CropBands? Find(string crop) => Find(CropTable.Default, crop);

    /// <summary>By the crops of a household.</summary>
    public static Func<string, CropBands?> Of(CropTable crops) => crop => Find(crops, crop);

    private static CropBands? Find(CropTable crops, string crop)
    {
        if (crops.Find(crop) is not { } row) return null;
        return new CropBands(
            row.Id,
            row.Name,
            row.Curing is { } curing ? Climate(curing) : null,
            Climate(row.Storage),
            row.FreezingPointC,
            row.GreensInLight,
            row.Storage.Source,
            HarmTable.Default.Of(row),
            row.Curing is null ? null : HarmTable.Default.Of(row, curing: true),
            row.Curing?.Source);
    }

    private static ClimateBand Climate(Science.Crops.Band band) =>
        new(band.TemperatureLowC, band.TemperatureHighC, band.HumidityLowPercent, band.HumidityHighPercent);
}
