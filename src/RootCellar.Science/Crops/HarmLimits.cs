using RootCellar.Science.Keeping;

namespace RootCellar.Science.Crops;

/// <summary>
/// Where air begins to harm a crop within days or weeks if it stays so: what alarms go by. Wider than the band the crop keeps best in
/// (<see cref="Crop.Storage"/>), which advice goes by. Keeping quality only.
/// </summary>
/// <param name="Cold">Harmed below, C.</param>
/// <param name="Warm">Harmed above, C.</param>
/// <param name="Dry">Harmed below, percent over water.</param>
/// <param name="Wet">Harmed above, percent over water; null where only water that settles on it harms it.</param>
public sealed record HarmLimits(Sourced Cold, Sourced Warm, Sourced Dry, Sourced? Wet)
{
    /// <summary>Limits closer than this a room cannot hold: an alarm could hardly end before the other began, C (assumed).</summary>
    public const double LeastApartC = 3;

    /// <summary>The same of humidity, percent (assumed).</summary>
    public const double LeastApartPercent = 10;
}

/// <summary>The limits of every crop, from harm.json. Never changes once read; safe from any thread.</summary>
public sealed class HarmTable
{
    // A crop without a row of its own is held so far beyond its band (assumed).
    private const double BeyondC = 5 / Fahrenheit.PerCelsius;
    private const double BeyondPercent = 10;

    // What wants less than this is kept dry; roots can hardly have too much short of dew.
    private const double KeptDryPercent = 90;

    private static readonly Lazy<HarmTable> Embedded = new(() => Parse(JsonTable.Embedded("harm.json")));

    private readonly Dictionary<string, Row> rows;

    private HarmTable(IEnumerable<Row> rows) =>
        this.rows = rows.SelectMany(row => row.Crops.Select(crop => (Crop: crop, Row: row)))
            .ToDictionary(r => r.Crop, r => r.Row, StringComparer.Ordinal);

    /// <summary>The table that comes with the program.</summary>
    public static HarmTable Default => Embedded.Value;

    /// <summary>The crops that have a row.</summary>
    public IReadOnlyCollection<string> Crops => rows.Keys;

    /// <summary>Reads a table.</summary>
    /// <exception cref="FormatException">It cannot be read; the message names the row and the field, and what would be right.</exception>
    public static HarmTable Parse(string json) =>
        new(JsonTable.Read(json, "Harm table", "id", ReadRow, row => row.Id, row => row.Crops));

    /// <summary>What harms a crop.</summary>
    /// <param name="crop">The crop.</param>
    /// <param name="curing">While it cures; one that is not cured has the limits of storage there too.</param>
    public HarmLimits Of(Crop crop, bool curing = false)
    {
        ArgumentNullException.ThrowIfNull(crop);
        Band band = curing && crop.Curing is { } cured ? cured : crop.Storage;
        if (crop.Like is { } like && CropTable.Default.Find(like) is { } other && SameBand(crop, other, curing))
            return As(crop, other, band, curing);
        var given = rows.GetValueOrDefault(crop.Id) is { } row ? band is CuringBand ? row.Curing : row.Storage : null;
        if (given is null) return Beyond(crop, band);
        // Where it keeps below freezing's guards, as apples do, its band's own edge is nearer to harm than a rule of thumb.
        return new HarmLimits(given.Cold ?? ColdOf(crop, band), given.Warm, given.Dry, given.Wet);
    }

    // What a household's own crop keeps like harms it too, unless it is said to want other air.
    private HarmLimits As(Crop crop, Crop other, Band band, bool curing)
    {
        var limits = Of(other, curing);
        return new HarmLimits(crop.Freezing == other.Freezing && crop.Chilling == other.Chilling ? limits.Cold : ColdOf(crop, band),
            Whose(limits.Warm), Whose(limits.Dry), limits.Wet is { } wet ? Whose(wet) : null);

        Sourced Whose(Sourced limit) => limit with { Source = $"as {other.Name}: {limit.Source}" };
    }

    private static bool SameBand(Crop crop, Crop other, bool curing)
    {
        return Figures(crop) == Figures(other);

        (double, double, double, double) Figures(Crop of)
        {
            Band band = curing && of.Curing is { } cured ? cured : of.Storage;
            return (band.TemperatureLowC, band.TemperatureHighC, band.HumidityLowPercent, band.HumidityHighPercent);
        }
    }

    private static Sourced ColdOf(Crop crop, Band band) => new(
        Math.Min(Cold.HarmBelowC(crop), band.TemperatureLowC), (crop.Chilling ?? crop.Freezing).Source);

    private static HarmLimits Beyond(Crop crop, Band band)
    {
        var cold = ColdOf(crop, band);
        string source = "assumed: 5 F and 10 % beyond its band, which is from " + band.Source;
        return new HarmLimits(
            cold,
            new Sourced(Math.Max(band.TemperatureHighC + BeyondC, cold.Value + HarmLimits.LeastApartC), source),
            new Sourced(Math.Max(0, band.HumidityLowPercent - BeyondPercent), source),
            band.HumidityHighPercent < KeptDryPercent ? new Sourced(band.HumidityHighPercent + BeyondPercent, source) : null);
    }

    private static Row ReadRow(TableRow row)
    {
        row.AllowOnly(row.Root, "", "id", "crops", "storage", "curing");
        var storage = row.Object(row.Root, "storage", "warm", "dry", "wet");
        return new Row(
            row.Text(row.Root, "id"), row.Texts("crops"), Read(row, storage, "storage"),
            row.OptionalObject("curing", "cold", "warm", "dry", "wet") is { } curing ? Read(row, curing, "curing") : null);
    }

    private static Given Read(TableRow row, System.Text.Json.JsonElement limits, string field) => new(
        limits.TryGetProperty("cold", out _) ? Limit(row, limits, field, "cold", "below", TableRow.Temperature) : null,
        Limit(row, limits, field, "warm", "above", TableRow.Temperature),
        Limit(row, limits, field, "dry", "below", TableRow.Humidity),
        limits.TryGetProperty("wet", out _) ? Limit(row, limits, field, "wet", "above", TableRow.Humidity) : null);

    private static Sourced Limit(
        TableRow row, System.Text.Json.JsonElement limits, string field, string key, string side, TableRow.Kind kind)
    {
        var limit = row.Object(limits, key, side, "source");
        string path = $"{field}.{key}";
        var (low, high) = row.Range(limit, path, side, kind);
        if (low != high)
            throw row.Wrong($"{path}.{side}", "must be one figure, not a range");
        return new Sourced(low, row.Text(limit, "source", path));
    }

    private sealed record Given(Sourced? Cold, Sourced Warm, Sourced Dry, Sourced? Wet);

    private sealed record Row(string Id, IReadOnlyList<string> Crops, Given Storage, Given? Curing);
}
