namespace RootCellar.Readings;

/// <summary>What waits for one client that does not fetch it: messages with their bytes, and answers. Safe from any thread.</summary>
internal sealed class ClientLoad(MqttLimits limits)
{
    // What the broker spends on a message besides its topic and payload, about.
    private const int EachMessage = 200;

    private long bytes;
    private int messages;
    private int answers;
    private int subscriptions;

    /// <summary>Whether a message is in line for it.</summary>
    public bool Waits => Volatile.Read(ref messages) > 0;

    /// <summary>A message is put in line. False: there is no room, and it must not be.</summary>
    public bool TryQueue(string topic, long payload)
    {
        var size = Size(topic, payload);
        var (waiting, inLine) = (Interlocked.Add(ref bytes, size), Interlocked.Increment(ref messages));
        if (waiting <= limits.PendingBytes && inLine <= limits.PendingMessages) return true;
        Sent(topic, payload);
        return false;
    }

    /// <summary>A message left the line.</summary>
    public void Sent(string topic, long payload)
    {
        Interlocked.Add(ref bytes, -Size(topic, payload));
        Interlocked.Decrement(ref messages);
    }

    /// <summary>The client sent what wants an answer. False: too many are waiting for it already.</summary>
    public bool Owe() => Interlocked.Increment(ref answers) <= limits.PendingMessages;

    public void Answered() => Interlocked.Decrement(ref answers);

    public bool TrySubscribe() => Interlocked.Increment(ref subscriptions) <= limits.Subscriptions;

    private static long Size(string topic, long payload) => (2L * topic.Length) + payload + EachMessage;
}
