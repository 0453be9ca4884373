using System.Buffers.Text;
using System.Collections.Concurrent;
using System.Text;
using System.Text.Json;
using Json.Pointer;
using MQTTnet;

namespace RootCellar.Readings;

/// <summary>
/// Reads topics and payloads: plain numbers, flat JSON, SenML, and whatever the grower mapped. Never throws for what a
/// sensor sends. Safe from any thread.
/// </summary>
internal sealed class PayloadDecoder
{
    private const int LongestTopic = 256;
    private const int LargestPayload = 64 * 1024;
    private const int LongestName = 64;
    private const int RoutesKept = 4_000;
    private const string Root = "rootcellar/";

    private static ReadOnlySpan<byte> ByteOrderMark => [0xEF, 0xBB, 0xBF];

    // Both together, so that no route of the rules of before is kept among those of now.
    private volatile InForce inForce;

    public PayloadDecoder(IReadOnlyList<Mapping> mappings) => inForce = new InForce(mappings);

    /// <summary>Of how many topics it is remembered how they are read.</summary>
    internal int Remembered => inForce.Routes.Count;

    /// <summary>From the next message on.</summary>
    public void Use(IReadOnlyList<Mapping> mappings) => inForce = new InForce(mappings);

    private sealed class InForce(IReadOnlyList<Mapping> mappings)
    {
        public Rule[] Rules { get; } = [.. mappings.Select(Rule.Of).OfType<Rule>()];

        public ConcurrentDictionary<string, Route> Routes { get; } = new(StringComparer.Ordinal);
    }

    public Decoded Decode(string topic, ReadOnlyMemory<byte> payload, DateTimeOffset now)
    {
        var route = RouteOf(topic);
        // Some editors and scripts put it first. It says only that what follows is UTF-8.
        if (payload.Span.StartsWith(ByteOrderMark)) payload = payload[ByteOrderMark.Length..];
        if (route.Kind == Kind.NotOurs) return Decoded.NotOurs.Instance;
        if (route.Problem is not null) return new Decoded.Unreadable(route.Sensor, route.Problem);
        // An empty retained payload takes a topic away; it is no reading and no fault.
        if (payload.Length == 0)
            return route.Kind == Kind.Number ? new Decoded.Unreadable(route.Sensor, "the message is empty") : Decoded.NotOurs.Instance;
        if (payload.Length > LargestPayload)
            return new Decoded.Unreadable(route.Sensor, $"the message has {payload.Length} bytes; at most {LargestPayload} are read");
        try
        {
            return Read(route, payload, now);
        }
        catch (JsonException e)
        {
            return BareWords.Quoted(payload.Span) is { } quoted
                ? Decode(topic, quoted, now)
                : new Decoded.Unreadable(route.Sensor, $"not JSON: near byte {e.BytePositionInLine} of line {e.LineNumber + 1}");
        }
        catch (InvalidOperationException)
        {
            // The JSON reader's word for text that is not UTF-8.
            return new Decoded.Unreadable(route.Sensor, "the text in it is not UTF-8");
        }
    }

    /// <summary>The keys of the sensors that a message is of; none where the topic is not ours or not well formed.</summary>
    public IReadOnlyList<string> SensorsOf(string topic, ReadOnlyMemory<byte> payload)
    {
        var route = RouteOf(topic);
        var sensors = route.Sensor is { } sensor ? new HashSet<string>(StringComparer.Ordinal) { sensor } : [];
        if (route.Kind != Kind.Mapped) return [.. sensors];
        // Who is named inside a message is known only by reading it.
        if (Array.Exists(route.Rules, r => r.SensorPointer is not null))
        {
            for (var part = Decode(topic, payload, default) as Decoded.Measurements; part is not null; part = part.Next)
                sensors.Add(part.Sensor);
        }

        sensors.UnionWith(route.Rules.Select(r => r.Name(topic, null)).OfType<string>());
        return [.. sensors];
    }

    /// <summary>A plain number with a decimal point; NaN, inf and words are not numbers.</summary>
    public static bool TryNumber(ReadOnlySpan<byte> text, out double value)
    {
        text = Trim(text);
        // The parser knows words ("Infinity"), which begin with a letter once the sign is gone.
        var signed = text.Length > 0 && text[0] is (byte)'-' or (byte)'+' ? 1 : 0;
        if (text.Length > signed && (text[signed] == (byte)'.' || char.IsAsciiDigit((char)text[signed]))
            && Utf8Parser.TryParse(text, out value, out var used)
            && used == text.Length
            && double.IsFinite(value))
        {
            return true;
        }

        value = 0;
        return false;
    }

    /// <summary>
    /// A number, or what a sensor's printf makes of a failed read: "nan" and "inf" are readings of that sensor, kept and
    /// marked as not believed, so that a dead element shows as such and not as silence.
    /// </summary>
    internal static bool TryReading(ReadOnlySpan<byte> text, out double value)
    {
        if (TryNumber(text, out value)) return true;
        text = Trim(text);
        if (!BareWords.IsNotFinite(text)) return false;
        var word = text[0] is (byte)'-' or (byte)'+' ? text[1..] : text;
        if (Ascii.EqualsIgnoreCase(word, "nan")) value = double.NaN;
        else value = text[0] == '-' ? double.NegativeInfinity : double.PositiveInfinity;
        return true;
    }

    private static Decoded Read(Route route, ReadOnlyMemory<byte> payload, DateTimeOffset now) => route.Kind switch
    {
        Kind.Number => Plain(route, payload.Span),
        Kind.Status => Status(route, payload.Span),
        Kind.MappedStatus => MappedStatus(route, payload),
        Kind.Json => FirstSign(payload.Span) == (byte)'['
            ? SenmlPack.Decode(route.Sensor!, route.Place, payload, now) : FlatJson(route, payload.Span),
        _ => Mapped(route, payload),
    };

    private static Decoded Plain(Route route, ReadOnlySpan<byte> payload)
    {
        if (!TryReading(payload, out var value)) return new Decoded.Unreadable(route.Sensor, "not a plain number; right: 12.8");
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
        var reader = new Utf8JsonReader(Trim(payload), new JsonReaderOptions { MaxDepth = 16 });
        if (!reader.Read() || reader.TokenType != JsonTokenType.StartObject)
        {
            return new Decoded.Unreadable(
                route.Sensor, """neither a JSON object nor a SenML array; right: {"temperature_c":12.8,"humidity_pct":91}""");
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
                Put(values, new Measured(scale.Quantity, scale.ToSi(number), null));
            else reader.Skip();
        }

        // Reads to the end, so that a cut-off message is not half taken.
        while (reader.Read())
        {
        }

        if (values.Count == 0)
            return new Decoded.Unreadable(
                route.Sensor, $"no quantity in it that is known; known are {string.Join(", ", QuantityNames.All)}");
        if (time is not null)
        {
            for (var i = 0; i < values.Count; i++) values[i] = values[i] with { DeviceTime = time };
        }

        return new Decoded.Measurements(route.Sensor!, route.Place, values);
    }

    private static double? Number(ref Utf8JsonReader reader)
    {
        if (reader.TokenType == JsonTokenType.Number) return reader.TryGetDouble(out var value) ? value : double.PositiveInfinity;
        return reader.TokenType == JsonTokenType.String && !reader.ValueIsEscaped && TryReading(reader.ValueSpan, out var text)
            ? text : null;
    }

    // One message says one value of a quantity; of a doubled key the last stands, as JSON readers have it.
    private static void Put(List<Measured> values, Measured value)
    {
        var at = values.FindIndex(v => v.Quantity == value.Quantity);
        if (at < 0) values.Add(value);
        else values[at] = value;
    }

    private static DateTimeOffset? Time(ref Utf8JsonReader reader) => reader.TokenType switch
    {
        JsonTokenType.Number when reader.TryGetDouble(out var seconds) => DeviceClock.FromUnix(seconds),
        JsonTokenType.String when !reader.ValueIsEscaped && TryNumber(reader.ValueSpan, out var seconds) => DeviceClock.FromUnix(seconds),
        JsonTokenType.String => DeviceClock.FromRfc3339(reader.GetString()!),
        _ => null,
    };

    private static Decoded MappedStatus(Route route, ReadOnlyMemory<byte> payload)
    {
        var rule = route.Rules[0];
        var words = PayloadValues.Of(payload).Select(v => v.Text).Append(Encoding.UTF8.GetString(payload.Span).Trim()).ToList();
        if (words.Contains(rule.Online, StringComparer.OrdinalIgnoreCase)) return new Decoded.Status(route.Sensor!, true);
        if (words.Contains(rule.Offline, StringComparer.OrdinalIgnoreCase)) return new Decoded.Status(route.Sensor!, false);
        return new Decoded.Unreadable(route.Sensor, $"a status here is {rule.Online} or {rule.Offline}");
    }

    private static Decoded Mapped(Route route, ReadOnlyMemory<byte> payload)
    {
        string? problem = null;
        var others = 0;
        payload = PayloadValues.Unwrapped(payload);
        var found = new List<(string Sensor, string? Place, Measured Value)>(route.Rules.Length);
        using var document = Array.Exists(route.Rules, r => r.Pointer is not null || r.Where.Length > 0) && !TryReading(payload.Span, out _)
            ? JsonDocument.Parse(payload, PayloadValues.Lenient) : null;
        foreach (var rule in route.Rules)
        {
            double? number = null;
            if (!rule.IsOf(document?.RootElement))
            {
                others++;
                continue;
            }

            if (rule.Pick is { } pick)
            {
                number = PayloadValues.Picked(Encoding.UTF8.GetString(payload.Span), pick);
                if (number is null) problem = $"no number at '{pick}'";
            }
            else if (rule.Pointer is { } pointer)
            {
                if (document?.RootElement is not { } root || pointer.Evaluate(root) is not { } element) problem = $"nothing at {pointer}";
                else if ((number = Number(element)) is null) problem = $"no number at {pointer}";
            }
            else if (TryReading(payload.Span, out var plain))
            {
                number = plain;
            }
            else
            {
                problem = "not a plain number; a mapping without Pointer expects one";
            }

            if (number is not { } value) continue;
            // A message that does not say whose it is must not count as another sensor's.
            var sensor = rule.Name(route.Topic, document?.RootElement) ?? (rule.IsOfMany ? null : route.Sensor);
            if (sensor is null) problem = "it does not say which sensor it is of";
            else found.Add((sensor, rule.Place, new Measured(rule.Scale.Quantity, rule.Scale.ToSi(value), null)));
        }

        Decoded.Measurements? chain = null;
        foreach (var sensor in found.GroupBy(f => (f.Sensor, f.Place)).Reverse())
        {
            chain = new Decoded.Measurements(sensor.Key.Sensor, sensor.Key.Place, [.. sensor.Select(f => f.Value)])
            { Note = problem, Next = chain };
        }

        if (chain is null && others == route.Rules.Length) return Decoded.NotOurs.Instance;
        return chain is not null ? chain : new Decoded.Unreadable(route.Sensor, problem ?? "nothing in it was mapped");
    }

    private static double? Number(JsonElement element) => element.ValueKind switch
    {
        JsonValueKind.Number => element.TryGetDouble(out var value) ? value : null,
        JsonValueKind.String => element.GetString()! is var said && TryReading(Encoding.UTF8.GetBytes(said), out var text)
            ? text : PayloadValues.Number(said)?.Value,
        _ => null,
    };

    private Route RouteOf(string topic)
    {
        var (rules, routes) = (inForce.Rules, inForce.Routes);
        if (topic.Length > LongestTopic) return Parse(topic, rules);
        if (routes.TryGetValue(topic, out var there)) return there;
        var fresh = Parse(topic, rules);
        // Bounded: a flood of invented topics must not fill the memory, nor keep the real ones out for ever.
        if (routes.Count >= RoutesKept) routes.Clear();
        routes.TryAdd(topic, fresh);
        return fresh;
    }

    private static Route Parse(string topic, Rule[] rules)
    {
        if (topic.StartsWith(Announcements.Root, StringComparison.Ordinal) || topic == Announcements.Root[..^1])
            return new Route(Kind.NotOurs);
        var ours = topic.StartsWith(Root, StringComparison.Ordinal);
        // As with $SYS in MQTT, a filter that begins with a wildcard does not mean the topics that have their own convention.
        var mapped = Array.FindAll(rules, r => MqttTopicFilterComparer.Compare(topic, r.Topic) == MqttTopicFilterCompareResult.IsMatch
            && (!ours || r.Topic.StartsWith(Root, StringComparison.Ordinal)));
        var status = Array.Find(rules, r => r.StatusTopic == topic);
        if (mapped.Length == 0 && status is { Sensor: not null }) return new Route(Kind.MappedStatus) { Sensor = status.Sensor, Rules = [status] };
        if (!ours && mapped.Length == 0) return new Route(Kind.NotOurs);
        if (topic.Length > LongestTopic)
            return new Route(Kind.Json) { Problem = $"the topic has {topic.Length} characters; at most {LongestTopic} are read" };
        if (mapped.Length > 0)
            return new Route(Kind.Mapped) { Sensor = Array.Find(mapped, r => r.Sensor is not null)?.Sensor ?? topic, Rules = mapped, Topic = topic };
        var parts = topic[Root.Length..].Split('/');
        if (parts.Length is < 2 or > 3)
            return new Route(Kind.Json) { Problem = "the topic is not rootcellar/PLACE/SENSOR or rootcellar/PLACE/SENSOR/QUANTITY" };
        if (parts.Any(p => p.Length is 0 or > LongestName || p.Any(char.IsControl)))
            return new Route(Kind.Json) { Problem = $"place and sensor in the topic have 1 to {LongestName} characters" };
        var sensor = $"{parts[0]}/{parts[1]}";
        if (parts.Length == 2) return new Route(Kind.Json) { Sensor = sensor, Place = parts[0] };
        if (parts[2] == "status") return new Route(Kind.Status) { Sensor = sensor, Place = parts[0] };
        return QuantityNames.TryFind(parts[2], out var scale)
            ? new Route(Kind.Number) { Sensor = sensor, Place = parts[0], Scale = scale }
            : new Route(Kind.Json)
            { Sensor = sensor, Problem = $"'{parts[2]}' is not a known quantity; known are {string.Join(", ", QuantityNames.All)}" };
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
        MappedStatus,
    }

    private sealed record Route(Kind Kind)
    {
        public string? Sensor { get; init; }

        public string? Place { get; init; }

        public Scale Scale { get; init; }

        public string? Problem { get; init; }

        public Rule[] Rules { get; init; } = [];

        public string Topic { get; init; } = "";
    }

    private sealed record Rule(string Topic, JsonPointer? Pointer, Scale Scale, string? Place, string? Sensor)
    {
        public string? Pick { get; init; }

        public int? SensorLevel { get; init; }

        public JsonPointer? SensorPointer { get; init; }

        public (JsonPointer At, string Text)[] Where { get; init; } = [];

        public string? StatusTopic { get; init; }

        public string Online { get; init; } = "";

        public string Offline { get; init; } = "";

        /// <summary>Whether a message is one of those it reads.</summary>
        public bool IsOf(JsonElement? message) =>
            Array.TrueForAll(Where, w => message is { } root && w.At.Evaluate(root) is { } there && Plain(there) == w.Text);

        /// <summary>Whether each message says which sensor it is of.</summary>
        public bool IsOfMany => SensorLevel is not null || SensorPointer is not null;

        /// <summary>The sensor's key; null where the rule names none, or the message does not say it.</summary>
        public string? Name(string topic, JsonElement? message)
        {
            if (Sensor is not null) return Sensor;
            var name = SensorLevel is { } level ? topic.Split('/').ElementAtOrDefault(level - 1)
                : SensorPointer is { } pointer && message is { } root && pointer.Evaluate(root) is { } there ? Plain(there) : null;
            if (string.IsNullOrWhiteSpace(name)) return null;
            name = string.Concat(name.Select(c => c is '/' or '+' or '#' || char.IsControl(c) ? '-' : c));
            return $"{Place}/{(name.Length <= LongestName ? name : name[..LongestName])}";
        }

        private static string Plain(JsonElement element) =>
            element.ValueKind == JsonValueKind.String ? element.GetString()! : element.GetRawText();

        /// <summary>Null for a mapping that <see cref="MappingRules"/> refuses; the service does not start with one.</summary>
        public static Rule? Of(Mapping m) => MappingRules.Validate(m).Count > 0
            || QuantityNames.Read(m.Quantity, m.Unit, m.Scale, out var scale) is not null
            ? null
            : new Rule(m.Topic, string.IsNullOrEmpty(m.Pointer) ? null : JsonPointer.Parse(m.Pointer),
                scale with { Offset = scale.Offset + (m.Offset ?? 0) }, m.Place, m.Sensor is null ? null : $"{m.Place}/{m.Sensor}")
            {
                Pick = string.IsNullOrEmpty(m.Pick) ? null : m.Pick,
                SensorLevel = m.SensorLevel,
                SensorPointer = string.IsNullOrEmpty(m.SensorPointer) ? null : JsonPointer.Parse(m.SensorPointer),
                Where = [.. m.Where.Select(w => (JsonPointer.Parse(w.Key), w.Value))],
                StatusTopic = m.StatusTopic,
                Online = m.Online,
                Offline = m.Offline,
            };
    }
}
