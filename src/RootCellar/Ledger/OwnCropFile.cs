using System.Text.Json;
using System.Text.Json.Nodes;
using RootCellar.Ledger.Events;
using RootCellar.Storage;

namespace RootCellar.Ledger;

/// <summary>The household's own crop table cannot be read. The message says what is wrong and what would be right.</summary>
internal sealed class OwnCropProblemException(string message, Exception? inner = null) : Exception(message, inner);

/// <summary>
/// The household's own crop table, <c>crops.json</c> in the data folder: a list of rows with a name, what it keeps like and fields of
/// the crop table. At a start what is new or other in it is written into the book, which is what backup, export and restore carry.
/// </summary>
internal static class OwnCropFile
{
    public const string Name = DataFolder.OwnCrops;

    private const string By = Name;

    private static readonly JsonDocumentOptions Options = new() { CommentHandling = JsonCommentHandling.Skip, AllowTrailingCommas = true };

    /// <summary>Its rows as events of the book; none where there is no file.</summary>
    /// <exception cref="OwnCropProblemException">It cannot be read: which row, which field, and what would be right.</exception>
    public static IReadOnlyList<NewEntry> Read(string folder, DateTimeOffset now)
    {
        var path = Path.Combine(folder, Name);
        if (!File.Exists(path)) return [];
        JsonArray rows;
        try
        {
            rows = JsonNode.Parse(File.ReadAllText(path), documentOptions: Options) as JsonArray
                ?? throw new OwnCropProblemException($"{Name}: it must be a list of crops, such as [ {{ \"name\": \"Medlar\", \"like\": \"pear\" }} ].");
        }
        catch (JsonException e)
        {
            throw new OwnCropProblemException($"{Name}: this is not JSON: {e.Message}", e);
        }

        return [.. rows.Select((row, i) => Entry(row, i + 1, now))];
    }

    /// <summary>Writes what is new or other in it into the book.</summary>
    public static async Task TakeAsync(LedgerDoor door, string folder)
    {
        var there = door.Book.Entries.Where(s => s.Counts).Select(s => s.Event).OfType<CropDescribed>()
            .ToLookup(c => c.Crop, StringComparer.OrdinalIgnoreCase);
        var fresh = Read(folder, door.Now).Where(entry => CropDescribed.Event.Read(entry.Body) is CropDescribed told
            && !(there[told.Crop].LastOrDefault() is { } known && known.IsAs(told))).ToList();
        if (fresh.Count == 0) return;
        if (await door.TakeAsync(fresh, null, By) is LedgerAnswer.Wrong wrong) throw new OwnCropProblemException($"{Name}: {wrong.Detail}");
    }

    private static NewEntry Entry(JsonNode? row, int number, DateTimeOffset now)
    {
        if (row is not JsonObject given)
            throw new OwnCropProblemException($"{Name}, row {number}: it must be {{ \"name\": ..., \"like\": ... }}.");
        var (sent, figures) = (new JsonObject { ["event"] = CropDescribed.Name }, new JsonObject());
        foreach (var (field, value) in given)
        {
            if (field == "name") sent["crop"] = value?.DeepClone();
            else if (field == "like") sent["like"] = value?.DeepClone();
            else figures[field] = value?.DeepClone();
        }

        if (figures.Count > 0) sent["figures"] = figures;
        return EventReader.Read(EventReader.Element(sent), now, out var wrong)
            ?? throw new OwnCropProblemException($"{Name}, row {number}: {wrong!.Replace("crop: ", "name: ", StringComparison.Ordinal)}");
    }
}
