using System.Text.Json;
using System.Text.Json.Nodes;
using RootCellar.Storage;

namespace RootCellar.Ledger;

/// <summary>
/// What the book asks: in English for programs, and by a code with its figures for those who have words and units of their own.
/// </summary>
/// <param name="Code">One of <see cref="QuestionCode"/>.</param>
/// <param name="Text">In English, weights in kg.</param>
/// <param name="FiguresJson">What it is about, as a JSON object: names, weights in kg, days and moments. <c>entry</c> where another entry
/// than the one given is in question.</param>
internal sealed record Question(string Code, string Text, string FiguresJson = "{}")
{
    public JsonElement Figures
    {
        get
        {
            using var document = JsonDocument.Parse(FiguresJson);
            return document.RootElement.Clone();
        }
    }

    public static Question Of(string code, string text, object? figures) =>
        new(code, text, figures is null ? "{}" : JsonSerializer.Serialize(figures, JsonRules.Options));

    /// <summary>The same, put to who gave another entry than the one in question.</summary>
    public Question About(long entry)
    {
        var figures = JsonNode.Parse(FiguresJson)!.AsObject();
        figures["entry"] = entry;
        return new Question(Code, $"With this, entry {entry} no longer makes sense: {Text}", figures.ToJsonString(JsonRules.Options));
    }

    /// <summary>As the record and the CSV file hold it.</summary>
    public string Kept() => new JsonObject { ["code"] = Code, ["text"] = Text, ["figures"] = JsonNode.Parse(FiguresJson) }.ToJsonString(
        JsonRules.Options);

    /// <summary>Out of what was kept; a text without a code is a question all the same.</summary>
    public static Question? Read(string? kept)
    {
        if (string.IsNullOrEmpty(kept)) return null;
        if (kept[0] != '{') return new Question("", kept);
        try
        {
            var read = JsonNode.Parse(kept)!.AsObject();
            return new Question((string?)read["code"] ?? "", (string?)read["text"] ?? kept,
                read["figures"] is JsonObject figures ? figures.ToJsonString(JsonRules.Options) : "{}");
        }
        catch (Exception e) when (e is JsonException or InvalidOperationException or ArgumentException)
        {
            return new Question("", kept);
        }
    }
}

/// <summary>All that the book can ask.</summary>
internal static class QuestionCode
{
    public const string AlreadyThere = "already-there";
    public const string BeforeDigging = "before-digging";
    public const string DugBeforePlanting = "dug-before-planting";
    public const string DueBefore = "due-before";
    public const string DugTwice = "dug-twice";
    public const string Emptied = "emptied";
    public const string FarOff = "far-off";
    public const string FilledTwice = "filled-twice";
    public const string Future = "future";
    public const string LongAgo = "long-ago";
    public const string LooksAlike = "looks-alike";
    public const string MoreThanDug = "more-than-dug";
    public const string MoreThanThere = "more-than-there";
    public const string NotAllSorted = "not-all-sorted";
    public const string NotInOrder = "not-in-order";
    public const string OtherCrop = "other-crop";
    public const string OtherCropInRow = "other-crop-in-row";
    public const string OtherLot = "other-lot";
    public const string OtherPlanting = "other-planting";
    public const string PlantedAfter = "planted-after";
    public const string PromisedTwice = "promised-twice";
    public const string RowPlantedTwice = "row-planted-twice";
    public const string TooHeavy = "too-heavy";
    /// <summary>Asked by the estimate, not by the book: to be entered all the same takes no more than saying so.</summary>
    public const string UnexpectedWeight = "unexpected-weight";
    public const string WouldHarm = "would-harm";
    public const string UnknownBin = "unknown-bin";
    public const string UnknownLot = "unknown-lot";
    public const string UnknownPlace = "unknown-place";
    public const string UnknownRow = "unknown-row";
    public const string Unmeasured = "unmeasured";
    public const string VinesDeadTwice = "vines-dead-twice";

    /// <summary>Not asked: the fields make no sense, whoever insists. Its figures have a <see cref="Refusal"/>.</summary>
    public const string Unreadable = "unreadable";
}

/// <summary>
/// Why fields make no sense, as far as a form can send such: the rest is a mistake of a program and said in English only.
/// </summary>
internal static class Refusal
{
    public const string BinTwice = "bin-twice";
    public const string NotADate = "not-a-date";
    public const string OddName = "odd-name";
    public const string OneLine = "one-line";
    public const string OutOfRange = "out-of-range";
    public const string TooLong = "too-long";
    public const string TooMuch = "too-much";
    public const string Year = "year";
}
