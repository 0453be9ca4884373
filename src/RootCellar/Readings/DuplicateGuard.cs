namespace RootCellar.Readings;

/// <summary>
/// QoS 1 is "at least once": a publisher that got no receipt sends again, with DUP set. A message is a repeat when DUP
/// is set and the same payload came last on its topic within ten minutes. (What carries a device time needs no guard:
/// the record files it under that time, on top of itself.) DUP alone is a hint only; the first copy may never have come.
/// </summary>
internal sealed class DuplicateGuard
{
    private const int TopicsKept = 4_000;
    private static readonly TimeSpan Window = TimeSpan.FromMinutes(10);

    private readonly Dictionary<string, (int Hash, TimeSpan Mono)> last = new(StringComparer.Ordinal);

    public bool IsRepeat(string topic, ReadOnlySpan<byte> payload, bool dup, TimeSpan mono)
    {
        var code = default(HashCode);
        code.AddBytes(payload);
        var hash = code.ToHashCode();
        var repeat = dup && last.TryGetValue(topic, out var before) && before.Hash == hash && mono - before.Mono <= Window;
        if (last.Count < TopicsKept || last.ContainsKey(topic)) last[topic] = (hash, mono);
        return repeat;
    }

    /// <summary>
    /// After a restart the guard knows nothing, but the record does: a repeat of what was kept just before the death of
    /// the process is known by its values.
    /// </summary>
    public static bool IsKept(SensorState sensor, IReadOnlyList<Measured> values, DateTimeOffset wall)
    {
        foreach (var value in values)
        {
            if (sensor.Last(value.Quantity) is not { } kept || !kept.Value.Equals(value.Value) || wall - kept.ArrivedAt > Window) return false;
        }

        return true;
    }
}
