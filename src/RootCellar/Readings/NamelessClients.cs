using System.Net;
using System.Security.Cryptography.X509Certificates;
using MQTTnet.Adapter;
using MQTTnet.Diagnostics.Logger;
using MQTTnet.Formatter;
using MQTTnet.Packets;
using MQTTnet.Server;
using MQTTnet.Server.Internal.Adapter;

namespace RootCellar.Readings;

/// <summary>
/// The broker's TCP door, with one courtesy: an MQTT 3.1.1 client may leave its id empty (clean session), and the broker
/// library refuses those before anybody is asked. Here such a client gets an id of its own as its CONNECT comes in.
/// </summary>
internal sealed class NamelessClients : IMqttServerAdapter
{
    private readonly MqttTcpServerAdapter tcp = new();

    public Func<IMqttChannelAdapter, Task> ClientHandler { get; set; } = static _ => Task.CompletedTask;

    public Task StartAsync(MqttServerOptions options, IMqttNetLogger logger)
    {
        tcp.ClientHandler = channel => ClientHandler(new Naming(channel));
        return tcp.StartAsync(options, logger);
    }

    public Task StopAsync() => tcp.StopAsync();

    public void Dispose() => tcp.Dispose();

    private sealed class Naming(IMqttChannelAdapter channel) : IMqttChannelAdapter
    {
        public long BytesReceived => channel.BytesReceived;

        public long BytesSent => channel.BytesSent;

        public X509Certificate2 ClientCertificate => channel.ClientCertificate;

        public EndPoint RemoteEndPoint => channel.RemoteEndPoint;

        public EndPoint LocalEndPoint => channel.LocalEndPoint;

        public bool IsSecureConnection => channel.IsSecureConnection;

        public MqttPacketFormatterAdapter PacketFormatterAdapter => channel.PacketFormatterAdapter;

        public async Task<MqttPacket> ReceivePacketAsync(CancellationToken cancellationToken)
        {
            var packet = await channel.ReceivePacketAsync(cancellationToken);
            if (packet is MqttConnectPacket { ClientId.Length: 0, CleanSession: true } connect && PacketFormatterAdapter.ProtocolVersion != MqttProtocolVersion.V500)
            {
                connect.ClientId = $"nameless-{Guid.NewGuid():N}";
            }

            return packet;
        }

        public Task ConnectAsync(CancellationToken cancellationToken) => channel.ConnectAsync(cancellationToken);

        public Task DisconnectAsync(CancellationToken cancellationToken) => channel.DisconnectAsync(cancellationToken);

        public Task SendPacketAsync(MqttPacket packet, CancellationToken cancellationToken) => channel.SendPacketAsync(packet, cancellationToken);

        public void ResetStatistics() => channel.ResetStatistics();

        public void Dispose() => channel.Dispose();
    }
}
