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
    public static IReadOnlyList<string> Validate(Mapping mapping)
    {
        var problems = new List<string>();
        if (mapping.Topic.Length == 0 || MqttTopicFilterComparer.Compare("x", mapping.Topic) == MqttTopicFilterCompareResult.FilterInvalid || WildcardInside(mapping.Topic))
        {
            problems.Add($"Topic: '{mapping.Topic}' is not an MQTT topic filter. Right: shed/+/climate or shed/#.");
        }

        if (!string.IsNullOrEmpty(mapping.Pointer) && !JsonPointer.TryParse(mapping.Pointer, out _))
        {
            problems.Add($"Pointer: '{mapping.Pointer}' is not a JSON Pointer (RFC 6901). Right: /climate/temp, with / at the start.");
        }

        if (QuantityNames.Read(mapping.Quantity, mapping.Unit, mapping.Scale, out _) is { } wrong) problems.Add(wrong);
        if (mapping.Place is null != mapping.Sensor is null) problems.Add("Place and Sensor go together: give both or neither.");
        return problems;
    }

    // MQTT 5 section 4.7.1: + and # fill a level of their own, # the last one; the comparer above does not see it all.
    private static bool WildcardInside(string filter)
    {
        var levels = filter.Split('/');
        return levels.Any(l => l.Length > 1 && l.AsSpan().IndexOfAny('+', '#') >= 0) || Array.IndexOf(levels, "#") is >= 0 and var at && at < levels.Length - 1;
    }
}
