using System.Globalization;
using System.Text.Json;
using System.Text.RegularExpressions;

namespace RootCellar.Science.Crops;

/// <summary>One row of a table while it is read. Knows its number and name, so that every complaint can name them.</summary>
internal sealed partial class TableRow
{
    private const double CubicMetresPerCubicFoot = 0.028316846592;

    private readonly string _table;
    private readonly string _label;

    public TableRow(JsonElement element, int number, string table, string namedBy)
    {
        _table = table;
        _label = string.Create(CultureInfo.InvariantCulture, $"row {number}");
        Root = element;
        if (element.ValueKind != JsonValueKind.Object)
            throw Wrong("the whole row", $"must be {{ \"{namedBy}\": ... }}");
        if (element.TryGetProperty(namedBy, out var id) && id.ValueKind == JsonValueKind.String)
            _label = $"{_label} ({id.GetString()})";
    }

    /// <summary>A row that stands by itself.</summary>
    public TableRow(JsonElement element, string table)
    {
        (_table, _label, Root) = (table, "", element);
    }

    public JsonElement Root { get; }

    // A kind of range: its units with the way to SI, the values it may take, and how it is written.
    public static Kind Temperature { get; } = new("32 to 40 F\" or \"0 to 4.4 C", -60, 100,
        new(StringComparer.Ordinal) { ["F"] = f => (f - 32) * 5 / 9, ["C"] = c => c });

    public static Kind Humidity { get; } = new("90 to 95 %", 0, 100, new(StringComparer.Ordinal) { ["%"] = h => h });

    public static Kind Days { get; } = new("7 to 21", 1, 365, new(StringComparer.Ordinal) { [""] = d => d });

    public static Kind Density { get; } = new("40 to 43 lb/ft3\" or \"640 to 690 kg/m3", 50, 2000,
        new(StringComparer.Ordinal) { ["lb/ft3"] = d => d * Pound.Kilograms / CubicMetresPerCubicFoot, ["kg/m3"] = d => d });

    public FormatException Wrong(string field, string what) =>
        new($"{_table}{(_label.Length == 0 ? "" : ", " + _label)}, field {field}: {what}.");

    public void AllowOnly(JsonElement element, string path, params ReadOnlySpan<string> fields)
    {
        foreach (var property in element.EnumerateObject())
        {
            if (!fields.Contains(property.Name))
                throw Wrong(Path(path, property.Name), $"is not known here; known are {string.Join(", ", fields!)}");
        }
    }

    public string Text(JsonElement element, string key, string path = "")
    {
        if (!element.TryGetProperty(key, out var value))
            throw Wrong(Path(path, key), "is missing");
        if (value.ValueKind != JsonValueKind.String || string.IsNullOrWhiteSpace(value.GetString()))
            throw Wrong(Path(path, key), "must be a text that is not empty");
        return value.GetString()!;
    }

    public SourcedText? OptionalText(string key) => OptionalObject(key, "text", "source") is { } found
        ? new SourcedText(Text(found, "text", key), Text(found, "source", key))
        : null;

    public IReadOnlyList<string> Texts(string key)
    {
        if (!Root.TryGetProperty(key, out var list))
            return [];
        if (list.ValueKind != JsonValueKind.Array || list.EnumerateArray().Any(item => item.ValueKind != JsonValueKind.String))
            throw Wrong(key, "must be a list of texts");
        return [.. list.EnumerateArray().Select(item => item.GetString()!)];
    }

    public JsonElement Object(JsonElement element, string key, params ReadOnlySpan<string> fields)
    {
        if (!element.TryGetProperty(key, out var value))
            throw Wrong(key, "is missing");
        return Checked(value, key, fields);
    }

    public JsonElement? OptionalObject(string key, params ReadOnlySpan<string> fields) =>
        Root.TryGetProperty(key, out var value) ? Checked(value, key, fields) : null;

    public IReadOnlyList<JsonElement> Objects(string key, params ReadOnlySpan<string> fields)
    {
        if (!Root.TryGetProperty(key, out var list))
            return [];
        if (list.ValueKind != JsonValueKind.Array)
            throw Wrong(key, "must be a list");
        var found = new List<JsonElement>();
        foreach (var item in list.EnumerateArray())
            found.Add(Checked(item, key, fields));
        return found;
    }

    public bool Flag(JsonElement element, string key, string path)
    {
        if (element.TryGetProperty(key, out var value) && value.ValueKind is JsonValueKind.True or JsonValueKind.False)
            return value.GetBoolean();
        throw Wrong(Path(path, key), "must be true or false");
    }

    public double Number(JsonElement element, string key, string path)
    {
        if (element.TryGetProperty(key, out var value) && value.ValueKind == JsonValueKind.Number && value.GetDouble() > 0)
            return value.GetDouble();
        throw Wrong(Path(path, key), "must be a number above 0");
    }

    public double Number(JsonElement element, string key, string path, double low, double high)
    {
        if (element.TryGetProperty(key, out var value) && value.ValueKind == JsonValueKind.Number && value.GetDouble() >= low
            && value.GetDouble() <= high)
            return value.GetDouble();
        throw Wrong(Path(path, key), string.Create(CultureInfo.InvariantCulture, $"must be a number from {low} to {high}"));
    }

    /// <summary>One of a kind's words: an enum's names with hyphens or spaces between the parts.</summary>
    public T Choice<T>(JsonElement element, string key, string path, char between = ' ')
        where T : struct, Enum => ChoiceOf<T>(Text(element, key, path), Path(path, key), between);

    /// <summary>A list of a kind's words, each once; it must be there and may be empty.</summary>
    public IReadOnlyList<T> Choices<T>(string key)
        where T : struct, Enum
    {
        if (!Root.TryGetProperty(key, out _)) throw Wrong(key, "is missing");
        T[] found = [.. Texts(key).Select(text => ChoiceOf<T>(text, key, '-'))];
        return found.Distinct().Count() == found.Length ? found : throw Wrong(key, "has a word twice");
    }

    private T ChoiceOf<T>(string text, string path, char between)
        where T : struct, Enum
    {
        string[] words = [.. Enum.GetNames<T>().Select(name => WordStart().Replace(name, $"{between}$0").ToLowerInvariant())];
        int found = Array.IndexOf(words, text);
        return found >= 0
            ? Enum.GetValues<T>()[found]
            : throw Wrong(path, $"\"{text}\" must be {string.Join(", ", words[..^1])} or {words[^1]}");
    }

    /// <summary>As <see cref="Range"/>, and "under 42" and "over 56", whose other end is null.</summary>
    public (double? Low, double? High) OpenRange(JsonElement element, string path, string key, Kind kind)
    {
        string text = Text(element, key, path);
        bool under = text.StartsWith("under ", StringComparison.Ordinal);
        bool over = text.StartsWith("over ", StringComparison.Ordinal);
        var (low, high) = RangeOf(under ? text[6..] : over ? text[5..] : text, path, key, kind);
        return (under ? null : low, over ? null : high);
    }

    public (double Low, double High) Range(JsonElement element, string path, string key, Kind kind) =>
        RangeOf(Text(element, key, path), path, key, kind);

    private (double Low, double High) RangeOf(string text, string path, string key, Kind kind)
    {
        var match = RangePattern().Match(text);
        if (!match.Success || !kind.Units.TryGetValue(match.Groups["unit"].Value, out var toSi))
            throw Wrong(Path(path, key), $"\"{text}\" cannot be read; write \"{kind.Example}\"");
        double low = toSi(double.Parse(match.Groups["low"].Value, CultureInfo.InvariantCulture));
        double high = match.Groups["high"].Success ? toSi(double.Parse(match.Groups["high"].Value, CultureInfo.InvariantCulture)) : low;
        if (low > high)
            throw Wrong(Path(path, key), $"\"{text}\" has its low end above its high end");
        if (low < kind.Lowest || high > kind.Highest)
            throw Wrong(Path(path, key),
                string.Create(CultureInfo.InvariantCulture,
                    $"\"{text}\" is outside what is possible, {kind.Lowest} to {kind.Highest} in C, %, days or kg/m3"));
        return (low, high);
    }

    private static string Path(string path, string key) => path.Length == 0 ? key : $"{path}.{key}";

    private JsonElement Checked(JsonElement value, string key, ReadOnlySpan<string> fields)
    {
        if (value.ValueKind != JsonValueKind.Object)
            throw Wrong(key, $"must hold {string.Join(", ", fields!)}");
        AllowOnly(value, key, fields);
        return value;
    }

    [GeneratedRegex("(?<!^)[A-Z]", RegexOptions.CultureInvariant, 1000)]
    private static partial Regex WordStart();

    [GeneratedRegex(@"^(?<low>-?\d+(\.\d+)?)( to (?<high>-?\d+(\.\d+)?))? ?(?<unit>[A-Za-z%/0-9]*)$",
        RegexOptions.ExplicitCapture | RegexOptions.CultureInvariant, 1000)]
    private static partial Regex RangePattern();

    internal sealed record Kind(string Example, double Lowest, double Highest, Dictionary<string, Func<double, double>> Units);
}
