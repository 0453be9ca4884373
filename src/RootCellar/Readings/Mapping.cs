using Json.Pointer;
using MQTTnet;

namespace RootCellar.Readings;

/// <summary>
/// How the grower reads a topic that does not follow our convention: which messages, where in them the number stands,
/// and what it is. Key <c>Mqtt:Mappings</c>.
/// </summary>
internal sealed class Mapping
{
    /// <summary>MQTT topic filter; + and # as MQTT has them.</summary>
    public string Topic { get; set; } = "";

    /// <summary>JSON Pointer (RFC 6901) to the number; empty when the payload is a plain number.</summary>
    public string? Pointer { get; set; }

    /// <summary>In text that is not JSON: the key before the number (t in "t=12.8"), or which number it is, counted from 1.</summary>
    public string? Pick { get; set; }

    /// <summary>As in topics: temperature_c, humidity_pct ...</summary>
    public string Quantity { get; set; } = "";

    /// <summary>The unit the sensor uses when it is not that of the quantity's name: F, K, hPa, g, mV, / (a fraction) ...</summary>
    public string? Unit { get; set; }

    /// <summary>Multiplied with the number before anything else.</summary>
    public double? Scale { get; set; }

    /// <summary>Added after that, in the unit of the quantity: what the sensor reads too low.</summary>
    public double? Offset { get; set; }

    /// <summary>The place it belongs to; with Sensor it makes the sensor's name, otherwise the topic is the name.</summary>
    public string? Place { get; set; }

    public string? Sensor { get; set; }

    /// <summary>Instead of Sensor, where one filter is of many: the level of the topic that names it, counted from 1.</summary>
    public int? SensorLevel { get; set; }

    /// <summary>Instead of Sensor, where one topic is of many: JSON Pointer to what names it.</summary>
    public string? SensorPointer { get; set; }

    /// <summary>JSON Pointers and the texts that must stand there: only such messages are read by this mapping.</summary>
    public IDictionary<string, string> Where { get; set; } = new Dictionary<string, string>(StringComparer.Ordinal);

    /// <summary>The topic that says whether it is there; null where none does.</summary>
    public string? StatusTopic { get; set; }

    /// <summary>The words of that topic, alone or as a value in JSON.</summary>
    public string Online { get; set; } = "online";

    public string Offline { get; set; } = "offline";
}

/// <summary>What can be wrong with a mapping.</summary>
internal static class MappingRules
{
    private const int LongestName = 64;

    public static IReadOnlyList<string> Validate(Mapping mapping)
    {
        var problems = new List<string>();
        if (mapping.Topic.Length == 0 || MqttTopicFilterComparer.Compare("x", mapping.Topic) == MqttTopicFilterCompareResult.FilterInvalid
            || !WildcardsStandAlone(mapping.Topic))
        {
            problems.Add($"Topic: '{mapping.Topic}' is not an MQTT topic filter. Right: shed/+/climate or shed/#.");
        }

        if (!string.IsNullOrEmpty(mapping.Pointer) && !JsonPointer.TryParse(mapping.Pointer, out _))
        {
            problems.Add($"Pointer: '{mapping.Pointer}' is not a JSON Pointer (RFC 6901). Right: /climate/temp, with / at the start.");
        }

        foreach (var (name, pointer) in mapping.Where.Keys.Select(k => ("Where", (string?)k)).Append(("SensorPointer", mapping.SensorPointer)))
        {
            if (!string.IsNullOrEmpty(pointer) && !JsonPointer.TryParse(pointer, out _))
                problems.Add($"{name}: '{pointer}' is not a JSON Pointer (RFC 6901). Right: /id, with / at the start.");
        }

        if (!string.IsNullOrEmpty(mapping.Pick) && !string.IsNullOrEmpty(mapping.Pointer)) problems.Add("Pointer and Pick: give one of them.");
        if (mapping.Pick?.Length > LongestName) problems.Add($"Pick: at most {LongestName} characters.");
        if (mapping.Offset is { } offset && !double.IsFinite(offset)) problems.Add($"Offset: {offset} is not a number to add.");
        if (new[] { mapping.Sensor is not null, mapping.SensorLevel is not null, mapping.SensorPointer is not null }.Count(given => given) > 1)
            problems.Add("Sensor, SensorLevel and SensorPointer: give one of them.");
        if (mapping.SensorLevel is < 1 or > 32) problems.Add($"SensorLevel: {mapping.SensorLevel} is no level of a topic. Right: 1 is the first.");
        if (mapping.StatusTopic is { } status && (status.Length == 0 || status.AsSpan().IndexOfAny('+', '#') >= 0))
            problems.Add($"StatusTopic: '{status}' is not one topic. Right: the topic itself, without + and #.");
        if (QuantityNames.Read(mapping.Quantity, mapping.Unit, mapping.Scale, out _) is { } wrong) problems.Add(wrong);
        if (mapping.Place is null != (mapping.Sensor ?? mapping.SensorPointer ?? mapping.SensorLevel?.ToString(System.Globalization.CultureInfo.InvariantCulture)) is null) problems.Add("Place and Sensor go together: give both or neither.");
        if (!IsName(mapping.Place))
            problems.Add($"Place: '{mapping.Place}' cannot be a name in a topic. Right: 1 to {LongestName} characters without / + #, such as cellar.");
        if (!IsName(mapping.Sensor))
            problems.Add($"Sensor: '{mapping.Sensor}' cannot be a name in a topic. Right: 1 to {LongestName} characters without / + #, such as shelf.");
        return problems;
    }

    /// <summary>Whether a text can stand in a topic as a name; null can.</summary>
    public static bool IsName(string? name) => name is null
        || (name.Length is > 0 and <= LongestName && name.AsSpan().IndexOfAny("/+#") < 0);

    // MQTT 5.0, section 4.7.1: a wildcard fills its level, and # is the last one. The comparer is more lenient.
    private static bool WildcardsStandAlone(string filter)
    {
        var levels = filter.Split('/');
        for (var i = 0; i < levels.Length; i++)
        {
            if (levels[i].Length > 1 && levels[i].AsSpan().IndexOfAny('+', '#') >= 0) return false;
            if (levels[i] == "#" && i < levels.Length - 1) return false;
        }

        return true;
    }
}
