
namespace RootCellar.Readings;

/// <summary>How much the broker keeps for readers to come, by topic. Safe from any thread.</summary>
internal sealed class RetainedBudget(MqttLimits limits)
{
    private readonly Lock one = new();
    private readonly Dictionary<string, long> sizes = new(StringComparer.Ordinal);
    private long bytes;

    public (int Messages, long Bytes) Now
    {
        get
        {
            lock (one) return (sizes.Count, bytes);
        }
    }

    /// <summary>
    /// Whether there is room for a message; an empty one takes its topic away. True counts it; after false nothing is counted for
    /// its topic, and what was kept there before must go too: it is no longer so.
    /// </summary>
    public bool TryKeep(string topic, long payload)
    {
        lock (one)
        {
            var before = sizes.GetValueOrDefault(topic);
            var size = payload == 0 ? 0 : payload + topic.Length;
            if (size > before && (bytes - before + size > limits.RetainedBytes || (before == 0 && sizes.Count >= limits.RetainedMessages)))
            {
                bytes -= before;
                sizes.Remove(topic);
                return false;
            }

            bytes += size - before;
            if (size == 0) sizes.Remove(topic);
            else sizes[topic] = size;
            return true;
        }
    }
}
