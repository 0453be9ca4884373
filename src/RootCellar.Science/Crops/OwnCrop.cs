using System.Globalization;
using System.Text.Json;
using System.Text.Json.Nodes;

namespace RootCellar.Science.Crops;

/// <summary>
/// A crop of a household's own: it keeps like one of the table, and what the household knows better stands instead. Or it has every
/// figure of a row; or none, and is known to the book only.
/// </summary>
public static class OwnCrop
{
    // A band narrower than this cannot be held by a cellar and would sound an alarm that never ends (assumed).
    private const double NarrowestC = 1;
    private const double NarrowestPercent = 3;

    // What is said of the very crop, or weighed or tested of it, is no other crop's.
    private static readonly string[] NotTaken =
    [
        "id", "name", "aliases", "note", "canning", "canningProcess", "bushel", "bulkDensity", "otherStorage",
    ];

    // Of these the source says whose they are, for they are shown with it.
    private static readonly string[] SaidWhose = ["curing", "storage", "ideal", "storageLife"];

    private static readonly JsonDocumentOptions Options = new() { CommentHandling = JsonCommentHandling.Skip, AllowTrailingCommas = true };

    private static readonly Lazy<Dictionary<string, JsonObject>> Rows = new(() => JsonNode
        .Parse(JsonTable.Embedded("crops.json"), documentOptions: Options)!.AsArray()
        .Select(row => row!.AsObject()).ToDictionary(row => row["id"]!.GetValue<string>(), StringComparer.Ordinal));

    /// <summary>The crop; null where nothing is known of it but its name.</summary>
    /// <param name="name">What it is called, and known by.</param>
    /// <param name="like">The crop of the table it keeps like; null where it is like none.</param>
    /// <param name="figures">A JSON object of a row's fields, instead of that crop's; null for none. A source may be left out.</param>
    /// <exception cref="FormatException">Something is wrong: which field, what, and what would be right.</exception>
    public static Crop? Read(string name, string? like, string? figures)
    {
        ArgumentNullException.ThrowIfNull(name);
        if (CropTable.Default.Find(name) is { } there)
            throw Wrong(name, "crop", $"it is in the crop table already, as {there.Id}: write that");
        var given = Given(name, figures);
        var taken = like is null ? null : CropTable.Default.Find(like) ?? throw Wrong(
            name, "like", $"\"{like}\" is not in the crop table."
            + (CropTable.Default.Suggest(like) is { } near ? $" Did you mean {near}?" : "")
            + " Right is the id of a crop it keeps like, or nothing for a crop that is known to the book only");
        if (taken is null && given.Count == 0) return null;
        var row = taken is null ? new JsonObject() : Inherited(taken);
        foreach (var (field, value) in given)
        {
            var own = value?.DeepClone();
            if (own is JsonObject figure && !figure.ContainsKey("source")) figure["source"] = "the household";
            row[field] = own;
        }

        (row["id"], row["name"]) = ("own-crop", name);
        var crop = CropTableReader.ReadOwn(row.ToJsonString(), $"Crop {name}") with
        {
            Id = name,
            Like = taken?.Id,
            Definition = $"{taken?.Id} {given.ToJsonString()}",
        };
        Check(name, crop, given.ContainsKey("storage"));
        // Who knows that it keeps colder than its like is chilled knows better.
        return given.ContainsKey("storage") && !given.ContainsKey("chilling") && crop.ChillingBelowC > crop.Storage.TemperatureLowC
            ? crop with { Chilling = null, ChillingHarm = null } : crop;
    }

    private static JsonObject Given(string name, string? figures)
    {
        try
        {
            var given = figures is null ? [] : JsonNode.Parse(figures, documentOptions: Options) as JsonObject
                ?? throw Wrong(name, "figures", "it must be an object of a row's fields, such as { \"storage\": { ... } }");
            foreach (string field in (string[])["id", "name", "like"])
            {
                if (given.ContainsKey(field)) throw Wrong(name, field, "it stands beside the figures, not among them");
            }

            return given;
        }
        catch (JsonException e)
        {
            throw Wrong(name, "figures", $"this is not JSON: {e.Message}");
        }
    }

    private static JsonObject Inherited(Crop taken)
    {
        var row = Rows.Value[taken.Id].DeepClone().AsObject();
        foreach (string field in NotTaken) row.Remove(field);
        foreach (string field in SaidWhose)
        {
            if (row[field] is JsonObject figure) figure["source"] = $"as {taken.Name}: {figure["source"]}";
        }

        return row;
    }

    private static void Check(string name, Crop crop, bool ownBand)
    {
        foreach (string alias in crop.Aliases)
        {
            if (CropTable.Default.Find(alias) is { } there) throw Wrong(name, "aliases", $"\"{alias}\" is {there.Id} in the crop table");
        }

        if (!ownBand) return;
        var band = crop.Storage;
        if (band.TemperatureLowC <= crop.FreezingPointC)
            throw Wrong(name, "storage.temperature", string.Create(
                CultureInfo.InvariantCulture, $"{band.PrintedTemperature} begins where it freezes, {crop.FreezingPointC} C"));
        if (band.TemperatureHighC - band.TemperatureLowC < NarrowestC)
            throw Wrong(name, "storage.temperature",
                $"{band.PrintedTemperature} is too narrow to hold; right is a range of 1 C (2 F) or more");
        if (band.HumidityHighPercent - band.HumidityLowPercent < NarrowestPercent)
            throw Wrong(name, "storage.humidity", "it is too narrow to hold; right is a range of 3 % or more, such as \"85 to 95 %\"");
    }

    private static FormatException Wrong(string name, string field, string what) => new($"Crop {name}, field {field}: {what}.");
}
