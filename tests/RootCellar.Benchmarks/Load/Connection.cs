using System.Buffers.Binary;
using System.Net;
using System.Net.Sockets;

namespace RootCellar.Benchmarks.Load;

/// <summary>A sensor's connection, on a bare socket: a client library would cost more than the service under test.</summary>
internal sealed class Connection : IDisposable
{
    private readonly Socket socket = new(AddressFamily.InterNetwork, SocketType.Stream, ProtocolType.Tcp) { NoDelay = true };
    private readonly byte[] received = new byte[4096];
    private int have;

    public static async Task<Connection> OpenAsync(int port, string client, CancellationToken cancellationToken)
    {
        var connection = new Connection();
        await connection.socket.ConnectAsync(IPAddress.Loopback, port, cancellationToken);
        await connection.SendAsync(Publish.Connect(client), cancellationToken);
        var answer = await connection.PacketsAsync(0x20, cancellationToken);
        return answer == 1 ? connection : throw new InvalidOperationException("The broker did not let the load generator in.");
    }

    public async ValueTask SendAsync(ReadOnlyMemory<byte> bytes, CancellationToken cancellationToken)
    {
        while (bytes.Length > 0) bytes = bytes[await socket.SendAsync(bytes, cancellationToken)..];
    }

    /// <summary>Waits for at least one acknowledgement of a publish; how many came.</summary>
    public Task<int> AcknowledgedAsync(CancellationToken cancellationToken) => PacketsAsync(0x40, cancellationToken);

    public void Dispose() => socket.Dispose();

    // CONNACK and PUBACK are four bytes each and nothing else comes to a client that subscribes to nothing.
    private async Task<int> PacketsAsync(byte expected, CancellationToken cancellationToken)
    {
        do
        {
            var more = await socket.ReceiveAsync(received.AsMemory(have), cancellationToken);
            if (more == 0) throw new InvalidOperationException("The service closed the connection.");
            have += more;
        }
        while (have < 4);

        var whole = have / 4;
        for (var i = 0; i < whole; i++)
        {
            var packet = received.AsSpan(i * 4, 4);
            if (packet[0] != expected || packet[1] != 2 || (expected == 0x20 && BinaryPrimitives.ReadUInt16BigEndian(packet[2..]) != 0))
            {
                throw new InvalidOperationException($"Unexpected answer {Convert.ToHexString(packet)}.");
            }
        }

        received.AsSpan(whole * 4, have - (whole * 4)).CopyTo(received);
        have -= whole * 4;
        return whole;
    }
}
