using System.Globalization;
using System.Text.Json;
using System.Text.RegularExpressions;

namespace RootCellar.Science.Crops;

/// <summary>Reads the crop table's JSON, saying of anything wrong which row, which field and what would be right.</summary>
internal static class CropTableReader
{
    private static readonly JsonDocumentOptions Options = new()
    {
        CommentHandling = JsonCommentHandling.Skip,
        AllowTrailingCommas = true,
    };

    public static CropTable Read(string json)
    {
        ArgumentNullException.ThrowIfNull(json);
        JsonDocument document;
        try
        {
            document = JsonDocument.Parse(json, Options);
        }
        catch (JsonException e)
        {
            throw new FormatException($"The crop table is not JSON: {e.Message}", e);
        }

        using (document)
        {
            if (document.RootElement.ValueKind != JsonValueKind.Array)
                throw new FormatException("The crop table must be a list of rows: [ { \"id\": ... }, ... ].");
            var crops = new List<Crop>();
            var taken = new Dictionary<string, string>(StringComparer.Ordinal);
            foreach (var element in document.RootElement.EnumerateArray())
            {
                var row = new CropRow(element, crops.Count + 1);
                var crop = ReadCrop(row);
                foreach (var name in CropTable.NamesOf(crop).DistinctBy(CropTable.Key, StringComparer.Ordinal))
                {
                    if (!taken.TryAdd(CropTable.Key(name), crop.Id))
                        throw row.Wrong("id, name or aliases", $"\"{name}\" already names {taken[CropTable.Key(name)]}; every name may stand once");
                }

                crops.Add(crop);
            }

            return new CropTable(crops);
        }
    }

    private static Crop ReadCrop(CropRow row)
    {
        row.AllowOnly(row.Root, "", "id", "name", "aliases", "curing", "storage", "ideal", "otherStorage", "storageLife", "freezing",
            "chilling", "ethylene", "transpiration", "vapourPressureLowering", "respiration", "thermal", "greensInLight", "bushel", "bulkDensity", "note");
        string id = row.Text(row.Root, "id");
        if (!Regex.IsMatch(id, "^[a-z0-9]+(-[a-z0-9]+)*$", RegexOptions.CultureInvariant | RegexOptions.ExplicitCapture, TimeSpan.FromSeconds(1)))
            throw row.Wrong("id", $"\"{id}\" must be small letters, digits and single hyphens, such as \"sweet-potato\"");
        var life = row.Object(row.Root, "storageLife", "text", "source");
        var ethylene = row.Object(row.Root, "ethylene", "production", "sensitivity", "source");
        var greens = row.OptionalObject("greensInLight", "value", "source");
        var bushel = row.OptionalObject("bushel", "pounds", "source");
        var pile = row.OptionalObject("bulkDensity", "from", "source");
        var (pileLow, pileHigh) = pile is { } p ? row.Range(p, "bulkDensity", "from", CropRow.Density) : default;
        return new Crop
        {
            Id = id,
            Name = row.Text(row.Root, "name"),
            Aliases = row.Texts("aliases"),
            Curing = row.OptionalObject("curing", "temperature", "humidity", "days", "source") is { } curing ? ReadCuring(row, curing) : null,
            Storage = ReadStorage(row, row.Object(row.Root, "storage", "temperature", "humidity", "source"), "storage"),
            Ideal = ReadStorage(row, row.Object(row.Root, "ideal", "temperature", "humidity", "source"), "ideal"),
            OtherStorage = [.. row.Objects("otherStorage", "for", "temperature", "humidity", "source")
                .Select(band => ReadStorage(row, band, "otherStorage") with { For = row.Text(band, "for", "otherStorage") })],
            StorageLife = row.Text(life, "text", "storageLife"),
            StorageLifeSource = row.Text(life, "source", "storageLife"),
            Freezing = ReadTemperature(row, row.Object(row.Root, "freezing", "at", "source"), "freezing", "at"),
            Chilling = row.OptionalObject("chilling", "below", "source") is { } chilling ? ReadTemperature(row, chilling, "chilling", "below") : null,
            EthyleneProduction = row.Level(ethylene, "production"),
            EthyleneSensitivity = row.Level(ethylene, "sensitivity"),
            EthyleneSource = row.Text(ethylene, "source", "ethylene"),
            Transpiration = ReadNumber(row, "transpiration", "ngPerKgPaS", 1, 20_000),
            VapourPressureLowering = ReadNumber(row, "vapourPressureLowering", "value", 0.9, 1),
            Respiration = ReadRespiration(row, row.Object(row.Root, "respiration", "mgCO2PerKgH", "source")),
            Thermal = row.OptionalObject("thermal", "waterPercent", "specificHeatKJPerKgK", "source") is { } thermal
                ? new ThermalTraits(
                    row.Number(thermal, "waterPercent", "thermal", 10, 100),
                    row.Number(thermal, "specificHeatKJPerKgK", "thermal", 1, 4.2),
                    row.Text(thermal, "source", "thermal"))
                : null,
            GreensInLight = greens is { } g && row.Flag(g, "value", "greensInLight"),
            GreensInLightSource = greens is { } gs ? row.Text(gs, "source", "greensInLight") : null,
            BushelKg = bushel is { } b ? new Sourced(row.Number(b, "pounds", "bushel") * CropRow.KilogramsPerPound, row.Text(b, "source", "bushel")) : null,
            BulkDensityLowKgPerM3 = pile is { } low ? new Sourced(pileLow, row.Text(low, "source", "bulkDensity")) : null,
            BulkDensityHighKgPerM3 = pile is { } high ? new Sourced(pileHigh, row.Text(high, "source", "bulkDensity")) : null,
            Note = row.Root.TryGetProperty("note", out _) ? row.Text(row.Root, "note") : null,
        };
    }

    private static CuringBand ReadCuring(CropRow row, JsonElement curing)
    {
        var (low, high) = row.Range(curing, "curing", "temperature", CropRow.Temperature);
        var (dry, damp) = row.Range(curing, "curing", "humidity", CropRow.Humidity);
        var (shortest, longest) = row.Range(curing, "curing", "days", CropRow.Days);
        return new CuringBand(low, high, dry, damp, row.Text(curing, "temperature", "curing"), row.Text(curing, "source", "curing"), (int)shortest, (int)longest);
    }

    private static StorageBand ReadStorage(CropRow row, JsonElement band, string field)
    {
        var (low, high) = row.Range(band, field, "temperature", CropRow.Temperature);
        var (dry, damp) = row.Range(band, field, "humidity", CropRow.Humidity);
        return new StorageBand(low, high, dry, damp, row.Text(band, "temperature", field), row.Text(band, "source", field), For: null);
    }

    private static Sourced ReadNumber(CropRow row, string field, string key, double low, double high)
    {
        var element = row.Object(row.Root, field, key, "source");
        return new Sourced(row.Number(element, key, field, low, high), row.Text(element, "source", field));
    }

    private static RespirationTable ReadRespiration(CropRow row, JsonElement element)
    {
        const string Field = "respiration.mgCO2PerKgH";
        const string Example = "must hold rates by rising temperature, such as { \"0\": 5, \"10\": 12 }";
        if (!element.TryGetProperty("mgCO2PerKgH", out var rates))
            throw row.Wrong(Field, "is missing");
        if (rates.ValueKind != JsonValueKind.Object)
            throw row.Wrong(Field, Example);
        var points = new List<RespirationPoint>();
        foreach (var rate in rates.EnumerateObject())
        {
            if (!double.TryParse(rate.Name, NumberStyles.AllowLeadingSign | NumberStyles.AllowDecimalPoint, CultureInfo.InvariantCulture, out double temperatureC)
                || temperatureC is < -5 or > 45)
            {
                throw row.Wrong(Field, $"\"{rate.Name}\" must be a temperature in C, -5 to 45");
            }

            if (points.Count > 0 && points[^1].TemperatureC >= temperatureC)
                throw row.Wrong(Field, Example);
            points.Add(new RespirationPoint(temperatureC, row.Number(rates, rate.Name, Field, 0.1, 2000)));
        }

        if (points.Count == 0)
            throw row.Wrong(Field, Example);
        return new RespirationTable(points, row.Text(element, "source", "respiration"));
    }

    private static Sourced ReadTemperature(CropRow row, JsonElement element, string field, string key)
    {
        var (low, high) = row.Range(element, field, key, CropRow.Temperature);
        if (low != high)
            throw row.Wrong($"{field}.{key}", "must be one temperature, such as \"-0.8 C\", not a range");
        return new Sourced(low, row.Text(element, "source", field));
    }
}
