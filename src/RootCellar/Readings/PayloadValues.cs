using System.Globalization;
using System.Text;
using System.Text.Json;
using System.Text.RegularExpressions;
using System.Text.Unicode;

namespace RootCellar.Readings;

/// <summary>A value found in a payload that is not of our convention, and how a mapping points at it.</summary>
/// <param name="Pointer">JSON Pointer (RFC 6901); null in text that is not JSON.</param>
/// <param name="Pick">In text: the key before the value, or which number of the text it is, counted from 1; null in JSON.</param>
/// <param name="Text">As it stands there.</param>
/// <param name="Value">The number in it; null where there is none.</param>
/// <param name="Unit">The unit that stands behind the number or beside it; null where none does.</param>
/// <param name="Label">What the message says beside a field that is only called value, empty where only its unit; null where it says nothing there.</param>
internal sealed record FoundValue(string? Pointer, string? Pick, string Text, double? Value, string? Unit, string? Label = null);

/// <summary>Finds values in whatever a sensor sends: JSON at any depth, plain numbers, numbers with a unit, KEY=VALUE and lists.</summary>
internal static partial class PayloadValues
{
    private const int Most = 40;
    private const int LongestText = 60;

    // How units are written behind a number.
    private const string UnitSigns = @"%(?:\s*RH)?|[°º*]\s?[CF]|(?:[Dd]eg(?:rees)?\s?)?(?:[Cc]elsius|[Ff]ahrenheit)|[Dd]eg\s?[CF]";

    // Fields that say only that a value is in them, and those beside them that say which (RFC 8428 has n, u and v).
    private static readonly HashSet<string> Bare = new(StringComparer.OrdinalIgnoreCase) { "v", "value", "val", "wert", "valor" };
    private static readonly HashSet<string> Labels = new(StringComparer.OrdinalIgnoreCase) { "n", "name", "type", "quantity", "measurement" };
    private static readonly HashSet<string> UnitLabels = new(StringComparer.OrdinalIgnoreCase) { "u", "unit", "units", "uom" };

    /// <summary>JSON as it is offered and as a mapping then reads it.</summary>
    public static readonly JsonDocumentOptions Lenient = new() { MaxDepth = 16, AllowTrailingCommas = true };

    /// <summary>All values of a payload, at most forty; none where it cannot be read at all.</summary>
    public static IReadOnlyList<FoundValue> Of(ReadOnlyMemory<byte> payload)
    {
        if (!IsText(payload.Span)) return [];
        payload = Unwrapped(payload);
        return InJson(payload) ?? (BareWords.Quoted(payload.Span) is { } quoted ? InJson(quoted) : null) ?? OfText(Encoding.UTF8.GetString(payload.Span));
    }

    /// <summary>Whether it is meant to be read by eye: UTF-8 without control characters.</summary>
    public static bool IsText(ReadOnlySpan<byte> payload)
    {
        payload = payload.TrimEnd((byte)0);
        return Utf8.IsValid(payload) && !payload.ContainsAnyInRange((byte)0, (byte)8) && !payload.ContainsAnyInRange((byte)14, (byte)31);
    }

    /// <summary>What stands inside, where a message is one text in quotes: "12.8", or JSON that somebody made JSON once more.</summary>
    public static ReadOnlyMemory<byte> Unwrapped(ReadOnlyMemory<byte> payload)
    {
        if (payload.Span.StartsWith(ByteOrderMark)) payload = payload[ByteOrderMark.Length..];
        if (payload.Span.Trim(" \t\r\n\0"u8) is not [(byte)'"', ..]) return payload;
        try
        {
            return Encoding.UTF8.GetBytes(JsonSerializer.Deserialize<string>(payload.Span.Trim(" \t\r\n\0"u8))!);
        }
        catch (JsonException)
        {
            return payload;
        }
    }

    /// <summary>The number a mapping picks out of a text; null where it is not there.</summary>
    public static double? Picked(string text, string pick) => OfText(text).FirstOrDefault(v => v.Pick == pick)?.Value;

    /// <summary>A number as people and sensors write it, with decimal point or comma and perhaps a unit behind it.</summary>
    public static (double Value, string? Unit)? Number(string text)
    {
        var match = OneNumber().Match(text);
        if (!match.Success || IsHex(text) || !TryNumber(match.Groups["number"].Value, out var value)) return null;
        return (value, match.Groups["unit"] is { Length: > 0 } unit ? unit.Value : null);
    }

    private static ReadOnlySpan<byte> ByteOrderMark => [0xEF, 0xBB, 0xBF];

    // Null where it is neither an object nor an array.
    private static List<FoundValue>? InJson(ReadOnlyMemory<byte> payload)
    {
        try
        {
            using var document = JsonDocument.Parse(payload, Lenient);
            if (document.RootElement.ValueKind is not (JsonValueKind.Object or JsonValueKind.Array)) return null;
            var found = new List<FoundValue>();
            Walk(document.RootElement, "", found);
            return found;
        }
        catch (JsonException)
        {
            return null;
        }
    }

    private static void Walk(JsonElement element, string pointer, List<FoundValue> found)
    {
        if (found.Count >= Most) return;
        switch (element.ValueKind)
        {
            case JsonValueKind.Object:
                foreach (var part in element.EnumerateObject())
                {
                    var at = $"{pointer}/{part.Name.Replace("~", "~0", StringComparison.Ordinal).Replace("/", "~1", StringComparison.Ordinal)}";
                    Walk(part.Value, at, found);
                    if (Bare.Contains(part.Name) && found.Count > 0 && found[^1] is { Value: not null } value && value.Pointer == at)
                        found[^1] = Told(value, Beside(element, Labels), Beside(element, UnitLabels));
                }

                break;
            case JsonValueKind.Array:
                var index = 0;
                foreach (var part in element.EnumerateArray()) Walk(part, string.Create(CultureInfo.InvariantCulture, $"{pointer}/{index++}"), found);
                break;
            case JsonValueKind.Number:
                found.Add(new FoundValue(pointer, null, element.GetRawText(), element.TryGetDouble(out var number) ? number : null, null));
                break;
            case JsonValueKind.String:
                var text = element.GetString()!;
                var said = Number(text);
                found.Add(new FoundValue(pointer, null, Short(text), said?.Value, said?.Unit));
                break;
            case JsonValueKind.True or JsonValueKind.False:
                found.Add(new FoundValue(pointer, null, element.GetRawText(), null, null));
                break;
        }
    }

    private static FoundValue Told(FoundValue value, string? label, string? unit) =>
        value with { Label = label ?? (unit is null ? null : ""), Unit = value.Unit ?? unit };

    private static string? Beside(JsonElement element, HashSet<string> names) => element.EnumerateObject()
        .Where(p => p.Value.ValueKind == JsonValueKind.String && names.Contains(p.Name)).Select(p => p.Value.GetString()).FirstOrDefault(t => t?.Length > 0);

    private static List<FoundValue> OfText(string text)
    {
        if (UnderHeader(text) is { } table) return table;
        var keyed = Keyed().Matches(text);
        if (keyed.Count > 0)
        {
            return [.. keyed.Take(Most).Select(m => (Key: m.Groups["key"].Value, Said: Number(m.Groups["value"].Value), Text: m.Groups["value"].Value))
                .Select(k => new FoundValue(null, k.Key, Short(k.Text), k.Said?.Value, k.Said?.Unit))];
        }

        // A list: apart by semicolons or blanks, or by commas where those cannot be decimal commas.
        var parts = text.Contains(';', StringComparison.Ordinal) ? text.Split(';')
            : text.Contains('|', StringComparison.Ordinal) ? text.Split('|')
            : text.Contains('.', StringComparison.Ordinal) || text.Count(c => c == ',') > 1 ? text.Split(',') : [text];
        if (parts.Length == 1 && Number(text.Trim()) is null) parts = text.Split((char[]?)null, StringSplitOptions.RemoveEmptyEntries);
        return [.. parts.Take(Most).Select((part, i) => (Text: part.Trim(), Pick: (i + 1).ToString(CultureInfo.InvariantCulture), Said: Number(part.Trim())))
            .Where(p => p.Text.Length > 0)
            .Select(p => new FoundValue(null, p.Pick, Short(p.Text), p.Said?.Value, p.Said?.Unit))];
    }

    // A line of names and one of figures below it: each figure is picked by its name.
    private static List<FoundValue>? UnderHeader(string text)
    {
        if (text.Trim().Split('\n') is not [var head, var row]) return null;
        foreach (var sign in (char[])[';', '\t', '|', ','])
        {
            var names = head.Trim().Split(sign, StringSplitOptions.TrimEntries);
            var cells = row.Trim().Split(sign, StringSplitOptions.TrimEntries);
            if (names.Length < 2 || cells.Length != names.Length || !names.All(n => n.Length is > 0 and <= LongestText && char.IsLetter(n[0]))) continue;
            return [.. names.Zip(cells).Take(Most).Select(c => (Name: c.First, Cell: c.Second, Said: Number(c.Second)))
                .Select(c => new FoundValue(null, c.Name, Short(c.Cell), c.Said?.Value, c.Said?.Unit))];
        }

        return null;
    }

    // The bytes of a message of its own kind, written out: no number, though it may look like one.
    private static bool IsHex(string text)
    {
        text = text.Trim();
        return text.Length >= 8 && text.Length % 2 == 0 && text.All(char.IsAsciiHexDigit) && (text[0] == '0' || !text.All(char.IsAsciiDigit));
    }

    private static bool TryNumber(string text, out double value) =>
        double.TryParse(text.Replace(',', '.'), NumberStyles.AllowLeadingSign | NumberStyles.AllowDecimalPoint | NumberStyles.AllowExponent,
            CultureInfo.InvariantCulture, out value) && double.IsFinite(value);

    private static string Short(string text) => text.Length <= LongestText ? text : text[..LongestText] + "...";

    [GeneratedRegex(@"^\s*(?<number>[-+]?[0-9]+(?:[.,][0-9]+)?(?:[eE][-+]?[0-9]+)?)\s*(?<unit>" + UnitSigns + @"|[A-Za-z°µ/]{1,4})?\s*$",
        RegexOptions.ExplicitCapture, 1000)]
    private static partial Regex OneNumber();

    [GeneratedRegex(@"(?<![A-Za-z0-9_.-])(?<key>[A-Za-z_][A-Za-z0-9_.-]{0,39})\s*[=:]\s*(?<value>[-+]?[0-9]+(?:\.[0-9]+|,[0-9]+(?=\s|;|$|[A-Za-z%°]))?\s*(?:" + UnitSigns + @"|[A-Za-z]{1,4}(?![A-Za-z0-9_]*\s*[=:]))?)",
        RegexOptions.ExplicitCapture, 1000)]
    private static partial Regex Keyed();
}
