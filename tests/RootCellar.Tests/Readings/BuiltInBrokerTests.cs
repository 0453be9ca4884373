using System.Buffers;
using System.Collections.Concurrent;
using System.Net;
using System.Text;
using Microsoft.AspNetCore.Builder;
using Microsoft.AspNetCore.Connections;
using Microsoft.AspNetCore.Hosting;
using Microsoft.AspNetCore.Hosting.Server;
using Microsoft.AspNetCore.Hosting.Server.Features;
using Microsoft.Extensions.DependencyInjection;
using Microsoft.Extensions.Logging;
using Microsoft.Extensions.Logging.Abstractions;
using MQTTnet;
using MQTTnet.Formatter;
using MQTTnet.Packets;
using MQTTnet.Protocol;
using RootCellar.Diagnostics;
using RootCellar.Readings;
using RootCellar.Storage;
using RootCellar.Tests.Households;

namespace RootCellar.Tests.Readings;

/// <summary>The built-in broker behind its real TCP door, with real MQTT clients.</summary>
public sealed class BuiltInBrokerTests : IAsyncLifetime, IReadingSink, ICredentialUse
{
    private const string Shared = "2345-6789-abcd-efgh";
    private const string Own = "hgfe-dcba-9876-5432";
    private const string Siren = "kmnp-qrst-uvwx-yz23";

    private readonly MqttOptions options = new();
    private readonly Announcements announcements = new();
    private readonly ConcurrentQueue<Arrived> arrived = new();
    private readonly List<long> used = [];
    private readonly Refusals refusals = new(TimeProvider.System, NullLogger<Refusals>.Instance);
    private readonly SensorDoor door = new(allowAnonymous: true, (_, _) => []);
    private readonly List<IMqttClient> clients = [];
    private Exception? notKept;
    private WebApplication app = null!;
    private BuiltInBroker broker = null!;

    public async ValueTask InitializeAsync()
    {
        options.Limits.PacketBytes = 1_024;
        (options.Limits.Subscriptions, options.Limits.Connections, options.Limits.ConnectionsPerAddress) = (2, 4, 3);
        (options.Limits.RetainedMessages, options.Limits.PendingMessages) = (100, 100);
        Set(finished: true);
        var builder = WebApplication.CreateSlimBuilder();
        builder.Logging.ClearProviders();
        builder.Services.AddSingleton(options).AddSingleton(refusals).AddSingleton<BrokerDoor>();
        builder.WebHost.ConfigureKestrel(k => k.Listen(IPAddress.Loopback, 0, l => l.UseBroker()));
        app = builder.Build();
        var failed = new FailedWork(TimeProvider.System, NullLogger<FailedWork>.Instance);
        broker = new BuiltInBroker(options, this, announcements, door, app.Services.GetRequiredService<BrokerDoor>(),
            this, refusals, failed);
        await app.StartAsync(TestContext.Current.CancellationToken);
        await broker.StartAsync(TestContext.Current.CancellationToken);
    }

    public async ValueTask DisposeAsync()
    {
        foreach (var client in clients) client.Dispose();
        await broker.StoppingAsync(CancellationToken.None);
        await broker.DisposeAsync();
        await app.DisposeAsync();
        door.Dispose();
        refusals.Dispose();
    }

    ValueTask<Task> IReadingSink.OfferAsync(Arrived message)
    {
        arrived.Enqueue(message);
        return ValueTask.FromResult(notKept is null ? Task.CompletedTask : Task.FromException(notKept));
    }

    Task ICredentialUse.UsedAsync(long id)
    {
        lock (used) used.Add(id);
        return Task.CompletedTask;
    }

    [Fact]
    public async Task What_a_sensor_says_is_handed_on_as_it_came()
    {
        var sensor = await ConnectAsync("esp", Own);
        (await SayAsync(sensor, "rootcellar/cellar/scale", "{\"weight_kg\":3}")).Should().Be(MqttClientPublishReasonCode.Success);
        (await SayAsync(sensor, "rootcellar/cellar/scale", "4", MqttQualityOfServiceLevel.AtMostOnce)).Should()
            .Be(MqttClientPublishReasonCode.Success);
        await UntilAsync(() => arrived.Count == 2);
        arrived.Select(a => (a.Topic, Encoding.UTF8.GetString(a.Payload.Span), a.WantsReceipt, a.Dup, a.Replay, a.Client)).Should().Equal(
            ("rootcellar/cellar/scale", "{\"weight_kg\":3}", true, false, false, "127.0.0.1"),
            ("rootcellar/cellar/scale", "4", false, false, false, "127.0.0.1"));
        lock (used) used.Should().Equal(1);
        await ConnectAsync("other", Shared);
        lock (used) used.Should().Equal([1], "nobody's own");
    }

    [Theory]
    [InlineData("rootcellar/out/status", "rootcellar/out/ is where the service itself publishes")]
    [InlineData("rootcellar/cellar/door", "this client may not publish under this topic")]
    public async Task What_is_not_its_own_topic_is_refused_and_counted(string topic, string why)
    {
        var sensor = await ConnectAsync("esp", Own);
        var answer = await sensor.PublishAsync(Message(topic, "1"), TestContext.Current.CancellationToken);
        (answer.ReasonCode, answer.ReasonString).Should().Be((MqttClientPublishReasonCode.NotAuthorized, why));
        arrived.Should().BeEmpty();
        Refused().Should().Equal("topic 1");
    }

    [Theory]
    [InlineData(true, MqttClientPublishReasonCode.QuotaExceeded)]
    [InlineData(false, MqttClientPublishReasonCode.ImplementationSpecificError)]
    public async Task What_is_not_kept_has_no_receipt(bool turnedAway, MqttClientPublishReasonCode code)
    {
        notKept = turnedAway ? new SensorTurnedAwayException("the house is full") : new StoreProblemException("the disk is full");
        var sensor = await ConnectAsync("esp", Own);
        var answer = await sensor.PublishAsync(Message("rootcellar/cellar/scale", "1"), TestContext.Current.CancellationToken);
        (answer.ReasonCode, answer.ReasonString).Should().Be((code, notKept.Message));
        sensor.IsConnected.Should().BeTrue();

        // An older client has no way to hear why: it is cut off where sending it again helps.
        var older = await ConnectAsync("old", Shared, MqttProtocolVersion.V311);
        var sent = older.PublishAsync(Message("rootcellar/cellar/door", "1"), TestContext.Current.CancellationToken);
        if (turnedAway) await sent;
        else await ((Func<Task>)(() => sent)).Should().ThrowAsync<Exception>();
        await UntilAsync(() => older.IsConnected == turnedAway);
    }

    [Fact]
    public async Task A_wrong_password_is_told_so_and_an_id_stays_with_who_has_it()
    {
        (await CodeAsync("esp", "wrong")).Should().Be(MqttClientConnectResultCode.BadUserNameOrPassword);
        await ConnectAsync("esp", Own);
        (await CodeAsync("esp", Shared)).Should().Be(MqttClientConnectResultCode.ClientIdentifierNotValid);
        await ConnectAsync("guest", null);
        await ConnectAsync("guest", Shared);
        Refused().Should().Equal("password 1", "client-id 1");
        broker.Clients.Should().Be(2);
    }

    [Fact]
    public async Task While_somebody_guesses_from_its_address_a_wrong_password_is_told_to_come_later()
    {
        using var over = new CancellationTokenSource();
        var waiting = new List<Task>();
        while (door.AdmitAsync("wrong", IPAddress.Loopback, "guesser", over.Token) is var tried && tried is not { IsCompletedSuccessfully: true, Result.Busy: true })
            waiting.Add(tried);
        (await CodeAsync("one", "wrong")).Should().Be(MqttClientConnectResultCode.ServerBusy);
        await ConnectAsync("two", Shared);
        Refused().Should().Equal("password 1");
        await over.CancelAsync();
        await this.Awaiting(_ => Task.WhenAll(waiting)).Should().ThrowAsync<OperationCanceledException>();
    }

    [Theory]
    [InlineData(MqttProtocolVersion.V500)]
    [InlineData(MqttProtocolVersion.V311)]
    public async Task A_client_may_leave_its_id_empty(MqttProtocolVersion version)
    {
        var first = await ConnectAsync("", Shared, version);
        var second = await ConnectAsync("", Shared, version);
        (first.IsConnected, second.IsConnected, broker.Clients).Should().Be((true, true, 2));
        if (version == MqttProtocolVersion.V500) first.Options.ClientId.Should().BeEmpty();
    }

    [Fact]
    public async Task A_reader_hears_what_is_so_and_what_changes_and_no_more_than_it_may()
    {
        var (heard, reader) = (new ConcurrentQueue<string>(), await ConnectAsync("siren", Siren));
        reader.ApplicationMessageReceivedAsync += e =>
        {
            heard.Enqueue($"{e.ApplicationMessage.Topic} {Encoding.UTF8.GetString(e.ApplicationMessage.Payload.ToArray())}");
            return Task.CompletedTask;
        };
        announcements.Say("rootcellar/out/a", 1);
        await UntilAsync(() => broker.Retained.Messages == 2);
        (await SubscribeAsync(reader, "rootcellar/out/#")).Should().Be(MqttClientSubscribeResultCode.GrantedQoS0);
        // What is published while it subscribes may come twice: as kept, and as new.
        await UntilAsync(() => heard.Contains("rootcellar/out/status online") && heard.Contains("rootcellar/out/a 1"));
        announcements.Say("rootcellar/out/a", 2);
        announcements.TakeAway("rootcellar/out/a");
        await UntilAsync(() => heard.Contains("rootcellar/out/a "));
        heard.Where(h => h.StartsWith("rootcellar/out/a", StringComparison.Ordinal)).Distinct().Should()
            .Equal("rootcellar/out/a 1", "rootcellar/out/a 2", "rootcellar/out/a ");
        broker.Retained.Should().Be((1, "rootcellar/out/status".Length + "online".Length));

        (await SubscribeAsync(reader, "#")).Should().Be(MqttClientSubscribeResultCode.NotAuthorized);
        (await SubscribeAsync(reader, "rootcellar/out/b")).Should().Be(MqttClientSubscribeResultCode.GrantedQoS0);
        (await SubscribeAsync(reader, "rootcellar/out/c")).Should().Be(MqttClientSubscribeResultCode.QuotaExceeded);
        Refused().Should().Equal("subscription 2");

        await broker.StoppingAsync(CancellationToken.None);
        broker.Retained.Should().Be((1, "rootcellar/out/status".Length + "offline".Length));
        broker.IsRunning.Should().BeFalse();
        (await new BuiltInBrokerCheck(broker).CheckHealthAsync(new(), TestContext.Current.CancellationToken)).Description.Should()
            .Be("The built-in broker does not run.");
    }

    [Fact]
    public async Task Every_reader_hears_that_the_service_goes_after_all_that_was_said_before()
    {
        var said = string.Concat(Enumerable.Repeat("damp ", 100));
        ConcurrentQueue<string>[] heard = [[], [], []];
        var (number, versions) = (0, new[] { MqttProtocolVersion.V500, MqttProtocolVersion.V311, MqttProtocolVersion.V500 });
        foreach (var version in versions)
        {
            var (mine, reader) = (heard[number], await ConnectAsync($"siren{number++}", Siren, version));
            reader.ApplicationMessageReceivedAsync += e =>
            {
                mine.Enqueue(e.ApplicationMessage.ConvertPayloadToString());
                return Task.CompletedTask;
            };
            await SubscribeAsync(reader, "rootcellar/out/status");
            await UntilAsync(() => mine.Contains("online"));
        }

        for (var i = 0; i < 50; i++) announcements.Say("rootcellar/out/a", said + i);
        await UntilAsync(() => broker.Retained.Messages == 2);
        await broker.StoppingAsync(CancellationToken.None);
        await UntilAsync(() => heard.All(h => h.Contains("offline")));
    }

    [Fact]
    public async Task What_there_is_no_room_to_keep_is_sent_all_the_same_and_counted()
    {
        var (heard, reader) = (0, await ConnectAsync("siren", Siren));
        reader.ApplicationMessageReceivedAsync += _ =>
        {
            Interlocked.Increment(ref heard);
            return Task.CompletedTask;
        };
        await SubscribeAsync(reader, "rootcellar/out/+");
        for (var i = 0; i < 101; i++)
        {
            var before = Volatile.Read(ref heard);
            announcements.Say($"rootcellar/out/{i}", i);
            await UntilAsync(() => Volatile.Read(ref heard) > before);
        }

        await UntilAsync(() => Volatile.Read(ref heard) >= 102);

        broker.Retained.Messages.Should().Be(100);
        Refused().Should().Equal("retained 2");
    }

    [Fact]
    public async Task What_grows_beyond_the_room_is_not_kept_nor_is_what_it_was_before()
    {
        announcements.Say("rootcellar/out/a", "short");
        await UntilAsync(() => broker.Retained.Messages == 2);
        options.Limits.RetainedBytes = 100;
        announcements.Say("rootcellar/out/a", new string('x', 200));
        await UntilAsync(() => broker.Retained.Messages == 1);
        var (topics, reader) = (new ConcurrentQueue<string>(), await ConnectAsync("siren", Siren));
        reader.ApplicationMessageReceivedAsync += e =>
        {
            topics.Enqueue(e.ApplicationMessage.Topic);
            return Task.CompletedTask;
        };
        await SubscribeAsync(reader, "rootcellar/out/+");
        announcements.Say("rootcellar/out/z", 1);
        await UntilAsync(() => topics.Contains("rootcellar/out/z"));
        topics.Should().BeEquivalentTo("rootcellar/out/status", "rootcellar/out/z");
    }

    [Fact]
    public async Task A_session_ends_with_its_connection_and_is_handed_on_to_nobody()
    {
        for (var time = 0; time < 2; time++)
        {
            var again = Options("same", Shared, MqttProtocolVersion.V500);
            (again.CleanSession, again.SessionExpiryInterval) = (false, 1_000);
            var connected = await Client().ConnectAsync(again, TestContext.Current.CancellationToken);
            (connected.ResultCode, connected.IsSessionPresent).Should().Be((MqttClientConnectResultCode.Success, false));
        }
    }

    [Fact]
    public async Task Who_would_not_be_let_in_any_more_has_to_go()
    {
        Set(finished: false);
        var (stranger, reader, sensor) = (await ConnectAsync("one", null), await ConnectAsync("two", Shared),
            await ConnectAsync("three", Own));
        (await SubscribeAsync(reader, "rootcellar/out/#")).Should().Be(MqttClientSubscribeResultCode.GrantedQoS0);
        Set(finished: true);
        await UntilAsync(() => !reader.IsConnected);
        (stranger.IsConnected, sensor.IsConnected).Should().Be((true, true), "it is this machine, and its password holds");
        door.Set(new DoorFacts(Shared, null, true, []));
        await UntilAsync(() => !sensor.IsConnected && broker.Clients == 1);
    }

    [Fact]
    public async Task One_address_has_so_many_connections_and_a_packet_so_many_bytes()
    {
        var first = await ConnectAsync("1", Shared);
        await ConnectAsync("2", Shared);
        await ConnectAsync("3", Shared);
        broker.IsFull.Should().BeFalse();
        await ((Func<Task>)(() => ConnectAsync("4", Shared))).Should().ThrowAsync<Exception>();
        Refused().Should().Equal("connections-of-address 1");
        options.Limits.ConnectionsPerAddress = 9;
        await ConnectAsync("4", Shared);
        broker.IsFull.Should().BeTrue();
        (await new BuiltInBrokerCheck(broker).CheckHealthAsync(new(), TestContext.Current.CancellationToken)).Description.Should()
            .StartWith("The built-in broker has as many connections as it takes");
        await ((Func<Task>)(() => ConnectAsync("5", Shared))).Should().ThrowAsync<Exception>();
        Refused().Should().Equal("connections-of-address 1", "connections 1");
        TestMeters.Heard(meters => _ = new BrokerMetrics(meters, broker, refusals)).Should().Contain(
            ["rootcellar.clients.refused 1 reason=connections", "rootcellar.clients.refused 0 reason=password",
                "rootcellar.clients.connected 4", "rootcellar.retained.messages 1", "rootcellar.retained.size 27By"]);

        await ((Func<Task>)(() => SayAsync(first, "rootcellar/cellar/door", new string('1', 1_100)))).Should().ThrowAsync<Exception>();
        await UntilAsync(() => !first.IsConnected && broker.Clients == 3);
        Refused().Should().Equal("packet 1", "connections-of-address 1", "connections 1");
        (await new BuiltInBrokerCheck(broker).CheckHealthAsync(new(), TestContext.Current.CancellationToken)).Description.Should().BeNull();
    }

    [Fact]
    public async Task Who_uses_a_topic_alias_is_cut_off_for_none_is_offered()
    {
        var sensor = await ConnectAsync("1", Shared);
        var said = Message("rootcellar/cellar/door", "5", MqttQualityOfServiceLevel.AtMostOnce);
        said.TopicAlias = 7;
        await sensor.PublishAsync(said, TestContext.Current.CancellationToken);
        await UntilAsync(() => !sensor.IsConnected && broker.Clients == 0);
        Refused().Should().Equal("pending 1");
        arrived.Should().BeEmpty();
        var offered = await Client().ConnectAsync(Options("2", Shared, MqttProtocolVersion.V500), TestContext.Current.CancellationToken);
        (offered.TopicAliasMaximum, offered.MaximumPacketSize).Should().Be((0, 1_024));
    }

    private static MqttApplicationMessage Message(string topic, string payload,
        MqttQualityOfServiceLevel level = MqttQualityOfServiceLevel.AtLeastOnce) =>
        new() { Topic = topic, PayloadSegment = Encoding.UTF8.GetBytes(payload), QualityOfServiceLevel = level };

    private static async Task<MqttClientPublishReasonCode> SayAsync(IMqttClient client, string topic, string payload,
        MqttQualityOfServiceLevel level = MqttQualityOfServiceLevel.AtLeastOnce) =>
        (await client.PublishAsync(Message(topic, payload, level), TestContext.Current.CancellationToken)).ReasonCode;

    private static async Task<MqttClientSubscribeResultCode> SubscribeAsync(IMqttClient client, string filter) =>
        (await client.SubscribeAsync(filter, MqttQualityOfServiceLevel.AtLeastOnce, TestContext.Current.CancellationToken)).Items.Single()
            .ResultCode;

    private static async Task UntilAsync(Func<bool> holds)
    {
        using var patience = CancellationTokenSource.CreateLinkedTokenSource(TestContext.Current.CancellationToken);
        patience.CancelAfter(TimeSpan.FromSeconds(20));
        while (!holds()) await Task.Delay(1, patience.Token);
    }

    private void Set(bool finished) => door.Set(new DoorFacts(Shared, null, finished,
    [
        new ClientCredential(1, ClientKind.Sensor, "cellar/scale", SensorSecret.Hash(Own), DateTimeOffset.UnixEpoch, null),
        new ClientCredential(0, ClientKind.Reader, "siren", SensorSecret.Hash(Siren), DateTimeOffset.UnixEpoch, null),
    ]));

    private IEnumerable<string> Refused() => refusals.View().Select(r => $"{Refusals.Word(r.Reason)} {r.Count}");

    private async Task<IMqttClient> ConnectAsync(string id, string? password, MqttProtocolVersion version = MqttProtocolVersion.V500)
    {
        var client = Client();
        (await client.ConnectAsync(Options(id, password, version), TestContext.Current.CancellationToken)).ResultCode.Should()
            .Be(MqttClientConnectResultCode.Success);
        return client;
    }

    private async Task<MqttClientConnectResultCode> CodeAsync(string id, string password) =>
        (await Client().ConnectAsync(Options(id, password, MqttProtocolVersion.V500), TestContext.Current.CancellationToken)).ResultCode;

    private IMqttClient Client()
    {
        var client = new MqttClientFactory().CreateMqttClient();
        clients.Add(client);
        return client;
    }

    private MqttClientOptions Options(string id, string? password, MqttProtocolVersion version)
    {
        var address = new Uri(app.Services.GetRequiredService<IServer>().Features.Get<IServerAddressesFeature>()!.Addresses.Single());
        var made = new MqttClientOptionsBuilder().WithTcpServer("127.0.0.1", address.Port).WithProtocolVersion(version).WithClientId(id)
            .WithTimeout(TimeSpan.FromSeconds(10));
        return (password is null ? made : made.WithCredentials("x", password)).Build();
    }
}
