using System.IO.Pipelines;
using System.Net;
using System.Security.Cryptography.X509Certificates;
using Microsoft.AspNetCore.Connections;
using Microsoft.AspNetCore.Server.Kestrel.Core;
using MQTTnet.Adapter;
using MQTTnet.AspNetCore;
using MQTTnet.Diagnostics.Logger;
using MQTTnet.Formatter;
using MQTTnet.Packets;
using MQTTnet.Server;

namespace RootCellar.Readings;

/// <summary>
/// The built-in broker's TCP door: the web server listens, since it bounds what it buffers of a connection; this bounds how many
/// connections there are and how long a packet may be, before the broker library sees any of it.
/// </summary>
internal sealed class BrokerDoor(MqttOptions mqtt, Refusals refusals) : ConnectionHandler, IMqttServerAdapter
{
    private readonly MqttLimits limits = mqtt.Limits;
    private readonly Dictionary<IPAddress, int> connections = [];
    private int all;
    private volatile bool open;

    public Func<IMqttChannelAdapter, Task> ClientHandler { get; set; } = static _ => Task.CompletedTask;

    /// <summary>Told when a connection has ended.</summary>
    public Action<ClientChannel>? Left { get; set; }

    /// <summary>Connections there are now, also those that have not said who they are.</summary>
    public int Connections => Volatile.Read(ref all);

    /// <summary>Counts a connection, before its handshake where it comes over TLS: that costs the most.</summary>
    public async Task CountAsync(ConnectionContext connection, ConnectionDelegate next)
    {
        var address = Address(connection.RemoteEndPoint);
        if (!open || !Enter(address)) return;
        try
        {
            await next(connection);
        }
        finally
        {
            Leave(address);
        }
    }

    public override async Task OnConnectedAsync(ConnectionContext connection)
    {
        var address = Address(connection.RemoteEndPoint);
        var bounded = new BoundedPackets(connection.Transport.Input, limits.PacketBytes, length =>
            refusals.Count(Refusal.Packet, address, $"a packet of {length} bytes; Mqtt:Limits:PacketBytes is {limits.PacketBytes}"));
        connection.Transport = new Pipes(bounded, connection.Transport.Output);
        using var context = new MqttConnectionContext(new MqttPacketFormatterAdapter(new MqttBufferWriter(4096, 65535)), connection);
        var client = new ClientChannel(context, connection, address, limits);
        try
        {
            await ClientHandler(client);
        }
        finally
        {
            Left?.Invoke(client);
        }
    }

    public Task StartAsync(MqttServerOptions options, IMqttNetLogger logger)
    {
        open = true;
        return Task.CompletedTask;
    }

    public Task StopAsync()
    {
        open = false;
        return Task.CompletedTask;
    }

    public void Dispose()
    {
        // Connections are the web server's, which ends them.
    }

    private static IPAddress Address(EndPoint? end) => (end as IPEndPoint)?.Address is { } address
        ? (address.IsIPv4MappedToIPv6 ? address.MapToIPv4() : address) : IPAddress.None;

    private bool Enter(IPAddress address)
    {
        Refusal reason;
        lock (connections)
        {
            var here = connections.GetValueOrDefault(address);
            if (here < limits.ConnectionsPerAddress && all < limits.Connections)
            {
                connections[address] = here + 1;
                all++;
                return true;
            }

            reason = here >= limits.ConnectionsPerAddress ? Refusal.AddressConnections : Refusal.Connections;
        }

        refusals.Count(reason, address, reason == Refusal.Connections ? $"Mqtt:Limits:Connections is {limits.Connections}"
            : $"Mqtt:Limits:ConnectionsPerAddress is {limits.ConnectionsPerAddress}");
        return false;
    }

    private void Leave(IPAddress address)
    {
        lock (connections)
        {
            all--;
            if (connections[address] == 1) connections.Remove(address);
            else connections[address]--;
        }
    }

    private sealed record Pipes(PipeReader Input, PipeWriter Output) : IDuplexPipe;
}

/// <summary>How the web server leads to the door.</summary>
internal static class BrokerDoorListening
{
    /// <param name="tls">Puts TLS before it; null: in clear.</param>
    public static void UseBroker(this ListenOptions listen, Action<ListenOptions>? tls = null)
    {
        var door = listen.ApplicationServices.GetRequiredService<BrokerDoor>();
        listen.Use(next => connection => door.CountAsync(connection, next));
        // A client that asks by ALPN for "mqtt" must not be told that only web pages are spoken here.
        listen.Protocols = HttpProtocols.None;
        tls?.Invoke(listen);
        listen.UseConnectionHandler<BrokerDoor>();
    }
}

/// <summary>
/// A client's connection, with what is known of the client. A courtesy: an MQTT 3.1.1 client that leaves its id empty gets one.
/// </summary>
internal sealed class ClientChannel(MqttConnectionContext inner, ConnectionContext connection, IPAddress address, MqttLimits limits)
    : IMqttChannelAdapter
{
    private int aborted;

    /// <summary>Where the broker library's session holds it.</summary>
    public static readonly object Key = typeof(ClientChannel);

    public IPAddress Address { get; } = address;

    public bool FromThisMachine => IPAddress.IsLoopback(Address);

    /// <summary>Null until it was let in.</summary>
    public ClientRights? Rights { get; set; }

    public string Id { get; set; } = "";

    public ClientLoad Load { get; } = new(limits);

    /// <summary>Whether it subscribed to anything.</summary>
    public bool Reads { get; set; }

    public bool IsVersion5 => PacketFormatterAdapter.ProtocolVersion == MqttProtocolVersion.V500;

    public CancellationToken Closed => connection.ConnectionClosed;

    public long BytesReceived => inner.BytesReceived;

    public long BytesSent => inner.BytesSent;

    public X509Certificate2 ClientCertificate => inner.ClientCertificate;

    public EndPoint? RemoteEndPoint => connection.RemoteEndPoint;

    public EndPoint? LocalEndPoint => connection.LocalEndPoint;

    public bool IsSecureConnection => inner.IsSecureConnection;

    public MqttPacketFormatterAdapter PacketFormatterAdapter => inner.PacketFormatterAdapter;

    /// <summary>Cuts the connection off, also while something is being sent that the client does not fetch.</summary>
    /// <returns>False where that was done before: a client is cut off once, however much waits for it until it is gone.</returns>
    public bool Abort()
    {
        var first = Interlocked.Exchange(ref aborted, 1) == 0;
        if (first) connection.Abort();
        return first;
    }

    public async Task<MqttPacket> ReceivePacketAsync(CancellationToken cancellationToken)
    {
        var packet = await inner.ReceivePacketAsync(cancellationToken);
        if (packet is not MqttConnectPacket connect) return packet;
        if (connect is { ClientId.Length: 0, CleanSession: true } && !IsVersion5) connect.ClientId = $"nameless-{Guid.NewGuid():N}";
        // Sessions end with their connection. The library would hand a session that is taken over on with the rights of the one before.
        connect.CleanSession = true;
        return packet;
    }

    public Task ConnectAsync(CancellationToken cancellationToken) => inner.ConnectAsync(cancellationToken);

    public Task DisconnectAsync(CancellationToken cancellationToken) => inner.DisconnectAsync(cancellationToken);

    /// <summary>What is on its way still counts as waiting: until the connection has taken it, it may be lost with it.</summary>
    public async Task SendPacketAsync(MqttPacket packet, CancellationToken cancellationToken)
    {
        await inner.SendPacketAsync(packet, cancellationToken);
        switch (packet)
        {
            // Those from the store, which come retained, were not put in line one by one.
            case MqttPublishPacket { Retain: false } message:
                Load.Sent(message.Topic, message.Payload.Length);
                break;
            case MqttPingRespPacket or MqttSubAckPacket or MqttUnsubAckPacket or MqttPubCompPacket or MqttPubRelPacket or MqttPubAckPacket or MqttPubRecPacket:
                Load.Answered();
                break;
        }
    }

    public void ResetStatistics() => inner.ResetStatistics();

    public void Dispose() => inner.Dispose();
}
