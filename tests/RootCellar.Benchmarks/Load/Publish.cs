using System.Buffers.Binary;
using System.Globalization;
using System.Text;

namespace RootCellar.Benchmarks.Load;

/// <summary>The few packets of MQTT 3.1.1 a sensor sends (OASIS MQTT 3.1.1, chapter 3), as bytes.</summary>
internal static class Publish
{
    public static byte[] Connect(string client)
    {
        var id = Encoding.UTF8.GetBytes(client);
        // Protocol name and level 4, clean session, keep-alive 300 s, then the client id.
        byte[] body = [0, 4, (byte)'M', (byte)'Q', (byte)'T', (byte)'T', 4, 2, 1, 44, (byte)(id.Length >> 8), (byte)id.Length, .. id];
        return [0x10, (byte)body.Length, .. body];
    }

    /// <summary>A PUBLISH. With a packet id it is QoS 1; its two bytes lie at <see cref="IdOffset"/>.</summary>
    public static byte[] Packet(string topic, double value, ushort? id)
    {
        var name = Encoding.UTF8.GetBytes(topic);
        var payload = Encoding.UTF8.GetBytes(value.ToString("0.00", CultureInfo.InvariantCulture));
        var length = 2 + name.Length + (id is null ? 0 : 2) + payload.Length;
        // A second length byte is never needed for a reading.
        if (length > 127) throw new ArgumentException($"{topic} is too long", nameof(topic));
        var packet = new byte[2 + length];
        packet[0] = id is null ? (byte)0x30 : (byte)0x32;
        packet[1] = (byte)length;
        BinaryPrimitives.WriteUInt16BigEndian(packet.AsSpan(2), (ushort)name.Length);
        name.CopyTo(packet, 4);
        if (id is { } number) BinaryPrimitives.WriteUInt16BigEndian(packet.AsSpan(IdOffset(name.Length)), number);
        payload.CopyTo(packet, packet.Length - payload.Length);
        return packet;
    }

    public static int IdOffset(int topicLength) => 4 + topicLength;
}

/// <summary>
/// Many PUBLISH packets behind one another, so that one send carries hundreds. The values drift slowly, so that every one is
/// believed, and stay within the band of their place.
/// </summary>
internal sealed class Block
{
    private readonly byte[] bytes;
    private readonly int[] starts;

    public Block(IReadOnlyList<Sensor> sensors, int rounds)
    {
        var packets = new List<byte[]>();
        for (var round = 0; round < rounds; round++)
        {
            foreach (var sensor in sensors) packets.Add(Publish.Packet(sensor.Topic, sensor.At(round, rounds), null));
        }

        bytes = [.. packets.SelectMany(p => p)];
        starts = [0, .. packets.Select(p => p.Length)];
        for (var i = 1; i < starts.Length; i++) starts[i] += starts[i - 1];
    }

    public int Count => starts.Length - 1;

    /// <summary>
    /// The bytes of <paramref name="count"/> packets from number <paramref name="first"/>, or to the end of the block; and how many those
    /// are.
    /// </summary>
    public (ReadOnlyMemory<byte> Bytes, int Count) From(long first, long count)
    {
        var begin = (int)(first % Count);
        var end = (int)Math.Min(Count, begin + count);
        return (bytes.AsMemory(starts[begin], starts[end] - starts[begin]), end - begin);
    }
}

/// <summary>One simulated quantity of one sensor and the range it drifts in.</summary>
internal sealed record Sensor(string Topic, double Low, double High)
{
    /// <summary>Three places of a homestead with 50 sensors in all, each with temperature and humidity; all within their bands.</summary>
    public static readonly IReadOnlyList<Sensor> All =
    [
        .. Enumerable.Range(1, 20).SelectMany(n => Pair("curing-room", n, 11, 14, 87, 93)),
        .. Enumerable.Range(1, 20).SelectMany(n => Pair("cellar", n, 4, 6.5, 91, 94)),
        .. Enumerable.Range(1, 10).SelectMany(n => Pair("pantry", n, 4, 6.5, 91, 94)),
    ];

    /// <summary>There and back over the rounds, each sensor a little different.</summary>
    public double At(int round, int rounds)
    {
        var phase = ((double)round / rounds) + (Topic.Sum(ch => ch) % 10 / 10.0);
        return Low + ((High - Low) * (0.5 + (0.5 * Math.Sin(2 * Math.PI * phase))));
    }

    private static IEnumerable<Sensor> Pair(string place, int n, double lowC, double highC, double lowRh, double highRh) =>
    [
        new Sensor($"rootcellar/{place}/s{n:00}/temperature_c", lowC, highC),
        new Sensor($"rootcellar/{place}/s{n:00}/humidity_pct", lowRh, highRh),
    ];
}
