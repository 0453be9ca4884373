using System.Buffers;
using System.Collections;
using System.Collections.Concurrent;
using MQTTnet;
using MQTTnet.Packets;
using MQTTnet.Protocol;
using MQTTnet.Server;
using RootCellar.Diagnostics;
using RootCellar.Storage;

namespace RootCellar.Readings;

/// <summary>
/// The broker inside the service. Messages are taken in process as they are published, so none can be dropped between
/// broker and service: a full pipeline holds the publisher back, and a QoS 1 or 2 publish is acknowledged only once it
/// is in the record. The service is the only reader of what sensors publish; clients read what it publishes, if anything.
/// </summary>
internal sealed class BuiltInBroker : IHostedLifecycleService, IAsyncDisposable
{
    // A client that connects and says nothing, or does not take a goodbye.
    private static readonly TimeSpan Patience = TimeSpan.FromSeconds(10);

    // A second in all.
    private const int LooksBeforeGoing = 100;

    private readonly MqttServer server;
    private readonly MqttLimits limits;
    private readonly IReadingSink sink;
    private readonly Announcements announcements;
    private readonly SensorDoor door;
    private readonly BrokerDoor connections;
    private readonly ICredentialUse use;
    private readonly Refusals refusals;
    private readonly RetainedBudget retained;
    private readonly FailedWork failed;
    private readonly ConcurrentDictionary<string, ClientChannel> clients = new(StringComparer.Ordinal);
    private readonly CancellationTokenSource stopping = new();
    private Task announcing = Task.CompletedTask;

    public BuiltInBroker(
        MqttOptions mqtt, IReadingSink sink, Announcements announcements, SensorDoor door, BrokerDoor connections, ICredentialUse use,
        Refusals refusals, FailedWork failed)
    {
        limits = mqtt.Limits;
        retained = new RetainedBudget(limits);
        (this.sink, this.announcements, this.door) = (sink, announcements, door);
        (this.connections, this.use, this.refusals, this.failed) = (connections, use, refusals, failed);
        connections.Left = client => clients.TryRemove(KeyValuePair.Create(client.Id, client));
        var options = new MqttServerOptionsBuilder()
            .WithDefaultCommunicationTimeout(Patience)
            .WithKeepAlive()
            // For those who subscribe here (dashboards): the newest state matters.
            .WithMaxPendingMessagesPerClient(limits.PendingMessages)
            .WithPendingMessagesOverflowStrategy(MqttPendingMessagesOverflowStrategy.DropOldestQueuedMessage)
            .Build();
        server = new MqttServerFactory().CreateMqttServer(options, [connections]);
        server.ValidatingConnectionAsync += LetInAsync;
        server.InterceptingPublishAsync += TakeAsync;
        server.InterceptingSubscriptionAsync += SubscribeAsync;
        server.InterceptingInboundPacketAsync += ReceiveAsync;
        server.InterceptingOutboundPacketAsync += SendAsync;
        server.InterceptingClientEnqueueAsync += QueueAsync;
        server.QueuedApplicationMessageOverwrittenAsync += DropAsync;
    }

    public bool IsRunning => server.IsStarted;

    public int Clients => clients.Count;

    public (int Messages, long Bytes) Retained => retained.Now;

    /// <summary>Whether no more connections are taken.</summary>
    public bool IsFull => connections.Connections >= limits.Connections;

    public async Task StartAsync(CancellationToken cancellationToken)
    {
        door.Changed += Recheck;
        await server.StartAsync();
        announcing = AnnounceAsync(stopping.Token);
        failed.Watch(announcing, "broker", "publishing what is known now");
    }

    /// <summary>Before the web server stops, which would wait for clients that have no reason to go.</summary>
    public async Task StoppingAsync(CancellationToken cancellationToken)
    {
        door.Changed -= Recheck;
        if (!server.IsStarted) return;
        await stopping.CancelAsync();
        await announcing.ConfigureAwait(ConfigureAwaitOptions.SuppressThrowing);
        await PublishAsync(new Announcement(Announcements.Status, "offline"u8.ToArray()), cancellationToken);
        await SentAsync(cancellationToken);
        await server.StopAsync(new MqttServerStopOptions());
    }

    public Task StartingAsync(CancellationToken cancellationToken) => Task.CompletedTask;

    public Task StartedAsync(CancellationToken cancellationToken) => Task.CompletedTask;

    public Task StopAsync(CancellationToken cancellationToken) => Task.CompletedTask;

    public Task StoppedAsync(CancellationToken cancellationToken) => Task.CompletedTask;

    public ValueTask DisposeAsync()
    {
        server.Dispose();
        stopping.Dispose();
        return ValueTask.CompletedTask;
    }

    // The last word must leave before the connections end, but no reader that does not fetch it may hold the stop up.
    private async Task SentAsync(CancellationToken cancellationToken)
    {
        for (var i = 0; i < LooksBeforeGoing && clients.Values.Any(c => c.Load.Waits); i++)
            await Task.Delay(TimeSpan.FromMilliseconds(10), TimeProvider.System, cancellationToken);
    }

    private static ClientChannel? Client(IDictionary? session) => session?[ClientChannel.Key] as ClientChannel;

    private async Task LetInAsync(ValidatingConnectionEventArgs e)
    {
        var client = (ClientChannel)e.ChannelAdapter;
        // MQTT 5 clients may leave their id empty and are told the one they got; for older ones see ClientChannel.
        if (string.IsNullOrEmpty(e.ClientId)) e.AssignedClientIdentifier = $"nameless-{Guid.NewGuid():N}";
        var id = string.IsNullOrEmpty(e.ClientId) ? e.AssignedClientIdentifier : e.ClientId;
        var (rights, busy) = await door.AdmitAsync(e.Password, client.Address, id, client.Closed);
        if (rights is null)
        {
            // Busy: come again. It says nothing of the password.
            e.ReasonCode = busy ? MqttConnectReasonCode.ServerBusy : MqttConnectReasonCode.BadUserNameOrPassword;
            refusals.Count(Refusal.Password, client.Address, $"client '{Short(id)}': wrong or no password (see the Set-up page)");
            return;
        }

        (client.Rights, client.Id) = (rights, id);
        // Who has no password may be replaced by one who has; otherwise an id stays with the credential that has it.
        var holder = clients.AddOrUpdate(id, client, (_, old) => old.Rights!.Kind == ClientKind.Anonymous || old.Rights.IsSame(rights)
            ? client : old);
        if (holder != client)
        {
            e.ReasonCode = MqttConnectReasonCode.ClientIdentifierNotValid;
            e.ReasonString = "another client with another password is connected under this id";
            refusals.Count(Refusal.ClientId, client.Address, $"client id '{Short(id)}' is in use by a client with another password");
            return;
        }

        e.SessionItems[ClientChannel.Key] = client;
        if (rights.Credential != 0) await use.UsedAsync(rights.Credential);
    }

    private async Task TakeAsync(InterceptingPublishEventArgs e)
    {
        var message = e.ApplicationMessage;
        if (Client(e.SessionItems) is not { } client)
        {
            // The service's own.
            if (!message.Retain || retained.TryKeep(message.Topic, message.Payload.Length)) return;
            message.Retain = false;
            await server.UpdateRetainedMessageAsync(new MqttApplicationMessage { Topic = message.Topic, Retain = true });
            refusals.Count(Refusal.Retained, System.Net.IPAddress.Loopback,
                $"'{message.Topic}' is sent and not kept; Mqtt:Limits:RetainedMessages is {limits.RetainedMessages}, RetainedBytes {limits.RetainedBytes}");
            return;
        }

        // Nobody else reads it, so nothing is queued or kept for readers.
        e.ProcessPublish = false;
        if (!door.MayPublish(client.Rights!, message.Topic, Payload(message)))
        {
            e.Response.ReasonCode = MqttPubAckReasonCode.NotAuthorized;
            e.Response.ReasonString = message.Topic.StartsWith(Announcements.Root, StringComparison.Ordinal)
                ? $"{Announcements.Root} is where the service itself publishes"
                : "this client may not publish under this topic";
            refusals.Count(Refusal.Topic, client.Address,
                $"client '{Short(client.Id)}' published under '{Short(message.Topic)}', which is not its own");
            return;
        }

        var receipt = message.QualityOfServiceLevel != MqttQualityOfServiceLevel.AtMostOnce;
        var kept = await sink.OfferAsync(
            new Arrived(message.Topic, Payload(message), receipt, message.Dup, Replay: false, client.Address.ToString()));
        if (!receipt) return;
        try
        {
            await kept;
        }
        catch (SensorTurnedAwayException turnedAway)
        {
            // To send it again is of no use: MQTT 5 can say so; an older client is left in its belief.
            e.Response.ReasonCode = MqttPubAckReasonCode.QuotaExceeded;
            e.Response.ReasonString = turnedAway.Message;
        }
        catch (StoreProblemException problem)
        {
            // Not kept, so not acknowledged: MQTT 5 can say so; an older client is cut off and sends it again.
            e.Response.ReasonCode = MqttPubAckReasonCode.ImplementationSpecificError;
            e.Response.ReasonString = problem.Message;
            e.CloseConnection = !client.IsVersion5;
        }
    }

    private Task SubscribeAsync(InterceptingSubscriptionEventArgs e)
    {
        if (Client(e.SessionItems) is not { } client) return Task.CompletedTask;
        if (!door.MayRead(client.Rights!, e.TopicFilter.Topic))
        {
            Refuse(MqttSubscribeReasonCode.NotAuthorized, $"client '{Short(client.Id)}' wanted to read '{Short(e.TopicFilter.Topic)}'");
        }
        else if (!client.Load.TrySubscribe())
        {
            Refuse(MqttSubscribeReasonCode.QuotaExceeded,
                $"client '{Short(client.Id)}' has Mqtt:Limits:Subscriptions, {limits.Subscriptions}");
        }
        else
        {
            client.Reads = true;
            // What is sent is not kept until it is acknowledged: who comes back gets the newest of everything anyway.
            e.Response.ReasonCode = MqttSubscribeReasonCode.GrantedQoS0;
            e.TopicFilter.RetainAsPublished = false;
        }

        return Task.CompletedTask;

        void Refuse(MqttSubscribeReasonCode reason, string detail)
        {
            e.Response.ReasonCode = reason;
            e.ProcessSubscription = false;
            refusals.Count(Refusal.Subscription, client.Address, detail);
        }
    }

    private Task ReceiveAsync(InterceptingPacketEventArgs e)
    {
        if (Client(e.SessionItems) is not { } client) return Task.CompletedTask;
        // None is offered (see SendAsync), and each would be kept.
        var alias = e.Packet is MqttPublishPacket { TopicAlias: > 0 };
        var answer = e.Packet is MqttPingReqPacket or MqttSubscribePacket or MqttUnsubscribePacket or MqttPubRelPacket or MqttPubRecPacket or MqttPublishPacket { QualityOfServiceLevel: > MqttQualityOfServiceLevel.AtMostOnce };
        if (alias || (answer && !client.Load.Owe()))
            CutOff(client, alias ? "it uses topic aliases, which are not offered" : $"{limits.PendingMessages} answers wait for it");
        e.ProcessPacket = !alias;
        return Task.CompletedTask;
    }

    private Task SendAsync(InterceptingPacketEventArgs e)
    {
        if (e.Packet is not MqttConnAckPacket welcome || Client(e.SessionItems) is null) return Task.CompletedTask;
        welcome.MaximumPacketSize = (uint)limits.PacketBytes;
        welcome.TopicAliasMaximum = 0;
        return Task.CompletedTask;
    }

    private Task QueueAsync(InterceptingClientApplicationMessageEnqueueEventArgs e)
    {
        if (!clients.TryGetValue(e.ReceiverClientId, out var reader)
            || reader.Load.TryQueue(e.ApplicationMessage.Topic, e.ApplicationMessage.Payload.Length))
            return Task.CompletedTask;
        e.AcceptEnqueue = false;
        CutOff(reader, $"Mqtt:Limits:PendingBytes, {limits.PendingBytes}, or PendingMessages, {limits.PendingMessages}, wait for it");
        return Task.CompletedTask;
    }

    private Task DropAsync(QueueMessageOverwrittenEventArgs e)
    {
        if (e.Packet is MqttPublishPacket { Retain: false } dropped && clients.TryGetValue(e.ReceiverClientId, out var reader))
            reader.Load.Sent(dropped.Topic, dropped.Payload.Length);
        return Task.CompletedTask;
    }

    private void CutOff(ClientChannel client, string why)
    {
        if (client.Abort()) refusals.Count(Refusal.Pending, client.Address, $"client '{Short(client.Id)}' was cut off: {why}");
    }

    // Whoever would not be let in any more goes, and whoever reads what it may not.
    private void Recheck(object? sender, EventArgs e)
    {
        foreach (var client in clients.Values)
        {
            var rights = client.Rights!;
            if (!door.Holds(rights, client.FromThisMachine) || (client.Reads && !door.MayRead(rights, Announcements.Root))) client.Abort();
        }
    }

    private static string Short(string text) => text.Length <= 80 ? text : text[..80] + "...";

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
            SenderClientId = "rootcellar",
        },
        cancellationToken);
}
