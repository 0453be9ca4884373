using System.Diagnostics;

namespace RootCellar.Benchmarks.Load;

/// <summary>What a load came to. <see cref="Took"/> ends with the last acknowledgement, so nothing is still on its way.</summary>
internal sealed record Figures(long Sent, TimeSpan Took)
{
    public double Rate => Sent / Took.TotalSeconds;
}

/// <summary>QoS 0: large sends at a steady pace; a service that is too slow holds the sockets back and the rate falls.</summary>
internal static class Flood
{
    private const int Largest = 1_000;
    private static readonly TimeSpan Pace = TimeSpan.FromMilliseconds(10);

    public static async Task<Figures> RunAsync(int port, int rate, int connections, TimeSpan length, CancellationToken cancellationToken)
    {
        var sensors = Sensor.All.Chunk((int)Math.Ceiling((double)Sensor.All.Count / connections)).ToList();
        var open = await Task.WhenAll(sensors.Select((_, i) => Connection.OpenAsync(port, $"load0-{i}", cancellationToken)));
        var watch = Stopwatch.StartNew();
        var each = rate == 0 ? double.PositiveInfinity : (double)rate / open.Length;
        var sent = await Task.WhenAll(
            sensors.Select((mine, i) => SendAsync(open[i], new Block(mine, 200), mine[0], each, watch, length, cancellationToken)));
        var took = watch.Elapsed;
        foreach (var connection in open) connection.Dispose();
        return new Figures(sent.Sum(), took);
    }

    private static async Task<long> SendAsync(Connection connection, Block block, Sensor last, double rate, Stopwatch watch,
        TimeSpan length, CancellationToken cancellationToken)
    {
        long sent = 0;
        while (watch.Elapsed < length)
        {
            var due = double.IsInfinity(rate) ? Largest : (long)(watch.Elapsed.TotalSeconds * rate) - sent;
            while (due > 0 && watch.Elapsed < length)
            {
                var (bytes, count) = block.From(sent, Math.Min(due, Largest));
                await connection.SendAsync(bytes, cancellationToken);
                sent += count;
                due -= count;
            }

            if (!double.IsInfinity(rate)) await Task.Delay(Pace, cancellationToken);
        }

        // One with a receipt at the end: the broker takes a connection's messages in order and acknowledges this one after
        // its commit, so when the receipt comes, all before it have been judged and kept.
        await connection.SendAsync(Publish.Packet(last.Topic, last.At(0, 200), 1), cancellationToken);
        await connection.AcknowledgedAsync(cancellationToken);
        return sent + 1;
    }
}

/// <summary>QoS 1: many connections, each with a few publishes under way, counting what is acknowledged.</summary>
internal static class Receipts
{
    public const int Window = 20;

    public static async Task<Figures> RunAsync(int port, int rate, int connections, TimeSpan length, CancellationToken cancellationToken)
    {
        var open = await Task.WhenAll(Enumerable.Range(0, connections)
            .Select(i => Connection.OpenAsync(port, $"load1-{i}", cancellationToken)));
        var watch = Stopwatch.StartNew();
        var each = rate == 0 ? double.PositiveInfinity : (double)rate / connections;
        var acknowledged = await Task.WhenAll(
            open.Select((c, i) => SendAsync(c, Sensor.All[i % Sensor.All.Count], each, watch, length, cancellationToken)));
        var took = watch.Elapsed;
        foreach (var connection in open) connection.Dispose();
        return new Figures(acknowledged.Sum(), took);
    }

    private static async Task<long> SendAsync(Connection connection, Sensor sensor, double rate, Stopwatch watch, TimeSpan length,
        CancellationToken cancellationToken)
    {
        const int rounds = 1_000;
        var packets = Enumerable.Range(0, rounds).Select(r => Publish.Packet(sensor.Topic, sensor.At(r, rounds), (ushort)(r + 1)))
            .ToArray();
        var buffer = new byte[packets.Max(p => p.Length) * Window];
        long sent = 0, acknowledged = 0;
        while (watch.Elapsed < length)
        {
            var due = double.IsInfinity(rate) ? long.MaxValue : (long)(watch.Elapsed.TotalSeconds * rate) - sent;
            var used = 0;
            for (; due > 0 && sent - acknowledged < Window; due--)
            {
                var packet = packets[sent++ % rounds];
                packet.CopyTo(buffer, used);
                used += packet.Length;
            }

            if (used > 0) await connection.SendAsync(buffer.AsMemory(0, used), cancellationToken);
            if (sent > acknowledged) acknowledged += await connection.AcknowledgedAsync(cancellationToken);
            else await Task.Delay(5, cancellationToken);
        }

        while (acknowledged < sent) acknowledged += await connection.AcknowledgedAsync(cancellationToken);
        return acknowledged;
    }
}
