using System.Net.Http.Headers;
using System.Text;
using DotNet.Testcontainers.Builders;
using DotNet.Testcontainers.Containers;
using DotNet.Testcontainers.Images;
using RootCellar.Household;
using RootCellar.SystemTests.Running;

namespace RootCellar.SystemTests.Mirror;

/// <summary>From a sensor to the other server across containers, with the broker's settings of docker-compose.yml.</summary>
[Collection(OneAtATime.Name)]
public sealed class ContainerTests(ITestOutputHelper output)
{
    private const string User = "rootcellar";
    private const string Sensor = "curing-room/door";
    private const string Password = "dry sand and straw";
    private const string Token = "no-token-of-anyone";

    [Fact]
    public async Task From_a_sensor_through_mosquitto_and_rootcellar_to_the_other_server()
    {
        await using var docker = await DockerDaemon.StartAsync();
        using var scratch = new Scratch();
        await docker.PackAsync("rootcellar-test/mosquitto:1", await Needs.MosquittoAsync(), "/mosquitto/data", "/mosquitto/config");
        await docker.PackAsync("rootcellar-test/victoria-metrics:1", await Needs.VictoriaMetricsAsync(), "/storage");
        await using var broker = await BrokerAsync(docker, "rootcellar-test/mosquitto:1", scratch);
        await using var server = new ContainerBuilder("rootcellar-test/victoria-metrics:1").WithDockerEndpoint(docker.Endpoint)
            .WithImagePullPolicy(PullPolicy.Never)
            .WithCommand("-dedup.minScrapeInterval=1ms", "-storageDataPath=/storage/data", "-memory.allowedPercent=10")
            .WithPortBinding(8428, assignRandomHostPort: true)
            .WithWaitStrategy(Wait.ForUnixContainer().UntilHttpRequestIsSucceeded(r => r.ForPath("/health").ForPort(8428)))
            .Build();
        await server.StartAsync(TestContext.Current.CancellationToken);
        var url = $"http://127.0.0.1:{server.GetMappedPublicPort(8428)}";

        await using var service = await ServiceAsync(broker, scratch, url, null);
        await PublishAsync(broker);

        using var http = new HttpClient();
        IReadOnlyList<Sample> there = [];
        await Eventually.HoldsAsync(
            async () => (there = await VictoriaMetrics.ExportAsync(http, url, "{__name__=~\"reading_.*\"}")).Count == 2,
            "the reading is there", TimeSpan.FromMinutes(2), () => service.Everything);
        there.Select(s => (s.Name, s.Value)).Should().BeEquivalentTo([("reading_temperature_c", 13.25), ("reading_humidity_pct", 91.0)]);
        var stranger = await MosquittoClients.TryPublishAsync(
            broker.GetMappedPublicPort(1883), "rootcellar/curing-room/door/temperature_c", "1");
        stranger.Exit.Should().NotBe(0, "mosquitto.conf lets nobody in without a password");
    }

    [Fact]
    public async Task InfluxDB_2_itself_takes_what_the_mirror_sends()
    {
        await using var docker = await DockerDaemon.StartAsync();
        if (await docker.PullAsync("influxdb:2", TimeSpan.FromSeconds(10)) is { } trouble)
            Skips.EvenWhereNothingMay($"The image of InfluxDB 2 cannot be had here: {trouble}");
        using var scratch = new Scratch();
        await docker.PackAsync("rootcellar-test/mosquitto:1", await Needs.MosquittoAsync(), "/mosquitto/data", "/mosquitto/config");
        await using var broker = await BrokerAsync(docker, "rootcellar-test/mosquitto:1", scratch);
        await using var server = new ContainerBuilder("influxdb:2").WithDockerEndpoint(docker.Endpoint)
            .WithImagePullPolicy(PullPolicy.Missing)
            .WithEnvironment("DOCKER_INFLUXDB_INIT_MODE", "setup").WithEnvironment("DOCKER_INFLUXDB_INIT_USERNAME", User)
                .WithEnvironment("DOCKER_INFLUXDB_INIT_PASSWORD", Password)
            .WithEnvironment("DOCKER_INFLUXDB_INIT_ORG", "house").WithEnvironment("DOCKER_INFLUXDB_INIT_BUCKET", "cellar")
                .WithEnvironment("DOCKER_INFLUXDB_INIT_ADMIN_TOKEN", Token)
            .WithPortBinding(8086, assignRandomHostPort: true)
            .WithWaitStrategy(Wait.ForUnixContainer().UntilHttpRequestIsSucceeded(r => r.ForPath("/health").ForPort(8086)))
            .Build();
        await server.StartAsync(TestContext.Current.CancellationToken);
        var url = $"http://127.0.0.1:{server.GetMappedPublicPort(8086)}";

        await using var service = await ServiceAsync(broker, scratch, url, Token);
        await PublishAsync(broker);

        using var http = new HttpClient();
        http.DefaultRequestHeaders.Authorization = new AuthenticationHeaderValue("Token", Token);
        await Eventually.HoldsAsync(
            async () =>
            {
                const string Flux = "from(bucket: \"cellar\") |> range(start: -1h) |> filter(fn: (r) => r._measurement == \"reading\" and r._field == \"temperature_c\")";
                using var body = new StringContent(Flux, Encoding.UTF8, "application/vnd.flux");
                using var answer = await http.PostAsync(new Uri($"{url}/api/v2/query?org=house"), body,
                    TestContext.Current.CancellationToken);
                return (await answer.Content.ReadAsStringAsync(TestContext.Current.CancellationToken))
                    .Contains(",13.25,", StringComparison.Ordinal);
            },
            "the reading is there",
            TimeSpan.FromMinutes(2),
            () => service.Everything);
    }

    private async Task<IContainer> BrokerAsync(DockerDaemon docker, string image, Scratch scratch)
    {
        var passwords = scratch.File("passwords");
        (await Tool.RunAsync(await Needs.MosquittoPasswdAsync(), ["-b", "-c", passwords, User, Password])).Exit.Should().Be(0);
        (await Tool.RunAsync(await Needs.MosquittoPasswdAsync(), ["-b", passwords, Sensor, Password])).Exit.Should().Be(0);
        var broker = new ContainerBuilder(image).WithDockerEndpoint(docker.Endpoint).WithImagePullPolicy(PullPolicy.Never)
            .WithResourceMapping(
                await File.ReadAllBytesAsync(Repository.File("src/RootCellar/Packaging/mosquitto.conf"), TestContext.Current.CancellationToken),
                "/mosquitto/config/mosquitto.conf")
            .WithResourceMapping(
                await File.ReadAllBytesAsync(Repository.File("src/RootCellar/Packaging/mosquitto.acl"), TestContext.Current.CancellationToken),
                "/mosquitto/config/mosquitto.acl")
            .WithResourceMapping(
                await File.ReadAllBytesAsync(Repository.File("src/RootCellar/Packaging/mosquitto-health.acl"),
                    TestContext.Current.CancellationToken), "/mosquitto/config/health.acl")
            .WithResourceMapping(await File.ReadAllBytesAsync(passwords, TestContext.Current.CancellationToken),
                "/mosquitto/data/passwords")
            .WithCommand("-c", "/mosquitto/config/mosquitto.conf")
            .WithCreateParameterModifier(p => p.User = "1883:1883")
            .WithPortBinding(1883, assignRandomHostPort: true)
            .WithWaitStrategy(Wait.ForUnixContainer().UntilMessageIsLogged("running"))
            .Build();
        await broker.StartAsync(TestContext.Current.CancellationToken);
        output.WriteLine($"Mosquitto in a container on port {broker.GetMappedPublicPort(1883)}");
        return broker;
    }

    private static async Task<RunningService> ServiceAsync(IContainer broker, Scratch scratch, string url, string? token)
    {
        var file = scratch.File("password");
        await File.WriteAllTextAsync(file, Password, TestContext.Current.CancellationToken);
        (string, string)[] more = token is null ? [] : [("Mirror:Influx:Token", token)];
        var service = await RunningService.StartAsync(
        [
            ("Mqtt:Broker:Host", "127.0.0.1"), ("Mqtt:Broker:Port", $"{broker.GetMappedPublicPort(1883)}"), ("Mqtt:Broker:User", User),
            ("Mqtt:Broker:PasswordFile", file),
            .. VictoriaMetrics.SettingsFor(url, more),
        ]);
        await Eventually.HoldsAsync(async () => (await service.ReadinessAsync()).Status == 200, "the service is connected to the broker",
            details: () => service.Everything);
        return service;
    }

    private static Task PublishAsync(IContainer broker) => MosquittoClients.PublishAsync(
        broker.GetMappedPublicPort(1883), "rootcellar/curing-room/door", """{"temperature_c":13.25,"humidity_pct":91}""", "-q", "1", "-u",
        Sensor, "-P", Password);
}
