using System.Buffers;
using System.Collections.Concurrent;
using System.Net;
using System.Text;
using Microsoft.Extensions.Logging.Abstractions;
using MQTTnet;
using MQTTnet.Formatter;
using MQTTnet.Packets;
using MQTTnet.Protocol;
using MQTTnet.Server;
using RootCellar.Diagnostics;
using RootCellar.Readings;
using RootCellar.Storage;
using RootCellar.Tests.Households;

namespace RootCellar.Tests.Readings;

/// <summary>A broker elsewhere: a real one on the loopback address.</summary>
public sealed class OutsideBrokerTests : IAsyncLifetime, IReadingSink
{
    private readonly ConcurrentQueue<Arrived> arrived = new();
    private readonly ConcurrentQueue<string> met = new();
    private readonly Announcements announcements = new();
    private readonly MqttOptions options = new();
    private MqttServer server = null!;
    private Exception? notKept;

    public async ValueTask InitializeAsync()
    {
        options.Broker = new OutsideBrokerOptions { Host = "127.0.0.1", Port = Radio.FreePort() };
        server = new MqttServerFactory().CreateMqttServer(new MqttServerOptionsBuilder().WithDefaultEndpoint()
            .WithDefaultEndpointBoundIPAddress(IPAddress.Loopback).WithDefaultEndpointBoundIPV6Address(IPAddress.None)
            .WithDefaultEndpointPort(options.Broker.Port).WithPersistentSessions().Build());
        server.InterceptingPublishAsync += e =>
        {
            var said = Encoding.UTF8.GetString(e.ApplicationMessage.Payload.ToArray());
            if (e.ClientId == options.Broker.ClientId)
                met.Enqueue($"said {e.ApplicationMessage.Topic} {said} {e.ApplicationMessage.Retain}");
            return Task.CompletedTask;
        };
        server.InterceptingSubscriptionAsync += e =>
        {
            met.Enqueue($"reads {e.TopicFilter.Topic} {e.TopicFilter.QualityOfServiceLevel}");
            return Task.CompletedTask;
        };
        server.ClientAcknowledgedPublishPacketAsync += e =>
        {
            met.Enqueue($"receipt {((MqttPubAckPacket)e.AcknowledgePacket).ReasonCode}");
            return Task.CompletedTask;
        };
        server.ClientDisconnectedAsync += e =>
        {
            met.Enqueue($"gone {e.DisconnectType}");
            return Task.CompletedTask;
        };
        await server.StartAsync();
    }

    public async ValueTask DisposeAsync()
    {
        if (server.IsStarted) await server.StopAsync(new MqttServerStopOptions());
        server.Dispose();
    }

    ValueTask<Task> IReadingSink.OfferAsync(Arrived message)
    {
        arrived.Enqueue(message);
        return ValueTask.FromResult(notKept is null ? Task.CompletedTask : Task.FromException(notKept));
    }

    [Fact]
    public async Task It_signs_in_listens_and_says_what_is_so_and_that_it_is_off()
    {
        var file = Path.GetTempFileName();
        await File.WriteAllTextAsync(file, " s3cret\n", TestContext.Current.CancellationToken);
        (options.Broker.User, options.Broker.PasswordFile, options.Broker.SessionExpirySeconds) = ("house", file, 77);
        options.Mappings.Add(new Mapping { Topic = "shed/+" });
        server.ValidatingConnectionAsync += e =>
        {
            met.Enqueue($"{e.ClientId} {e.UserName}:{e.Password} {e.SessionExpiryInterval} {e.CleanSession} {e.ProtocolVersion}");
            return Task.CompletedTask;
        };
        await server.InjectApplicationMessage(new InjectedMqttApplicationMessage(
            new MqttApplicationMessage { Topic = "rootcellar/cellar/old", PayloadSegment = "1"u8.ToArray(), Retain = true }),
            TestContext.Current.CancellationToken);
        announcements.Say("rootcellar/out/before", 1);
        using var broker = Broker();
        broker.Trouble.Should().Be("Not connected to the MQTT broker yet");
        await broker.StartAsync(TestContext.Current.CancellationToken);
        await UntilAsync(() => met.Contains("said rootcellar/out/before 1 True"));
        File.Delete(file);
        broker.Trouble.Should().BeNull();
        met.Take(4).Should().Equal("rootcellar house: s3cret 77 False V500", "reads rootcellar/# AtLeastOnce", "reads shed/+ AtLeastOnce",
            "said rootcellar/out/status online True");

        await SayAsync("rootcellar/cellar/door", "5", MqttQualityOfServiceLevel.AtLeastOnce);
        await SayAsync("shed/1", "6", MqttQualityOfServiceLevel.AtMostOnce);
        await UntilAsync(() => arrived.Count == 3 && met.Contains("receipt Success"));
        arrived.Select(a => (a.Topic, Encoding.UTF8.GetString(a.Payload.Span), a.WantsReceipt, a.Replay, a.Client)).Should().BeEquivalentTo(
            [("rootcellar/cellar/old", "1", false, true, (string?)null), ("rootcellar/cellar/door", "5", true, false, null),
                ("shed/1", "6", false, false, null)]);
        announcements.Say("rootcellar/out/after", 2);
        await UntilAsync(() => met.Contains("said rootcellar/out/after 2 True"));

        await broker.StopAsync(TestContext.Current.CancellationToken);
        met.Last(m => m.StartsWith("said", StringComparison.Ordinal)).Should().Be("said rootcellar/out/status offline True");
        await UntilAsync(() => met.Contains("gone Clean"));
    }

    [Fact]
    public async Task A_sensor_that_was_turned_away_is_not_sent_again()
    {
        notKept = new SensorTurnedAwayException("the house is full");
        using var broker = await ListeningAsync();
        await SayAsync("rootcellar/cellar/new", "5", MqttQualityOfServiceLevel.AtLeastOnce);
        await UntilAsync(() => met.Contains("receipt ImplementationSpecificError"));
        notKept = new StoreProblemException("the disk is full");
        await SayAsync("rootcellar/cellar/door", "5", MqttQualityOfServiceLevel.AtLeastOnce);
        await UntilAsync(() => arrived.Count == 2);
        met.Count(m => m.StartsWith("receipt", StringComparison.Ordinal)).Should().Be(1, "what is not kept stays with that broker");
        await broker.StopAsync(TestContext.Current.CancellationToken);
    }

    [Fact]
    public async Task What_a_broker_has_against_it_is_said_and_tried_again()
    {
        var refusals = 1;
        server.ValidatingConnectionAsync += e =>
        {
            if (refusals-- > 0) e.ReasonCode = MqttConnectReasonCode.BadUserNameOrPassword;
            return Task.CompletedTask;
        };
        using var broker = Broker();
        await broker.StartAsync(TestContext.Current.CancellationToken);
        await UntilAsync(() => broker.Trouble?.Contains("it answered BadUserNameOrPassword", StringComparison.Ordinal) == true);
        broker.Trouble.Should().Contain($"127.0.0.1:{options.Broker.Port}");
        (await new OutsideBrokerCheck(broker).CheckHealthAsync(new(), TestContext.Current.CancellationToken)).Description.Should()
            .Be(broker.Trouble);
        await UntilAsync(() => broker.Trouble is null);
        (await new OutsideBrokerCheck(broker).CheckHealthAsync(new(), TestContext.Current.CancellationToken)).Description.Should().BeNull();
        await broker.StopAsync(TestContext.Current.CancellationToken);
    }

    [Fact]
    public async Task An_older_broker_is_spoken_to_as_it_speaks()
    {
        server.ValidatingConnectionAsync += e =>
        {
            met.Enqueue($"{e.ProtocolVersion} {e.CleanSession}");
            if (e.ProtocolVersion == MqttProtocolVersion.V500) e.ReasonCode = MqttConnectReasonCode.UnsupportedProtocolVersion;
            return Task.CompletedTask;
        };
        using var broker = await ListeningAsync();
        met.Take(3).Should().Equal("V500 False", "V311 False", "reads rootcellar/# AtLeastOnce");
        await broker.StopAsync(TestContext.Current.CancellationToken);
    }

    [Fact]
    public async Task What_it_may_not_read_is_named_and_so_is_a_connection_that_ends()
    {
        var may = false;
        server.InterceptingSubscriptionAsync += e =>
        {
            if (!may) e.Response.ReasonCode = MqttSubscribeReasonCode.NotAuthorized;
            return Task.CompletedTask;
        };
        using var broker = Broker();
        await broker.StartAsync(TestContext.Current.CancellationToken);
        await UntilAsync(() => broker.Trouble?.Contains("rootcellar/# (NotAuthorized); check what this user may read there",
            StringComparison.Ordinal) == true);
        may = true;
        await UntilAsync(() => broker.Trouble is null);
        await server.StopAsync(new MqttServerStopOptions());
        await UntilAsync(() => broker.Trouble is not null);
        broker.Trouble.Should().Contain($"127.0.0.1:{options.Broker.Port}");
        await broker.StopAsync(TestContext.Current.CancellationToken);
    }

    private static async Task UntilAsync(Func<bool> holds)
    {
        using var patience = CancellationTokenSource.CreateLinkedTokenSource(TestContext.Current.CancellationToken);
        patience.CancelAfter(TimeSpan.FromSeconds(30));
        while (!holds()) await Task.Delay(1, patience.Token);
    }

    private Task SayAsync(string topic, string payload, MqttQualityOfServiceLevel level) => server.InjectApplicationMessage(
        new InjectedMqttApplicationMessage(new MqttApplicationMessage
        { Topic = topic, PayloadSegment = Encoding.UTF8.GetBytes(payload), QualityOfServiceLevel = level })
        { SenderClientId = "sensor" }, TestContext.Current.CancellationToken);

    private async Task<OutsideBroker> ListeningAsync()
    {
        var broker = Broker();
        await broker.StartAsync(TestContext.Current.CancellationToken);
        await UntilAsync(() => met.Contains("said rootcellar/out/status online True"));
        return broker;
    }

    private OutsideBroker Broker() => new(options, new MappingDesk(options, new RootCellar.Storage.KeptFile<KeptMappings>(Path.GetTempPath(), $"no-{Guid.NewGuid():N}")), this, announcements,
        new FailedWork(TimeProvider.System, NullLogger<FailedWork>.Instance),
        NullLogger<OutsideBroker>.Instance);
}
