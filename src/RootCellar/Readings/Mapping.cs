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

    /// <summary>As in topics: temperature_c, humidity_pct ...</summary>
    public string Quantity { get; set; } = "";

    /// <summary>The unit the sensor uses when it is not that of the quantity's name: F, K, hPa, g, mV, / (a fraction) ...</summary>
    public string? Unit { get; set; }

    /// <summary>Multiplied with the number before anything else.</summary>
    public double? Scale { get; set; }

    /// <summary>The place it belongs to; with Sensor it makes the sensor's name, otherwise the topic is the name.</summary>
    public string? Place { get; set; }

    public string? Sensor { get; set; }
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

        if (QuantityNames.Read(mapping.Quantity, mapping.Unit, mapping.Scale, out _) is { } wrong) problems.Add(wrong);
        if (mapping.Place is null != mapping.Sensor is null) problems.Add("Place and Sensor go together: give both or neither.");
        if (!IsName(mapping.Place))
            problems.Add($"Place: '{mapping.Place}' cannot be a name in a topic. Right: 1 to {LongestName} characters without / + #, such as cellar.");
        if (!IsName(mapping.Sensor))
            problems.Add($"Sensor: '{mapping.Sensor}' cannot be a name in a topic. Right: 1 to {LongestName} characters without / + #, such as shelf.");
        return problems;
    }

    private static bool IsName(string? name) => name is null
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
