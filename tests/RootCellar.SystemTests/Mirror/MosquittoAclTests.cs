using System.Collections.Concurrent;
using MQTTnet;
using MQTTnet.Formatter;
using MQTTnet.Protocol;
using RootCellar.SystemTests.Running;

namespace RootCellar.SystemTests.Mirror;

/// <summary>A real Mosquitto with the files of docker-compose.yml, of which only paths and ports are others.</summary>
public sealed class MosquittoAclTests : IAsyncLifetime
{
    private const string Password = "dry sand and straw";
    private readonly Scratch scratch = new();
    private readonly int port = Ports.Free();
    private Child? mosquitto;

    public async ValueTask InitializeAsync()
    {
        foreach (var (user, i) in new[] { "rootcellar", "reader", "cellar/door", "cellar/window" }.Select((u, i) => (u, i)))
        {
            var said = await Tool.RunAsync(await Needs.MosquittoPasswdAsync(),
                ["-b", .. i == 0 ? (string[])["-c"] : [], scratch.File("passwords"), user, Password]);
            said.Exit.Should().Be(0, said.ToString());
        }

        var conf = (await File.ReadAllTextAsync(Repository.File("src/RootCellar/Packaging/mosquitto.conf")))
            .Replace("listener 1883", $"listener {port} 127.0.0.1", StringComparison.Ordinal)
                .Replace("listener 1880", $"listener {Ports.Free()}", StringComparison.Ordinal)
            .Replace("/mosquitto/data/passwords", scratch.File("passwords"), StringComparison.Ordinal)
                .Replace("/mosquitto/data/", scratch.Path + "/", StringComparison.Ordinal)
            .Replace("/mosquitto/config/mosquitto.acl", Repository.File("src/RootCellar/Packaging/mosquitto.acl"), StringComparison.Ordinal)
            .Replace("/mosquitto/config/health.acl", Repository.File("src/RootCellar/Packaging/mosquitto-health.acl"), StringComparison.Ordinal);
        // As root it would change to a user who may not read the folder.
        await File.WriteAllTextAsync(scratch.File("mosquitto.conf"), conf + (Environment.UserName == "root" ? "\nuser root\n" : ""));
        mosquitto = new Child(await Needs.MosquittoAsync(), ["-c", scratch.File("mosquitto.conf")]);
        await Eventually.HoldsAsync(
            () => mosquitto.HasExited ? throw new InvalidOperationException(mosquitto.Everything) : mosquitto.Error.Any(
                l => l.Contains("running", StringComparison.Ordinal)), "Mosquitto runs", details: () => mosquitto.Everything);
    }

    [Fact]
    public async Task Each_does_what_the_acl_says_and_no_more()
    {
        await File.WriteAllTextAsync(scratch.File("secret"), Password, TestContext.Current.CancellationToken);
        await using var service = await RunningService.StartAsync(
            ("Mqtt:Broker:Host", "127.0.0.1"), ("Mqtt:Broker:Port", $"{port}"), ("Mqtt:Broker:User", "rootcellar"),
            ("Mqtt:Broker:PasswordFile", scratch.File("secret")));
        await service.AddPlaceAsync("cellar", "Cellar", "storage");
        using var door = await ConnectAsync("cellar/door");
        using var window = await ConnectAsync("cellar/window");
        using var reader = await ConnectAsync("reader");
        var (heardByReader, heardByWindow) = (Hear(reader), Hear(window));
        foreach (var client in new[] { reader, window })
            await client.SubscribeAsync("#", cancellationToken: TestContext.Current.CancellationToken);

        // The service reads all, each sensor publishes under its own topics.
        (await SayAsync(door, "rootcellar/cellar/door", """{"temperature_c":4.5}""")).Should().Be(MqttClientPublishReasonCode.Success);
        (await SayAsync(door, "rootcellar/cellar/door/humidity_pct", "91")).Should().Be(MqttClientPublishReasonCode.Success);
        ((double)(await service.LastAsync("cellar/door", "humidity"))["value"]!).Should().Be(91);
        foreach (var foreign in new[] { "rootcellar/cellar/window/temperature_c", "rootcellar/cellar/door2", "rootcellar/out/status",
            "elsewhere" })
            (await SayAsync(door, foreign, "1.25")).Should().Be(MqttClientPublishReasonCode.NotAuthorized, foreign);
        foreach (var topic in new[] { "rootcellar/cellar/door", "rootcellar/out/status", "rootcellar/reader/x" })
            (await SayAsync(reader, topic, "1.25")).Should().Be(MqttClientPublishReasonCode.NotAuthorized, topic);

        // What the service says last is the end of what anybody was sent of it.
        await service.StopAsync();
        await Eventually.HoldsAsync(() => heardByReader.Contains("rootcellar/out/status=offline"), "the reader hears the service");
        heardByReader.Should().OnlyContain(m => m.StartsWith("rootcellar/out/", StringComparison.Ordinal), "though it asked for #");
        (await SayAsync(window, "rootcellar/cellar/window/temperature_c", "5")).Should()
            .Be(MqttClientPublishReasonCode.Success, "and its receipt comes after all that went before");
        heardByWindow.Should().BeEmpty("a sensor reads nothing");

        using var stranger = new MqttClientFactory().CreateMqttClient();
        var answer = await stranger.ConnectAsync(Options("stranger", null), TestContext.Current.CancellationToken);
        answer.ResultCode.Should().NotBe(MqttClientConnectResultCode.Success);
    }

    public ValueTask DisposeAsync()
    {
        mosquitto?.Dispose();
        scratch.Dispose();
        return ValueTask.CompletedTask;
    }

    private static ConcurrentQueue<string> Hear(IMqttClient client)
    {
        var heard = new ConcurrentQueue<string>();
        client.ApplicationMessageReceivedAsync += e =>
        {
            heard.Enqueue($"{e.ApplicationMessage.Topic}={e.ApplicationMessage.ConvertPayloadToString()}");
            return Task.CompletedTask;
        };
        return heard;
    }

    private static async Task<MqttClientPublishReasonCode> SayAsync(IMqttClient client, string topic, string payload)
    {
        var code = (await client.PublishStringAsync(topic, payload, MqttQualityOfServiceLevel.AtLeastOnce,
            cancellationToken: TestContext.Current.CancellationToken)).ReasonCode;
        return code == MqttClientPublishReasonCode.NoMatchingSubscribers ? MqttClientPublishReasonCode.Success : code;
    }

    private async Task<IMqttClient> ConnectAsync(string user)
    {
        var client = new MqttClientFactory().CreateMqttClient();
        (await client.ConnectAsync(Options(user, user), TestContext.Current.CancellationToken)).ResultCode.Should()
            .Be(MqttClientConnectResultCode.Success);
        return client;
    }

    private MqttClientOptions Options(string id, string? user)
    {
        var options = new MqttClientOptionsBuilder().WithTcpServer("127.0.0.1", port).WithClientId(id)
            .WithProtocolVersion(MqttProtocolVersion.V500);
        return (user is null ? options : options.WithCredentials(user, Password)).Build();
    }
}
