using System.Buffers.Text;
using System.Collections.Concurrent;
using System.Globalization;
using System.Text;
using System.Text.Json;
using System.Text.Json.Nodes;
using Json.Pointer;
using MQTTnet;

namespace RootCellar.Readings;

/// <summary>
/// Reads topics and payloads: plain numbers, flat JSON, SenML, and whatever the grower mapped. Never throws for what a
/// sensor sends. Safe from any thread.
/// </summary>
internal sealed class PayloadDecoder(IReadOnlyList<Mapping> mappings)
{
    private const int LongestTopic = 256;
    private const int LargestPayload = 64 * 1024;
    private const int LongestName = 64;
    private const int RoutesKept = 4_000;
    private const string Root = "rootcellar/";
    private static readonly string[] Rfc3339 = ["yyyy-MM-dd'T'HH:mm:ss.FFFFFFFK", "yyyy-MM-dd' 'HH:mm:ss.FFFFFFFK"];

    private readonly Rule[] rules = [.. mappings.Select(Rule.Of).OfType<Rule>()];
    private readonly ConcurrentDictionary<string, Route> routes = new(StringComparer.Ordinal);

    public Decoded Decode(string topic, ReadOnlyMemory<byte> payload, DateTimeOffset now)
    {
        var route = RouteOf(topic);
        if (route.Kind == Kind.NotOurs) return Decoded.NotOurs.Instance;
        if (route.Problem is not null) return new Decoded.Unreadable(route.Sensor, route.Problem);
        // An empty retained payload takes a topic away; it is no reading and no fault.
        if (payload.Length == 0) return route.Kind == Kind.Number ? new Decoded.Unreadable(route.Sensor, "the message is empty") : Decoded.NotOurs.Instance;
        if (payload.Length > LargestPayload) return new Decoded.Unreadable(route.Sensor, $"the message has {payload.Length} bytes; at most {LargestPayload} are read");
        try
        {
            return route.Kind switch
            {
                Kind.Number => Plain(route, payload.Span),
                Kind.Status => Status(route, payload.Span),
                Kind.Json => FirstSign(payload.Span) == (byte)'[' ? SenmlPack.Decode(route.Sensor!, route.Place, payload, now) : FlatJson(route, payload.Span),
                _ => Mapped(route, payload),
            };
        }
        catch (JsonException e)
        {
            return new Decoded.Unreadable(route.Sensor, $"not JSON: near byte {e.BytePositionInLine} of line {e.LineNumber + 1}");
        }
        catch (InvalidOperationException)
        {
            // The JSON reader's word for text that is not UTF-8.
            return new Decoded.Unreadable(route.Sensor, "the text in it is not UTF-8");
        }
        catch (ArgumentException)
        {
            // The JSON tree's word for a key that stands twice in an object: which one a mapping means, nobody knows.
            return new Decoded.Unreadable(route.Sensor, "a key stands twice in the same object");
        }
    }

    /// <summary>
    /// A plain number with a decimal point. What firmware prints for a failed read (nan, inf) is taken as that, to be kept
    /// and not believed; other words are no numbers.
    /// </summary>
    public static bool TryNumber(ReadOnlySpan<byte> text, out double value)
    {
        text = Trim(text);
        var digits = text.Length > 0 && text[0] is (byte)'-' or (byte)'+' ? text[1..] : text;
        if (digits.Length > 0 && (digits[0] == '.' || char.IsAsciiDigit((char)digits[0]))
            && Utf8Parser.TryParse(digits, out value, out var used)
            && used == digits.Length)
        {
            if (text[0] == '-') value = -value;
            return true;
        }

        var inf = Ascii.EqualsIgnoreCase(digits, "inf") || Ascii.EqualsIgnoreCase(digits, "infinity");
        value = !inf ? double.NaN : text[0] == '-' ? double.NegativeInfinity : double.PositiveInfinity;
        return inf || Ascii.EqualsIgnoreCase(digits, "nan");
    }

    private static Decoded Plain(Route route, ReadOnlySpan<byte> payload)
    {
        if (!TryNumber(payload, out var value)) return new Decoded.Unreadable(route.Sensor, "not a plain number; right: 12.8");
        return new Decoded.Measurements(route.Sensor!, route.Place, [new Measured(route.Scale.Quantity, route.Scale.ToSi(value), null)]);
    }

    private static Decoded Status(Route route, ReadOnlySpan<byte> payload)
    {
        payload = Trim(payload);
        if (Ascii.EqualsIgnoreCase(payload, "online")) return new Decoded.Status(route.Sensor!, true);
        if (Ascii.EqualsIgnoreCase(payload, "offline")) return new Decoded.Status(route.Sensor!, false);
        return new Decoded.Unreadable(route.Sensor, "a status is online or offline");
    }

    private static Decoded FlatJson(Route route, ReadOnlySpan<byte> payload)
    {
        var reader = new Utf8JsonReader(payload, new JsonReaderOptions { MaxDepth = 16 });
        if (!reader.Read() || reader.TokenType != JsonTokenType.StartObject)
        {
            return new Decoded.Unreadable(route.Sensor, """neither a JSON object nor a SenML array; right: {"temperature_c":12.8,"humidity_pct":91}""");
        }

        Span<char> name = stackalloc char[64];
        List<Measured> values = [];
        DateTimeOffset? time = null;
        while (reader.Read() && reader.TokenType == JsonTokenType.PropertyName)
        {
            var known = reader.ValueSpan.Length <= 32 && !reader.HasValueSequence;
            var length = known ? reader.CopyString(name) : 0;
            reader.Read();
            if (known && name[..length].SequenceEqual("time"))
            {
                time = Time(ref reader);
                reader.Skip();
            }
            else if (known && QuantityNames.TryFind(name[..length], out var scale) && Number(ref reader) is { } number)
            {
                Put(values, new Measured(scale.Quantity, scale.ToSi(number), null));
            }
            else
            {
                reader.Skip();
            }
        }

        // Reads to the end, so that a cut-off message is not half taken.
        while (reader.Read())
        {
        }

        if (values.Count == 0) return new Decoded.Unreadable(route.Sensor, $"no quantity in it that is known; known are {string.Join(", ", QuantityNames.All)}");
        if (time is not null)
        {
            for (var i = 0; i < values.Count; i++) values[i] = values[i] with { DeviceTime = time };
        }

        return new Decoded.Measurements(route.Sensor!, route.Place, values);
    }

    /// <summary>A key given twice, or a temperature in C and in F, is one reading: the last one stands.</summary>
    private static void Put(List<Measured> values, in Measured value)
    {
        var quantity = value.Quantity;
        var known = values.FindIndex(v => v.Quantity == quantity);
        if (known < 0) values.Add(value);
        else values[known] = value;
    }

    private static double? Number(ref Utf8JsonReader reader)
    {
        if (reader.TokenType == JsonTokenType.Number) return reader.TryGetDouble(out var value) ? value : double.PositiveInfinity;
        return reader.TokenType == JsonTokenType.String && !reader.ValueIsEscaped && TryNumber(reader.ValueSpan, out var text) ? text : null;
    }

    private static DateTimeOffset? Time(ref Utf8JsonReader reader) => reader.TokenType switch
    {
        JsonTokenType.Number when reader.TryGetDouble(out var seconds) => DeviceClock.FromUnix(seconds),
        JsonTokenType.String => Time(reader.GetString()!),
        _ => null,
    };

    // Exact formats: a lenient parser takes "12.5" for the fifth of December.
    private static DateTimeOffset? Time(string text) =>
        DateTimeOffset.TryParseExact(text.ToUpperInvariant(), Rfc3339, CultureInfo.InvariantCulture, DateTimeStyles.AssumeUniversal | DateTimeStyles.AdjustToUniversal, out var time) ? time
        : double.TryParse(text, NumberStyles.AllowDecimalPoint, CultureInfo.InvariantCulture, out var seconds) ? DeviceClock.FromUnix(seconds)
        : null;

    private static Decoded Mapped(Route route, ReadOnlyMemory<byte> payload)
    {
        List<Measured> values = [];
        JsonNode? document = null;
        string? problem = null;
        foreach (var rule in route.Rules)
        {
            if (rule.Pointer is null)
            {
                if (TryNumber(payload.Span, out var plain)) values.Add(new Measured(rule.Scale.Quantity, rule.Scale.ToSi(plain), null));
                else problem = "not a plain number; a mapping without Pointer expects one";
                continue;
            }

            document ??= JsonNode.Parse(payload.Span);
            if (!rule.Pointer.Value.TryEvaluate(document, out var found) || found is null) problem = $"nothing at {rule.Pointer}";
            else if (Number(found) is { } number) values.Add(new Measured(rule.Scale.Quantity, rule.Scale.ToSi(number), null));
            else problem = $"no number at {rule.Pointer}";
        }

        return values.Count > 0
            ? new Decoded.Measurements(route.Sensor!, route.Place, values)
            : new Decoded.Unreadable(route.Sensor, problem ?? "nothing in it was mapped");
    }

    private static double? Number(JsonNode node) => node.GetValueKind() switch
    {
        JsonValueKind.Number => node.AsValue().TryGetValue<double>(out var value) ? value : null,
        JsonValueKind.String => TryNumber(Encoding.UTF8.GetBytes(node.GetValue<string>()), out var text) ? text : null,
        JsonValueKind.True => 1,
        JsonValueKind.False => 0,
        _ => null,
    };

    private Route RouteOf(string topic)
    {
        if (routes.TryGetValue(topic, out var known)) return known;
        var fresh = Parse(topic);
        // Bounded: a flood of invented topics must not fill the memory.
        if (routes.Count < RoutesKept) routes.TryAdd(topic, fresh);
        return fresh;
    }

    private Route Parse(string topic)
    {
        if (topic.Length > LongestTopic) return new Route(Kind.Json) { Problem = $"the topic has {topic.Length} characters; at most {LongestTopic} are read" };
        // First of all: what the service says itself must never come back as a reading, not even by a mapping of #.
        if (topic.StartsWith(Announcements.Root, StringComparison.Ordinal)) return new Route(Kind.NotOurs);
        var mapped = Array.FindAll(rules, r => MqttTopicFilterComparer.Compare(topic, r.Topic) == MqttTopicFilterCompareResult.IsMatch);
        if (mapped.Length > 0)
        {
            var named = Array.Find(mapped, r => r.Sensor is not null);
            return new Route(Kind.Mapped) { Sensor = named?.Sensor ?? topic, Place = named?.Place, Rules = mapped };
        }

        if (!topic.StartsWith(Root, StringComparison.Ordinal)) return new Route(Kind.NotOurs);
        var parts = topic[Root.Length..].Split('/');
        if (parts.Length is < 2 or > 3) return new Route(Kind.Json) { Problem = "the topic is not rootcellar/PLACE/SENSOR or rootcellar/PLACE/SENSOR/QUANTITY" };
        if (parts.Any(p => p.Length is 0 or > LongestName || p.Any(char.IsControl))) return new Route(Kind.Json) { Problem = $"place and sensor in the topic have 1 to {LongestName} characters" };
        var sensor = $"{parts[0]}/{parts[1]}";
        if (parts.Length == 2) return new Route(Kind.Json) { Sensor = sensor, Place = parts[0] };
        if (parts[2] == "status") return new Route(Kind.Status) { Sensor = sensor, Place = parts[0] };
        return QuantityNames.TryFind(parts[2], out var scale)
            ? new Route(Kind.Number) { Sensor = sensor, Place = parts[0], Scale = scale }
            : new Route(Kind.Json) { Sensor = sensor, Problem = $"'{parts[2]}' is not a known quantity; known are {string.Join(", ", QuantityNames.All)}" };
    }

    private static byte FirstSign(ReadOnlySpan<byte> payload)
    {
        payload = Trim(payload);
        return payload.Length > 0 ? payload[0] : (byte)0;
    }

    private static ReadOnlySpan<byte> Trim(ReadOnlySpan<byte> text) => text.Trim(" \t\r\n\0"u8);

    private enum Kind
    {
        NotOurs,
        Number,
        Json,
        Status,
        Mapped,
    }

    private sealed record Route(Kind Kind)
    {
        public string? Sensor { get; init; }

        public string? Place { get; init; }

        public Scale Scale { get; init; }

        public string? Problem { get; init; }

        public Rule[] Rules { get; init; } = [];
    }

    private sealed record Rule(string Topic, JsonPointer? Pointer, Scale Scale, string? Place, string? Sensor)
    {
        /// <summary>Null for a mapping that <see cref="MappingRules"/> refuses; the service does not start with one.</summary>
        public static Rule? Of(Mapping m) => MappingRules.Validate(m).Count > 0 || QuantityNames.Read(m.Quantity, m.Unit, m.Scale, out var scale) is not null
            ? null
            : new Rule(m.Topic, string.IsNullOrEmpty(m.Pointer) ? null : JsonPointer.Parse(m.Pointer), scale, m.Place, m.Sensor is null ? null : $"{m.Place}/{m.Sensor}");
    }
}
