using System.Globalization;
using System.Text.Json;
using System.Text.RegularExpressions;
using RootCellar.Science.Keeping;

namespace RootCellar.Science.Crops;

/// <summary>Reads the crop table's JSON, saying of anything wrong which row, which field and what would be right.</summary>
internal static class CropTableReader
{
    public static CropTable Read(string json) =>
        new(JsonTable.Read(json, "Crop table", "id", ReadCrop, crop => crop.Id, CropTable.NamesOf));

    /// <summary>One row, named by what is wrong with it as it is told.</summary>
    public static Crop ReadOwn(string json, string table)
    {
        using var document = JsonDocument.Parse(json);
        return ReadCrop(new TableRow(document.RootElement, table));
    }

    private static Crop ReadCrop(TableRow row)
    {
        row.AllowOnly(row.Root, "", "id", "name", "aliases", "harvest", "asks", "sprouts", "cull", "canningProcess",
            "food", "shriveled", "curing", "storage", "ideal", "otherStorage", "storageLife",
            "freezing",
            "chilling", "chillingHarm", "ethylene", "ethyleneEffect", "odours", "transpiration", "early", "spread", "vapourPressureLowering", "respiration", "thermal",
            "greensInLight", "canning",
            "bushel", "bulkDensity", "note");
        string id = row.Text(row.Root, "id");
        if (!Regex.IsMatch(id, "^[a-z0-9]+(-[a-z0-9]+)*$", RegexOptions.CultureInvariant | RegexOptions.ExplicitCapture,
            TimeSpan.FromSeconds(1)))
            throw row.Wrong("id", $"\"{id}\" must be small letters, digits and single hyphens, such as \"sweet-potato\"");
        var life = row.Object(row.Root, "storageLife", "text", "source");
        var ethylene = row.Object(row.Root, "ethylene", "production", "sensitivity", "source");
        var greens = row.OptionalObject("greensInLight", "value", "source");
        var bushel = row.OptionalObject("bushel", "pounds", "source");
        var pile = row.OptionalObject("bulkDensity", "from", "source");
        var (pileLow, pileHigh) = pile is { } p ? row.Range(p, "bulkDensity", "from", TableRow.Density) : default;
        return new Crop
        {
            Id = id,
            Name = row.Text(row.Root, "name"),
            Aliases = row.Texts("aliases"),
            Curing = row.OptionalObject("curing", "rule", "temperature", "humidity", "days", "source") is { } curing
                ? ReadCuring(row, curing) : null,
            Storage = ReadStorage(row, row.Object(row.Root, "storage", "temperature", "humidity", "source"), "storage"),
            Ideal = ReadStorage(row, row.Object(row.Root, "ideal", "temperature", "humidity", "source"), "ideal"),
            OtherStorage = [.. row.Objects("otherStorage", "for", "temperature", "humidity", "source")
                .Select(band => ReadStorage(row, band, "otherStorage") with { For = row.Text(band, "for", "otherStorage") })],
            StorageLife = row.Text(life, "text", "storageLife"),
            StorageLifeSource = row.Text(life, "source", "storageLife"),
            Freezing = ReadTemperature(row, row.Object(row.Root, "freezing", "at", "source"), "freezing", "at"),
            Chilling = row.OptionalObject("chilling", "below", "source") is { } chilling
                ? ReadTemperature(row, chilling, "chilling", "below") : null,
            ChillingHarm = row.OptionalObject("chillingHarm", "degreeDays", "source") is { } harm
                ? new Sourced(row.Number(harm, "degreeDays", "chillingHarm", 0.1, 1000), row.Text(harm, "source", "chillingHarm")) : null,
            EthyleneProduction = row.Choice<EthyleneLevel>(ethylene, "production", "ethylene"),
            EthyleneSensitivity = row.Choice<EthyleneLevel>(ethylene, "sensitivity", "ethylene"),
            EthyleneSource = row.Text(ethylene, "source", "ethylene"),
            EthyleneEffect = row.OptionalText("ethyleneEffect"),
            Odours = ReadOdours(row, row.Object(row.Root, "odours", "gives", "takesUp", "source")),
            Transpiration = ReadNumber(row, "transpiration", "ngPerKgPaS", 1, 20_000),
            Early = row.OptionalObject("early", "percent", "freshNgPerKgPaS", "days", "curingDays", "source") is { } early ? ReadEarly(row, early) : null,
            Spread = row.OptionalObject("spread", "factor", "source") is { } spread
                ? new Sourced(row.Number(spread, "factor", "spread", 1.3, 4), row.Text(spread, "source", "spread"))
                : new Sourced(WaterLoss.OtherCropFactor, WaterLoss.OtherCropSource),
            VapourPressureLowering = ReadNumber(row, "vapourPressureLowering", "value", 0.5, 1),
            Respiration = ReadRespiration(row, row.Object(row.Root, "respiration", "mgCO2PerKgH", "source")),
            Thermal = row.OptionalObject("thermal", "waterPercent", "specificHeatKJPerKgK", "source") is { } thermal
                ? new ThermalTraits(
                    row.Number(thermal, "waterPercent", "thermal", 2, 100),
                    row.Number(thermal, "specificHeatKJPerKgK", "thermal", 1, 4.2),
                    row.Text(thermal, "source", "thermal"))
                : null,
            Harvest = row.Choice<Harvest>(row.Root, "harvest", "", '-'),
            Asks = row.Choices<HarvestSign>("asks"),
            Sprouts = row.Choice<SproutKind>(row.Root, "sprouts", "", '-'),
            Cull = row.Choices<CullReason>("cull"),
            Canned = row.Root.TryGetProperty("canningProcess", out _)
                ? row.Choice<CanningProcess>(row.Root, "canningProcess", "", '-') : null,
            Food = !row.Root.TryGetProperty("food", out _) || row.Flag(row.Root, "food", ""),
            Shriveled = ReadShriveled(row, row.Object(row.Root, "shriveled", "percent", "source")),
            GreensInLight = greens is { } g && row.Flag(g, "value", "greensInLight"),
            GreensInLightSource = greens is { } gs ? row.Text(gs, "source", "greensInLight") : null,
            Canning = [.. row.Objects("canning", "as", "poundsPer7LiquidQuarts", "poundsPer9LiquidPints", "container", "source")
                .Select(item => ReadCanning(row, item))],
            BushelKg = bushel is { } b ? new Sourced(row.Number(b, "pounds", "bushel") * Pound.Kilograms, row.Text(b, "source", "bushel"))
                : null,
            BulkDensityLowKgPerM3 = pile is { } low ? new Sourced(pileLow, row.Text(low, "source", "bulkDensity")) : null,
            BulkDensityHighKgPerM3 = pile is { } high ? new Sourced(pileHigh, row.Text(high, "source", "bulkDensity")) : null,
            Note = row.Root.TryGetProperty("note", out _) ? row.Text(row.Root, "note") : null,
        };
    }

    private static CuringBand ReadCuring(TableRow row, JsonElement curing)
    {
        var (low, high) = row.Range(curing, "curing", "temperature", TableRow.Temperature);
        var (dry, damp) = row.Range(curing, "curing", "humidity", TableRow.Humidity);
        var (shortest, longest) = row.Range(curing, "curing", "days", TableRow.Days);
        return new CuringBand(low, high, dry, damp, row.Text(curing, "temperature", "curing"), row.Text(curing, "source", "curing"),
            (int)shortest, (int)longest, CuringRuleOf(row, curing));
    }

    private static CuringRule CuringRuleOf(TableRow row, JsonElement curing)
    {
        var rule = row.Choice<CuringRule>(curing, "rule", "curing", '-');
        return rule != CuringRule.None ? rule
            : throw row.Wrong("curing.rule", "a crop that is not cured has no curing at all: leave \"curing\" out");
    }

    private static EarlyLoss ReadEarly(TableRow row, JsonElement early)
    {
        bool loses = early.TryGetProperty("percent", out _), open = early.TryGetProperty("freshNgPerKgPaS", out _);
        if (!loses && !open)
            throw row.Wrong("early", "must hold percent, freshNgPerKgPaS or both; a crop with neither has no \"early\" at all");
        return new EarlyLoss(
            loses ? row.Number(early, "percent", "early", 0.1, 20) : 0,
            open ? row.Number(early, "freshNgPerKgPaS", "early", 1, 20_000) : null,
            row.Number(early, "days", "early", 1, 365),
            early.TryGetProperty("curingDays", out _) ? row.Number(early, "curingDays", "early", 0.5, 100) : null,
            row.Text(early, "source", "early"));
    }

    private static Sourced ReadShriveled(TableRow row, JsonElement shriveled) => new(
        row.Number(shriveled, "percent", "shriveled", 1, 50) / 100, row.Text(shriveled, "source", "shriveled"));

    private static StorageBand ReadStorage(TableRow row, JsonElement band, string field)
    {
        var (low, high) = row.Range(band, field, "temperature", TableRow.Temperature);
        var (dry, damp) = row.Range(band, field, "humidity", TableRow.Humidity);
        return new StorageBand(low, high, dry, damp, row.Text(band, "temperature", field), row.Text(band, "source", field), For: null);
    }

    private static Odours ReadOdours(TableRow row, JsonElement odours) => new(
        row.Choice<OdourLevel>(odours, "gives", "odours"),
        row.Choice<OdourLevel>(odours, "takesUp", "odours"),
        row.Text(odours, "source", "odours"));

    private static CanningYield ReadCanning(TableRow row, JsonElement item) => new(
        row.Text(item, "as", "canning"),
        row.Number(item, "poundsPer7LiquidQuarts", "canning", 1, 100),
        row.Number(item, "poundsPer9LiquidPints", "canning", 1, 100),
        item.TryGetProperty("container", out _) ? row.Text(item, "container", "canning") : null,
        row.Text(item, "source", "canning"));

    private static Sourced ReadNumber(TableRow row, string field, string key, double low, double high)
    {
        var element = row.Object(row.Root, field, key, "source");
        return new Sourced(row.Number(element, key, field, low, high), row.Text(element, "source", field));
    }

    private static RespirationTable ReadRespiration(TableRow row, JsonElement element)
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
            if (!double.TryParse(rate.Name, NumberStyles.AllowLeadingSign | NumberStyles.AllowDecimalPoint, CultureInfo.InvariantCulture,
                out double temperatureC)
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

    private static Sourced ReadTemperature(TableRow row, JsonElement element, string field, string key)
    {
        var (low, high) = row.Range(element, field, key, TableRow.Temperature);
        if (low != high)
            throw row.Wrong($"{field}.{key}", "must be one temperature, such as \"-0.8 C\", not a range");
        return new Sourced(low, row.Text(element, "source", field));
    }
}
