using System.Buffers.Binary;
using System.Net;
using System.Net.Sockets;
using System.Text;

namespace RootCellar.SystemTests.Running;

/// <summary>
/// MQTT 3.1.1 (and the few bytes of MQTT 5 that attacks need) on a bare socket, which keeps no rules that a client library would keep.
/// </summary>
public sealed class BareMqtt : IDisposable
{
    private readonly Socket socket = new(AddressFamily.InterNetwork, SocketType.Stream, ProtocolType.Tcp)
    { NoDelay = true, ReceiveTimeout = 20_000, SendTimeout = 20_000 };

    /// <summary>Connected by TCP, and nothing said yet.</summary>
    public static async Task<BareMqtt> OpenAsync(int port, int? receiveBuffer = null)
    {
        var bare = new BareMqtt();
        if (receiveBuffer is { } bytes) bare.socket.ReceiveBufferSize = bytes;
        await bare.socket.ConnectAsync(IPAddress.Loopback, port, TestContext.Current.CancellationToken);
        return bare;
    }

    /// <summary>Let in under this id; the answer of CONNACK, 0 being yes, or null where the connection was closed without one.</summary>
    public async Task<int?> ConnectAsync(string id, string? password = null, byte version = 4)
    {
        byte flags = password is null ? (byte)2 : (byte)0xC2;
        byte[] body =
        [
            0, 4, .. "MQTT"u8, version, flags, 1, 44, .. version == 5 ? new byte[] { 0 } : [], .. Text(id),
            .. password is null ? [] : Text("sensor"), .. password is null ? [] : Text(password),
        ];
        try
        {
            await SendAsync(Packet(0x10, body));
            var answer = new byte[4];
            for (var have = 0; have < 4;)
            {
                var more = await ReceiveAsync(answer.AsMemory(have));
                if (more == 0) return null;
                have += more;
            }

            answer[0].Should().Be(0x20);
            return answer[3];
        }
        catch (SocketException)
        {
            return null;
        }
    }

    public Task PublishAsync(string topic, byte[] payload, bool retain = false) =>
        SendAsync(Packet((byte)(retain ? 0x31 : 0x30), [.. Text(topic), .. payload]));

    public Task SubscribeAsync(string filter) => SendAsync(Packet(0x82, [0, 1, .. Text(filter), 0]));

    /// <exception cref="SocketException">The other side has closed.</exception>
    public async Task SendAsync(ReadOnlyMemory<byte> bytes)
    {
        using var patience = new CancellationTokenSource(TimeSpan.FromSeconds(20));
        while (bytes.Length > 0) bytes = bytes[await socket.SendAsync(bytes, patience.Token)..];
    }

    public async Task<int> ReceiveAsync(Memory<byte> into)
    {
        using var patience = new CancellationTokenSource(TimeSpan.FromSeconds(20));
        return await socket.ReceiveAsync(into, patience.Token);
    }

    /// <summary>
    /// Sends again and again until the other side has closed; how many bytes it took. Fails after <paramref name="most"/>.
    /// </summary>
    public async Task<long> SendUntilClosedAsync(ReadOnlyMemory<byte> bytes, long most)
    {
        long sent = 0;
        try
        {
            for (; sent < most; sent += bytes.Length) await SendAsync(bytes);
        }
        catch (SocketException)
        {
            return sent;
        }

        throw new InvalidOperationException($"{sent} bytes were taken and the connection is open still.");
    }

    /// <summary>Whether the other side has closed, told by reading what is there until then.</summary>
    public async Task<bool> IsClosedWithinAsync(TimeSpan time)
    {
        using var patience = new CancellationTokenSource(time);
        var into = new byte[65_536];
        try
        {
            while (await socket.ReceiveAsync(into, patience.Token) > 0)
            {
            }

            return true;
        }
        catch (OperationCanceledException)
        {
            return false;
        }
        catch (SocketException)
        {
            return true;
        }
    }

    public static byte[] Packet(byte first, byte[] body) => [first, .. Length(body.Length), .. body];

    public static byte[] Length(int length)
    {
        var bytes = new List<byte>();
        do
        {
            var more = length >= 128;
            bytes.Add((byte)((length & 0x7F) | (more ? 0x80 : 0)));
            length >>= 7;
        }
        while (length > 0);
        return [.. bytes];
    }

    public static byte[] Text(string text)
    {
        var bytes = Encoding.UTF8.GetBytes(text);
        var all = new byte[bytes.Length + 2];
        BinaryPrimitives.WriteUInt16BigEndian(all, (ushort)bytes.Length);
        bytes.CopyTo(all, 2);
        return all;
    }

    public void Dispose() => socket.Dispose();
}
