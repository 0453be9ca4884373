using System.Net;
using System.Net.Http.Json;
using System.Text.Json.Nodes;
using MQTTnet;
using MQTTnet.Formatter;
using MQTTnet.Protocol;
using RootCellar.SystemTests.Running;

namespace RootCellar.SystemTests.Intake;

/// <summary>A service whose set-up is finished, with two sensors that have passwords of their own and one reader.</summary>
public sealed class FinishedHouse : IAsyncLifetime
{
    public RunningService Service { get; } = new();

    public string Door { get; private set; } = "";

    public string Window { get; private set; } = "";

    public string Reader { get; private set; } = "";

    public string Shared { get; private set; } = "";

    public async ValueTask InitializeAsync()
    {
        await Service.StartAsync();
        await Service.AddPlaceAsync("cellar", "Cellar", "storage");
        foreach (var sensor in new[] { "door", "window", "shelf" })
            await MosquittoClients.PublishAsync(Service.MqttPort, $"rootcellar/cellar/{sensor}/temperature_c", "5", "-q", "1");
        (Door, Window, Reader) =
            (await MakeAsync(new { sensor = "cellar/door" }), await MakeAsync(new { sensor = "cellar/window" }),
                await MakeAsync(new { reader = "siren" }));
        Shared = Service.Query("SELECT value FROM meta WHERE key = 'sensor_password'", row => row.GetString(0)).Single();
        await FinishAsync();
    }

    public async Task<string> MakeAsync(object what)
    {
        using var answer = await (await Service.ApiAsync()).PostAsJsonAsync("/api/credentials", what);
        answer.StatusCode.Should().Be(HttpStatusCode.Created);
        return (string)(await answer.Content.ReadFromJsonAsync<JsonNode>())!["secret"]!;
    }

    public async Task FinishAsync() =>
        (await (await Service.ApiAsync()).PatchAsJsonAsync("/api/broker", new { setUpFinished = true })).StatusCode.Should()
            .Be(HttpStatusCode.OK);

    public ValueTask DisposeAsync() => Service.DisposeAsync();
}

/// <summary>What a password of one's own opens on the built-in broker, and what it does not; with real clients.</summary>
public sealed class BrokerRightsTests(FinishedHouse house) : IClassFixture<FinishedHouse>
{
    private readonly RunningService service = house.Service;

    [Fact]
    public async Task A_sensor_publishes_under_its_own_topics_and_reads_nothing()
    {
        using var door = await ConnectAsync("esp-own", house.Door);
        (await SayAsync(door, "rootcellar/cellar/door/temperature_c", "4.5")).Should().Be(MqttClientPublishReasonCode.Success);
        (await SayAsync(door, "rootcellar/cellar/door", """{"humidity_pct":90}""")).Should().Be(MqttClientPublishReasonCode.Success);
        foreach (var foreign in new[] { "rootcellar/cellar/window/temperature_c", "rootcellar/cellar/door2/temperature_c",
            "rootcellar/out/status", "elsewhere" })
            (await SayAsync(door, foreign, "1.25")).Should().Be(MqttClientPublishReasonCode.NotAuthorized, foreign);
        foreach (var filter in new[] { "#", "rootcellar/out/#", "rootcellar/cellar/door/#" })
            (await ReadAsync(door, filter)).Should().Be(MqttClientSubscribeResultCode.NotAuthorized, filter);

        (await service.LastAsync("cellar/door", "humidity"))["value"]!.GetValue<double>().Should().Be(90);
        service.Query("SELECT count(*) FROM reading WHERE value = 1.25", row => row.GetInt32(0)).Single().Should().Be(0);
        (await RefusedAsync("topic")).Should().BeGreaterThanOrEqualTo(4);
        (await RefusedAsync("subscription")).Should().BeGreaterThanOrEqualTo(3);
    }

    [Fact]
    public async Task The_last_will_of_a_sensor_speaks_for_no_other()
    {
        using var window = await ConnectAsync("esp-window", house.Window);
        (await SayAsync(window, "rootcellar/cellar/window/status", "online")).Should().Be(MqttClientPublishReasonCode.Success);
        var before = await RefusedAsync("topic");
        using (var bare = await BareMqtt.OpenAsync(service.MqttPort))
        {
            // CONNECT of MQTT 3.1.1 with a will: "offline" at the window's status, with the door's password.
            byte[] body = [0, 4, .. "MQTT"u8, 4, 0xC6, 0, 60, .. BareMqtt.Text("liar"), .. BareMqtt.Text("rootcellar/cellar/window/status"),
                .. BareMqtt.Text("offline"), .. BareMqtt.Text("x"), .. BareMqtt.Text(house.Door)];
            await bare.SendAsync(BareMqtt.Packet(0x10, body));
            var answer = new byte[4];
            (await bare.ReceiveAsync(answer)).Should().Be(4);
            answer[3].Should().Be(0);
        }

        await Eventually.HoldsAsync(async () => await RefusedAsync("topic") > before, "the will is refused");
        ((bool?)(await service.SensorAsync("cellar/window"))["online"]).Should().BeTrue();
    }

    [Fact]
    public async Task Nobody_takes_over_the_id_of_a_client_with_another_password()
    {
        using var door = await ConnectAsync("esp-taken", house.Door);

        foreach (var other in new[] { house.Window, house.Shared, null })
        {
            using var thief = new MqttClientFactory().CreateMqttClient();
            (await TryConnectAsync(thief, "esp-taken", other)).Should().Be(MqttClientConnectResultCode.ClientIdentifierNotValid);
        }

        (await SayAsync(door, "rootcellar/cellar/door/temperature_c", "4.75")).Should()
            .Be(MqttClientPublishReasonCode.Success, "it is connected still");
        using var again = await ConnectAsync("esp-taken", house.Door);
        (await SayAsync(again, "rootcellar/cellar/door/temperature_c", "4.5")).Should()
            .Be(MqttClientPublishReasonCode.Success, "the sensor itself may come anew");
        (await RefusedAsync("client-id")).Should().BeGreaterThanOrEqualTo(3);
    }

    [Fact]
    public async Task A_reader_reads_what_the_service_publishes_and_nothing_else_and_publishes_nothing()
    {
        using var siren = await ConnectAsync("siren", house.Reader);
        var said = new TaskCompletionSource<string>(TaskCreationOptions.RunContinuationsAsynchronously);
        siren.ApplicationMessageReceivedAsync += e =>
        {
            if (e.ApplicationMessage.Topic == "rootcellar/out/status") said.TrySetResult(e.ApplicationMessage.ConvertPayloadToString());
            return Task.CompletedTask;
        };
        (await ReadAsync(siren, "rootcellar/out/#")).Should().Be(MqttClientSubscribeResultCode.GrantedQoS0);
        (await said.Task.WaitAsync(TimeSpan.FromSeconds(10), TestContext.Current.CancellationToken)).Should().Be("online");
        foreach (var filter in new[] { "#", "rootcellar/#", "+/out/#", "rootcellar/cellar/door/#" })
            (await ReadAsync(siren, filter)).Should().Be(MqttClientSubscribeResultCode.NotAuthorized, filter);
        (await SayAsync(siren, "rootcellar/cellar/shelf/temperature_c", "1.25")).Should().Be(MqttClientPublishReasonCode.NotAuthorized);
    }

    [Fact]
    public async Task The_sensor_password_still_opens_for_simple_houses_but_reads_nothing_and_speaks_for_no_sensor_that_has_its_own()
    {
        using (var first = await ConnectAsync("esp-first", house.Door)) await first.DisconnectAsync(
            cancellationToken: TestContext.Current.CancellationToken);
        using var simple = await ConnectAsync("simple", house.Shared.ToUpperInvariant());
        (await SayAsync(simple, "rootcellar/cellar/shelf/temperature_c", "4")).Should().Be(MqttClientPublishReasonCode.Success);
        (await SayAsync(simple, "rootcellar/cellar/door/temperature_c", "1.25")).Should().Be(MqttClientPublishReasonCode.NotAuthorized);
        foreach (var filter in new[] { "#", "rootcellar/out/#", "rootcellar/cellar/shelf/#" })
            (await ReadAsync(simple, filter)).Should().Be(MqttClientSubscribeResultCode.NotAuthorized, filter);

        // This machine may publish without a password, and no more.
        using var here = await ConnectAsync("here", null);
        (await SayAsync(here, "rootcellar/cellar/shelf/temperature_c", "4")).Should().Be(MqttClientPublishReasonCode.Success);
        (await ReadAsync(here, "rootcellar/out/#")).Should().Be(MqttClientSubscribeResultCode.NotAuthorized);
    }

    [Fact]
    public async Task A_new_password_ends_the_old_one_at_once_and_a_removed_one_opens_no_more()
    {
        var api = await service.ApiAsync();
        await MosquittoClients.PublishAsync(service.MqttPort, "rootcellar/cellar/crate/temperature_c", "5", "-q", "1");
        var old = await house.MakeAsync(new { sensor = "cellar/crate" });
        var id = (await service.GetAsync("/api/credentials")).AsArray()
            .Single(c => (string?)c!["name"] == "cellar/crate")!["id"]!.GetValue<long>();
        (await service.GetAsync("/api/credentials")).ToJsonString().Should().NotContain(old);
        service.Query("SELECT hash FROM client_credential", row => row.GetString(0)).Should()
            .NotContain(h => h.Contains(old, StringComparison.Ordinal));
        using var crate = await ConnectAsync("esp-crate", old);

        using var renewed = await api.PostAsync($"/api/credentials/{id}/renew", null, TestContext.Current.CancellationToken);
        var fresh = (string)(await renewed.Content.ReadFromJsonAsync<JsonNode>(TestContext.Current.CancellationToken))!["secret"]!;
        await Eventually.HoldsAsync(() => !crate.IsConnected, "who came with the old one is cut off");
        using var late = new MqttClientFactory().CreateMqttClient();
        (await TryConnectAsync(late, "esp-crate", old)).Should().Be(MqttClientConnectResultCode.BadUserNameOrPassword);
        using var again = await ConnectAsync("esp-crate", fresh);

        (await api.DeleteAsync($"/api/credentials/{id}", TestContext.Current.CancellationToken)).StatusCode.Should()
            .Be(HttpStatusCode.NoContent);
        await Eventually.HoldsAsync(() => !again.IsConnected, "and so is who came with the one that was removed");
        using var later = new MqttClientFactory().CreateMqttClient();
        (await TryConnectAsync(later, "esp-crate", fresh)).Should().Be(MqttClientConnectResultCode.BadUserNameOrPassword);
        using var shared = await ConnectAsync("after", house.Shared);
        (await SayAsync(shared, "rootcellar/cellar/crate/temperature_c", "5")).Should()
            .Be(MqttClientPublishReasonCode.Success, "its topics are no one's own now");
        (await api.DeleteAsync($"/api/credentials/{id}", TestContext.Current.CancellationToken)).StatusCode.Should()
            .Be(HttpStatusCode.NotFound);
    }

    private async Task<IMqttClient> ConnectAsync(string id, string? password)
    {
        var client = new MqttClientFactory().CreateMqttClient();
        (await TryConnectAsync(client, id, password)).Should().Be(MqttClientConnectResultCode.Success, service.Everything);
        return client;
    }

    private async Task<MqttClientConnectResultCode> TryConnectAsync(IMqttClient client, string id, string? password)
    {
        var options = new MqttClientOptionsBuilder().WithTcpServer("127.0.0.1", service.MqttPort).WithClientId(id)
            .WithProtocolVersion(MqttProtocolVersion.V500).WithTimeout(TimeSpan.FromSeconds(30));
        if (password is not null) options = options.WithCredentials("any", password);
        return (await client.ConnectAsync(options.Build(), TestContext.Current.CancellationToken)).ResultCode;
    }

    [Fact]
    public async Task A_forgotten_sensors_password_goes_with_it_and_whoever_came_with_it_is_cut_off()
    {
        await MosquittoClients.PublishAsync(service.MqttPort, "rootcellar/cellar/sold/temperature_c", "5", "-q", "1");
        var secret = await house.MakeAsync(new { sensor = "cellar/sold" });
        using var sold = await ConnectAsync("esp-sold", secret);
        (await SayAsync(sold, "rootcellar/cellar/sold/temperature_c", "4.5")).Should().Be(MqttClientPublishReasonCode.Success);

        using (var answer = await (await service.ApiAsync())
            .DeleteAsync(new Uri("/api/sensors/cellar/sold", UriKind.Relative),
                TestContext.Current.CancellationToken)) answer.StatusCode.Should().Be(HttpStatusCode.NoContent);

        await Eventually.HoldsAsync(() => !sold.IsConnected, "it is cut off");
        using var again = new MqttClientFactory().CreateMqttClient();
        (await TryConnectAsync(again, "esp-sold", secret)).Should().Be(MqttClientConnectResultCode.BadUserNameOrPassword);
        (await service.GetAsync("/api/credentials")).AsArray().Should().NotContain(c => (string?)c!["name"] == "cellar/sold");
        using var door = await ConnectAsync("esp-door-stays", house.Door);
        (await SayAsync(door, "rootcellar/cellar/door/temperature_c", "4.5")).Should()
            .Be(MqttClientPublishReasonCode.Success, "other passwords stand");
        await MosquittoClients.PublishAsync(service.MqttPort, "rootcellar/cellar/sold/temperature_c", "5.5", "-q", "1");
        (await service.LastAsync("cellar/sold", "temperature"))["value"]!.GetValue<double>().Should()
            .Be(5.5, "its topics are nobody's own any more");
    }

    private static async Task<MqttClientPublishReasonCode> SayAsync(IMqttClient client, string topic, string payload) =>
        (await client.PublishStringAsync(topic, payload, MqttQualityOfServiceLevel.AtLeastOnce,
            cancellationToken: TestContext.Current.CancellationToken)).ReasonCode;

    private static async Task<MqttClientSubscribeResultCode> ReadAsync(IMqttClient client, string filter) =>
        (await client.SubscribeAsync(filter, MqttQualityOfServiceLevel.AtLeastOnce,
            TestContext.Current.CancellationToken)).Items.Single().ResultCode;

    private async Task<long> RefusedAsync(string reason) =>
        (await service.GetAsync("/api/broker"))["refused"]!.AsArray()
            .SingleOrDefault(r => (string?)r!["reason"] == reason)?["count"]!.GetValue<long>() ?? 0;
}
