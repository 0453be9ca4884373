using System.Buffers;
using System.Net;
using System.Net.Sockets;
using MQTTnet;
using MQTTnet.Formatter;
using MQTTnet.Protocol;
using MQTTnet.Server;
using RootCellar.Storage;

namespace RootCellar.Readings;

/// <summary>
/// The broker inside the service. Messages are taken in process as they are published, so none can be dropped between
/// broker and service: a full pipeline holds the publisher back, and a QoS 1 or 2 publish is acknowledged only once it
/// is in the record.
/// </summary>
internal sealed class BuiltInBroker : IHostedService, IAsyncDisposable
{
    private const string IsVersion5 = "MQTT 5";

    private readonly MqttServer server;
    private readonly IPEndPoint listen;
    private readonly MqttOptions options;
    private readonly Pipeline pipeline;
    private readonly Announcements announcements;
    private readonly SensorDoor door;
    private readonly FailedWork failed;
    private readonly ILogger<BuiltInBroker> log;
    private readonly string ownClient = $"rootcellar-{Guid.NewGuid():N}";
    private readonly CancellationTokenSource stopping = new();
    private Task announcing = Task.CompletedTask;

    public BuiltInBroker(Settings settings, Pipeline pipeline, Announcements announcements, SensorDoor door, FailedWork failed, ILogger<BuiltInBroker> log)
    {
        options = settings.Mqtt;
        listen = SettingsFile.Endpoint(options.Listen)!;
        this.pipeline = pipeline;
        this.announcements = announcements;
        this.door = door;
        this.failed = failed;
        this.log = log;
        var builder = new MqttServerOptionsBuilder()
            .WithDefaultEndpoint()
            .WithDefaultEndpointPort(listen.Port)
            .WithConnectionBacklog(200)
            .WithKeepAlive()
            // For those who subscribe here (dashboards): the newest state matters.
            .WithMaxPendingMessagesPerClient(5_000)
            .WithPendingMessagesOverflowStrategy(MqttPendingMessagesOverflowStrategy.DropOldestQueuedMessage);
        builder = listen.AddressFamily == AddressFamily.InterNetworkV6
            ? builder.WithDefaultEndpointBoundIPAddress(IPAddress.None).WithDefaultEndpointBoundIPV6Address(listen.Address)
            : builder.WithDefaultEndpointBoundIPAddress(listen.Address).WithDefaultEndpointBoundIPV6Address(IPAddress.None);
        server = new MqttServerFactory().CreateMqttServer(builder.Build(), [new NamelessClients()]);
        server.ValidatingConnectionAsync += LetInAsync;
        server.InterceptingPublishAsync += TakeAsync;
    }

    public async Task StartAsync(CancellationToken cancellationToken)
    {
        try
        {
            await server.StartAsync();
        }
        catch (SocketException e)
        {
            throw new StartException(
                $"The built-in MQTT broker cannot listen on {options.Listen} ({e.Message}). Is another broker running there? Set Mqtt:Broker:Host to use that one, or give another port with --mqtt.", e);
        }

        announcing = AnnounceAsync(stopping.Token);
        failed.Watch(announcing, "broker", "publishing what is known now");
    }

    public async Task StopAsync(CancellationToken cancellationToken)
    {
        await PublishAsync(new Announcement(Announcements.Status, "offline"u8.ToArray()), cancellationToken);
        await stopping.CancelAsync();
        await announcing.ConfigureAwait(ConfigureAwaitOptions.SuppressThrowing);
        await server.StopAsync(new MqttServerStopOptions());
    }

    public ValueTask DisposeAsync()
    {
        server.Dispose();
        stopping.Dispose();
        return ValueTask.CompletedTask;
    }

    private Task LetInAsync(ValidatingConnectionEventArgs e)
    {
        // MQTT 5 clients may leave their id empty and are told the one they got; for older ones see NamelessClients.
        if (string.IsNullOrEmpty(e.ClientId)) e.AssignedClientIdentifier = $"nameless-{Guid.NewGuid():N}";
        if (e.ProtocolVersion == MqttProtocolVersion.V500) e.SessionItems[IsVersion5] = true;
        var here = e.RemoteEndPoint is IPEndPoint remote && IPAddress.IsLoopback(remote.Address.IsIPv4MappedToIPv6 ? remote.Address.MapToIPv4() : remote.Address);
        if (!door.Admits(e.Password, here, options.AllowAnonymous))
        {
            e.ReasonCode = MqttConnectReasonCode.BadUserNameOrPassword;
            log.LogWarning("The MQTT client {Client} at {Address} was refused: wrong or no sensor password (see the Set-up page)", e.ClientId, e.RemoteEndPoint);
        }

        return Task.CompletedTask;
    }

    private async Task TakeAsync(InterceptingPublishEventArgs e)
    {
        var message = e.ApplicationMessage;
        if (message.Topic.StartsWith(Announcements.Root, StringComparison.Ordinal))
        {
            if (e.ClientId == ownClient) return;
            e.ProcessPublish = false;
            e.Response.ReasonCode = MqttPubAckReasonCode.NotAuthorized;
            e.Response.ReasonString = $"{Announcements.Root} is where the service itself publishes";
            return;
        }

        var receipt = message.QualityOfServiceLevel != MqttQualityOfServiceLevel.AtMostOnce;
        var kept = await pipeline.OfferAsync(new Arrived(message.Topic, Payload(message), receipt, message.Dup, Replay: false));
        if (!receipt) return;
        try
        {
            await kept;
        }
        catch (StoreProblemException problem)
        {
            // Not kept, so not acknowledged: MQTT 5 can say so; an older client is cut off and sends it again.
            e.ProcessPublish = false;
            e.Response.ReasonCode = MqttPubAckReasonCode.ImplementationSpecificError;
            e.Response.ReasonString = problem.Message;
            e.CloseConnection = !e.SessionItems.Contains(IsVersion5);
        }
    }

    private static ReadOnlyMemory<byte> Payload(MqttApplicationMessage message) =>
        message.Payload.IsSingleSegment ? message.Payload.First : message.Payload.ToArray();

    private async Task AnnounceAsync(CancellationToken cancellationToken)
    {
        await PublishAsync(new Announcement(Announcements.Status, "online"u8.ToArray()), cancellationToken);
        await foreach (var announcement in announcements.ReadAllAsync(cancellationToken))
        {
            try
            {
                await PublishAsync(announcement, cancellationToken);
            }
            catch (Exception e) when (e is not OperationCanceledException)
            {
                // One that does not go out must not end all that come after it.
                failed.Failed("broker", "publishing what is known now", e);
            }
        }
    }

    private Task PublishAsync(Announcement announcement, CancellationToken cancellationToken) => server.InjectApplicationMessage(
        new InjectedMqttApplicationMessage(new MqttApplicationMessage
        {
            Topic = announcement.Topic,
            PayloadSegment = announcement.Payload,
            Retain = true,
            QualityOfServiceLevel = MqttQualityOfServiceLevel.AtLeastOnce,
        })
        {
            SenderClientId = ownClient,
        },
        cancellationToken);
}
