using System.Globalization;
using System.Text;
using System.Text.Json;
using System.Text.RegularExpressions;

namespace RootCellar.Readings;

/// <summary>A value found in a payload that is not of our convention, and how a mapping points at it.</summary>
/// <param name="Pointer">JSON Pointer (RFC 6901); null in text that is not JSON.</param>
/// <param name="Pick">In text: the key before the value, or which number of the text it is, counted from 1; null in JSON.</param>
/// <param name="Text">As it stands there.</param>
/// <param name="Value">The number in it; null where there is none.</param>
/// <param name="Unit">The unit that stands behind the number; null where none does.</param>
internal sealed record FoundValue(string? Pointer, string? Pick, string Text, double? Value, string? Unit);

/// <summary>Finds values in whatever a sensor sends: JSON at any depth, plain numbers, numbers with a unit, KEY=VALUE and lists.</summary>
internal static partial class PayloadValues
{
    private const int Most = 40;
    private const int LongestText = 60;

    /// <summary>JSON as it is offered and as a mapping then reads it.</summary>
    public static readonly JsonDocumentOptions Lenient = new() { MaxDepth = 16, AllowTrailingCommas = true };

    /// <summary>All values of a payload, at most forty; none where it cannot be read at all.</summary>
    public static IReadOnlyList<FoundValue> Of(ReadOnlyMemory<byte> payload)
    {
        try
        {
            using var document = JsonDocument.Parse(payload, Lenient);
            if (document.RootElement.ValueKind is JsonValueKind.Object or JsonValueKind.Array)
            {
                var found = new List<FoundValue>();
                Walk(document.RootElement, "", found);
                return found;
            }
        }
        catch (JsonException)
        {
            if (BareWords.Quoted(payload.Span) is { } quoted) return Of(quoted);
        }

        return OfText(Encoding.UTF8.GetString(payload.Span));
    }

    /// <summary>The number a mapping picks out of a text; null where it is not there.</summary>
    public static double? Picked(string text, string pick) => OfText(text).FirstOrDefault(v => v.Pick == pick)?.Value;

    /// <summary>A number as people and sensors write it, with decimal point or comma and perhaps a unit behind it.</summary>
    public static (double Value, string? Unit)? Number(string text)
    {
        var match = OneNumber().Match(text);
        if (!match.Success || !TryNumber(match.Groups["number"].Value, out var value)) return null;
        return (value, match.Groups["unit"] is { Length: > 0 } unit ? unit.Value : null);
    }

    private static void Walk(JsonElement element, string pointer, List<FoundValue> found)
    {
        if (found.Count >= Most) return;
        switch (element.ValueKind)
        {
            case JsonValueKind.Object:
                foreach (var part in element.EnumerateObject())
                    Walk(part.Value, $"{pointer}/{part.Name.Replace("~", "~0", StringComparison.Ordinal).Replace("/", "~1", StringComparison.Ordinal)}", found);
                break;
            case JsonValueKind.Array:
                var at = 0;
                foreach (var part in element.EnumerateArray()) Walk(part, string.Create(CultureInfo.InvariantCulture, $"{pointer}/{at++}"), found);
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

    private static List<FoundValue> OfText(string text)
    {
        var keyed = Keyed().Matches(text);
        if (keyed.Count > 0)
        {
            return [.. keyed.Take(Most).Select(m => (Key: m.Groups["key"].Value, Said: Number(m.Groups["value"].Value), Text: m.Groups["value"].Value))
                .Select(k => new FoundValue(null, k.Key, Short(k.Text), k.Said?.Value, k.Said?.Unit))];
        }

        // A list: apart by semicolons or blanks, or by commas where those cannot be decimal commas.
        var parts = text.Contains(';', StringComparison.Ordinal) ? text.Split(';')
            : text.Contains('.', StringComparison.Ordinal) || text.Count(c => c == ',') > 1 ? text.Split(',') : [text];
        if (parts.Length == 1 && Number(text.Trim()) is null) parts = text.Split((char[]?)null, StringSplitOptions.RemoveEmptyEntries);
        return [.. parts.Take(Most).Select((part, i) => (Text: part.Trim(), Pick: (i + 1).ToString(CultureInfo.InvariantCulture), Said: Number(part.Trim())))
            .Where(p => p.Text.Length > 0)
            .Select(p => new FoundValue(null, p.Pick, Short(p.Text), p.Said?.Value, p.Said?.Unit))];
    }

    private static bool TryNumber(string text, out double value) =>
        double.TryParse(text.Replace(',', '.'), NumberStyles.AllowLeadingSign | NumberStyles.AllowDecimalPoint | NumberStyles.AllowExponent,
            CultureInfo.InvariantCulture, out value) && double.IsFinite(value);

    private static string Short(string text) => text.Length <= LongestText ? text : text[..LongestText] + "...";

    [GeneratedRegex(@"^\s*(?<number>[-+]?[0-9]+(?:[.,][0-9]+)?(?:[eE][-+]?[0-9]+)?)\s*(?<unit>%(?:\s*RH)?|°\s?[CF]|[A-Za-z°µ/]{1,4})?\s*$",
        RegexOptions.ExplicitCapture, 1000)]
    private static partial Regex OneNumber();

    [GeneratedRegex(@"(?<key>[A-Za-z_][A-Za-z0-9_.-]{0,39})\s*[=:]\s*(?<value>[-+]?[0-9]+(?:\.[0-9]+|,[0-9]+(?=\s|;|$|[A-Za-z%°]))?\s*(?:%|°\s?[CF]|[A-Za-z]{1,4}(?![A-Za-z0-9_]*\s*[=:]))?)",
        RegexOptions.ExplicitCapture, 1000)]
    private static partial Regex Keyed();
}
