using System.Text;

namespace RootCellar.Readings;

/// <summary>A topic that is no sensor of ours yet.</summary>
/// <param name="At">When it last came.</param>
/// <param name="EverySeconds">How often it comes; null after one message.</param>
/// <param name="Size">Bytes of the last message.</param>
/// <param name="Last">The last message; only its beginning where it is too long to be read here.</param>
/// <param name="Payloads">The last messages with their hours, oldest first, as far as kept.</param>
internal sealed record HeardTopic(
    string Topic, DateTimeOffset At, double? EverySeconds, int Count, int Size, byte[] Last, IReadOnlyList<(DateTimeOffset At, byte[] Payload)> Payloads)
{
    public bool IsTooLong => Size > Last.Length;

    /// <summary>The last message as it can be looked at: bytes that are no text in hexadecimal.</summary>
    public string Written => PayloadValues.IsText(Last) || IsTooLong ? Encoding.UTF8.GetString(Last) : Convert.ToHexStringLower(Last);
}

/// <summary>
/// What is heard and not understood: bounded in topics, in messages of each and in bytes, so that a flood of invented ones takes no memory
/// and does not push out what was there before. Safe from any thread.
/// </summary>
internal sealed class HeardTopics(TimeProvider time)
{
    private const int MostTopics = 200;
    private const int MostMessages = 60;
    /// <summary>Bytes kept of a topic, and the longest message that is read here.</summary>
    public const int MostBytes = 16_000;

    private const int ShownOfLong = 300;
    private const int LongestTopic = 256;

    /// <summary>What was not heard for so long makes room, and is listed no more.</summary>
    private static readonly TimeSpan Kept = TimeSpan.FromDays(1);

    private readonly Lock one = new();
    private readonly Dictionary<string, Entry> topics = new(StringComparer.Ordinal);
    private DateTimeOffset swept = DateTimeOffset.MinValue;

    /// <summary>How many messages came of topics there was no room for.</summary>
    public long Beyond { get; private set; }

    /// <summary>All of them, by topic.</summary>
    public IReadOnlyDictionary<string, HeardTopic> All
    {
        get
        {
            lock (one)
            {
                Sweep(time.GetUtcNow());
                return topics.ToDictionary(t => t.Key, t => t.Value.View(t.Key), StringComparer.Ordinal);
            }
        }
    }

    public void Note(string topic, ReadOnlyMemory<byte> payload, DateTimeOffset at)
    {
        if (payload.Length == 0 || topic.Length > LongestTopic) return;
        lock (one)
        {
            if (!topics.TryGetValue(topic, out var entry))
            {
                if (topics.Count >= MostTopics) Sweep(at);
                if (topics.Count >= MostTopics)
                {
                    Beyond++;
                    return;
                }

                topics[topic] = entry = new Entry(at);
            }

            entry.Add(payload, at);
        }
    }

    /// <summary>It is understood now.</summary>
    public void Forget(Predicate<string> understood)
    {
        lock (one)
        {
            foreach (var topic in topics.Keys.Where(t => understood(t)).ToList()) topics.Remove(topic);
        }
    }

    private void Sweep(DateTimeOffset now)
    {
        if (now - swept < TimeSpan.FromMinutes(1) && now >= swept) return;
        swept = now;
        foreach (var (topic, _) in topics.Where(t => now - t.Value.Last > Kept).ToList()) topics.Remove(topic);
    }

    private sealed class Entry(DateTimeOffset first)
    {
        private readonly DateTimeOffset begun = first;
        private readonly Queue<(DateTimeOffset At, byte[] Payload)> messages = new();
        private int bytes;
        private int count;

        public DateTimeOffset Last { get; private set; } = first;

        private int size;
        private byte[] last = [];

        public void Add(ReadOnlyMemory<byte> payload, DateTimeOffset at)
        {
            count++;
            Last = at;
            size = payload.Length;
            last = (size > MostBytes ? payload[..ShownOfLong] : payload).ToArray();
            if (size > MostBytes) return;
            messages.Enqueue((at, last));
            bytes += payload.Length;
            while (messages.Count > MostMessages || (bytes > MostBytes && messages.Count > 1)) bytes -= messages.Dequeue().Payload.Length;
        }

        public HeardTopic View(string topic) => new(
            topic, Last, count < 2 ? null : Math.Round((Last - begun).TotalSeconds / (count - 1), 1), count, size, last, [.. messages]);
    }
}
