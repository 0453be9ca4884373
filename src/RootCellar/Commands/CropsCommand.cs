using System.CommandLine;
using System.Globalization;
using RootCellar.Science.Crops;
using Spectre.Console;

namespace RootCellar.Commands;

/// <summary>`crops`: curing and storage bands, with their sources.</summary>
internal static class CropsCommand
{
    public static Command Build()
    {
        var name = new Argument<string?>("NAME") { Description = "A crop, by id or name; without it all are listed", Arity = ArgumentArity.ZeroOrOne };
        var json = Print.JsonOption();
        var command = new CommandWithExamples("crops", "Curing and storage bands of cellar crops, with their sources",
            "rootcellar crops",
            "rootcellar crops potato",
            "rootcellar crops \"sweet potato\" --json")
        {
            name, json,
        };
        command.SetAction(parsed =>
        {
            var output = parsed.InvocationConfiguration.Output;
            var table = CropTable.Default;
            if (parsed.GetValue(name) is not { } written)
            {
                if (parsed.GetValue(json))
                    Print.Json(output, table.Crops.Select(Document));
                else
                    List(Print.Console(output), table);
                return 0;
            }

            var crop = table.Find(written) ?? throw new UsageException(Missing(table, written));
            if (parsed.GetValue(json))
                Print.Json(output, Document(crop));
            else
                Details(Print.Console(output), crop);
            return 0;
        });
        return command;
    }

    private static string Missing(CropTable table, string written) => table.Suggest(written) is { } near
        ? $"no crop is called \"{written}\"; did you mean {near}? rootcellar crops lists them all."
        : $"no crop is called \"{written}\"; rootcellar crops lists them all.";

    private static void List(IAnsiConsole console, CropTable crops)
    {
        var table = new Table().Border(TableBorder.Simple)
            .AddColumn("Id").AddColumn("Crop").AddColumn("Curing").AddColumn("In the cellar").AddColumn("Freezes at");
        foreach (var crop in crops.Crops)
        {
            table.AddRow(
                crop.Id,
                Markup.Escape(crop.Name),
                crop.Curing is { } curing ? $"{Temperatures(curing)}, {Humidities(curing)}" : "-",
                $"{Temperatures(crop.Storage)}, {Humidities(crop.Storage)}",
                Print.Temperature(crop.FreezingPointC));
        }

        console.Write(table);
        console.WriteLine("rootcellar crops NAME shows a crop with the source of every figure.");
    }

    private static void Details(IAnsiConsole console, Crop crop)
    {
        var table = new Table().Border(TableBorder.Simple).AddColumn(Markup.Escape(crop.Name)).AddColumn("").AddColumn("Source");
        void Row(string what, string value, string source) => table.AddRow(Markup.Escape(what), Markup.Escape(value), Markup.Escape(source));
        if (crop.Curing is { } curing)
            Row("Curing", $"{Temperatures(curing)}, {Humidities(curing)}, {curing.DaysLow} to {curing.DaysHigh} days", curing.Source);
        else
            Row("Curing", "none", "");
        Row("In the cellar (alarms)", $"{Temperatures(crop.Storage)}, {Humidities(crop.Storage)}", crop.Storage.Source);
        Row("Refrigerated store", $"{Temperatures(crop.Ideal)}, {Humidities(crop.Ideal)}", crop.Ideal.Source);
        foreach (var band in crop.OtherStorage)
            Row($"  {band.For}", $"{Temperatures(band)}, {Humidities(band)}", band.Source);
        Row("Keeps", crop.StorageLife, crop.StorageLifeSource);
        Row("Freezes at", Print.Temperature(crop.FreezingPointC), crop.Freezing.Source);
        if (crop.Chilling is { } chilling)
            Row("Chilling injury below", Print.Temperature(chilling.Value), chilling.Source);
        Row("Ethylene", $"gives off {Words(crop.EthyleneProduction)}, sensitivity {Words(crop.EthyleneSensitivity)}", crop.EthyleneSource);
        if (crop.GreensInLight)
            Row("Light", "turns it green: keep it dark", crop.GreensInLightSource!);
        if (crop.BushelKg is { } bushel)
            Row("A bushel", $"{Print.Number(bushel.Value / 0.45359237, "0.#")} lb ({Print.Number(bushel.Value, "0.0")} kg)", bushel.Source);
        if (crop.BulkDensityLowKgPerM3 is { } low && crop.BulkDensityHighKgPerM3 is { } high)
            Row("A pile", $"{Print.Number(low.Value, "0")} to {Print.Number(high.Value, "0")} kg/m3", low.Source);
        if (crop.Note is { } note)
            Row("Note", note, "");
        console.Write(table);
        console.WriteLine("AH-66: USDA Agriculture Handbook 66. AIB 410, AIB 539: USDA Agriculture Information Bulletins.");
        console.WriteLine("Bands for keeping quality; they say nothing about whether produce is fit to eat.");
    }

    private static string Temperatures(Band band) => Print.Range(band.TemperatureLowC, band.TemperatureHighC);

    private static string Humidities(Band band) => band.HumidityLowPercent == band.HumidityHighPercent
        ? string.Create(CultureInfo.InvariantCulture, $"{band.HumidityLowPercent} %")
        : string.Create(CultureInfo.InvariantCulture, $"{band.HumidityLowPercent} to {band.HumidityHighPercent} %");

    private static string Words(EthyleneLevel level) => level switch
    {
        EthyleneLevel.VeryLow => "very low",
        EthyleneLevel.VeryHigh => "very high",
        EthyleneLevel.Low => "low",
        EthyleneLevel.Moderate => "moderate",
        EthyleneLevel.High => "high",
        _ => throw new ArgumentOutOfRangeException(nameof(level), level, "unknown"),
    };

    private static CropDocument Document(Crop crop) => new(
        crop.Id,
        crop.Name,
        crop.Aliases,
        crop.Curing is { } curing ? Document(curing, null) with { DaysLow = curing.DaysLow, DaysHigh = curing.DaysHigh } : null,
        Document(crop.Storage, null),
        Document(crop.Ideal, null),
        [.. crop.OtherStorage.Select(band => Document(band, band.For))],
        crop.StorageLife,
        crop.FreezingPointC,
        crop.ChillingBelowC,
        Words(crop.EthyleneProduction),
        Words(crop.EthyleneSensitivity),
        crop.GreensInLight,
        crop.BushelKg?.Value,
        crop.Note,
        crop.Sources);

    private static BandDocument Document(Band band, string? use) => new(
        use, band.TemperatureLowC, band.TemperatureHighC, band.HumidityLowPercent, band.HumidityHighPercent, null, null, band.PrintedTemperature, band.Source);

    private sealed record BandDocument(
        string? For,
        double TemperatureLowC,
        double TemperatureHighC,
        double HumidityLowPercent,
        double HumidityHighPercent,
        int? DaysLow,
        int? DaysHigh,
        string PrintedTemperature,
        string Source);

    private sealed record CropDocument(
        string Id,
        string Name,
        IReadOnlyList<string> Aliases,
        BandDocument? Curing,
        BandDocument Storage,
        BandDocument Ideal,
        IReadOnlyList<BandDocument> OtherStorage,
        string StorageLife,
        double FreezingPointC,
        double? ChillingBelowC,
        string EthyleneProduction,
        string EthyleneSensitivity,
        bool GreensInLight,
        double? BushelKg,
        string? Note,
        IReadOnlyList<string> Sources);
}
