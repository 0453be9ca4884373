using MQTTnet;
using RootCellar.Readings;

namespace RootCellar.Monitoring;

/// <summary>Takes mappings in: they hold at once, what was heard before is read too, and sensors stand where they were said to.</summary>
internal sealed class MappingDoor(MappingDesk desk, HeardTopics heard, Pipeline pipeline)
{
    /// <returns>Their ids; null where there are too many already.</returns>
    /// <exception cref="IOException">They could not be kept; all is as it was.</exception>
    /// <exception cref="UnauthorizedAccessException">The same.</exception>
    public async Task<IReadOnlyList<string>?> AddAsync(IReadOnlyList<Mapping> mappings, CancellationToken cancellationToken)
    {
        if (desk.Add(mappings) is not { } ids) return null;
        var keys = new HashSet<string>(StringComparer.Ordinal);
        foreach (var topic in heard.All.Values.Where(t => mappings.Any(m => Matches(t.Topic, m))))
        {
            var of = await pipeline.HearAgainAsync(topic, cancellationToken);
            keys.UnionWith(of);
            if (of.Count > 0) heard.Forget(t => t == topic.Topic);
        }

        foreach (var status in mappings.Select(m => m.StatusTopic).OfType<string>()) heard.Forget(t => t == status);
        foreach (var place in mappings.Select(m => m.Place).OfType<string>().Distinct(StringComparer.Ordinal))
        {
            foreach (var key in keys.Where(k => k.StartsWith(place + "/", StringComparison.Ordinal)))
                await pipeline.AskAsync(
                    (h, wall, mono) => h.Knows(place) && h.SaveSensor(key, place, name: null, mono, wall), cancellationToken);
        }

        return ids;
    }

    private static bool Matches(string topic, Mapping mapping) =>
        MqttTopicFilterComparer.Compare(topic, mapping.Topic) == MqttTopicFilterCompareResult.IsMatch;
}
