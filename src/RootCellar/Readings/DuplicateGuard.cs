
namespace RootCellar.Readings;

/// <summary>
/// QoS 1 is "at least once": a publisher that got no receipt sends again, with DUP set. A message is a repeat when DUP
/// is set and the same payload was among the last on its topic within ten minutes (a publisher may have a whole window of
/// messages without receipts, and sends all of them again). (What carries a device time needs no guard:
/// the record files it under that time, on top of itself.) DUP alone is a hint only; the first copy may never have come.
/// </summary>
internal sealed class DuplicateGuard
{
    private const int TopicsKept = 4_000;
    private const int ReadingsKept = 20_000;

    // More than the usual client sends without a receipt (20 in Mosquitto's, from memory).
    private const int PayloadsKept = 32;
    private static readonly TimeSpan Window = TimeSpan.FromMinutes(10);

    private readonly Dictionary<string, Queue<(int Hash, TimeSpan Mono)>> last = new(StringComparer.Ordinal);
    private readonly Dictionary<(string Sensor, Quantity Quantity, double Value), DateTimeOffset> kept = [];

    /// <summary>Stands for a payload while this program runs.</summary>
    public static int FingerprintOf(ReadOnlySpan<byte> payload)
    {
        var code = default(HashCode);
        code.AddBytes(payload);
        return code.ToHashCode();
    }

    public bool IsRepeat(string topic, int hash, bool dup, TimeSpan mono)
    {
        if (!last.TryGetValue(topic, out var before))
        {
            if (last.Count >= TopicsKept) MakeRoom(mono);
            last[topic] = before = new Queue<(int, TimeSpan)>();
        }

        var repeat = false;
        if (dup)
        {
            foreach (var (known, at) in before) repeat |= known == hash && mono - at <= Window;
        }

        while (before.TryPeek(out var oldest) && (before.Count >= PayloadsKept || mono - oldest.Mono > Window)) before.Dequeue();
        before.Enqueue((hash, mono));
        return repeat;
    }

    // What is past the window says nothing any more. A flood of invented topics costs what was remembered of the others: a
    // repeat among them is then a reading twice, which is the lesser harm.
    private void MakeRoom(TimeSpan mono)
    {
        foreach (var (topic, before) in last)
        {
            if (before.All(b => mono - b.Mono > Window)) last.Remove(topic);
        }

        if (last.Count >= TopicsKept) last.Clear();
    }

    /// <summary>
    /// After a restart the guard knows nothing, but the record does: a repeat of what was kept just before the death of
    /// the process is known by its values.
    /// </summary>
    public void TakeUp(in StoredReading recent, DateTimeOffset wall)
    {
        var reading = recent.Reading;
        if (wall - reading.ArrivedAt > Window) return;
        if (kept.Count >= ReadingsKept) kept.Clear();
        kept[(reading.Sensor, reading.Quantity, reading.Value)] = reading.ArrivedAt;
    }

    public bool IsKept(string sensor, IReadOnlyList<Measured> values, DateTimeOffset wall)
    {
        foreach (var value in values)
        {
            if (!kept.TryGetValue((sensor, value.Quantity, value.Value), out var at) || wall - at > Window) return false;
        }

        return true;
    }
}
