using RootCellar.SystemTests.Running;

namespace RootCellar.SystemTests.Intake;

/// <summary>One service with its built-in broker for the tests of this file.</summary>
public sealed class ServiceWithCellar : IAsyncLifetime
{
    public RunningService Service { get; } = new();

    public async ValueTask InitializeAsync()
    {
        await Service.StartAsync();
        await Service.AddPlaceAsync("cellar", "Cellar", "storage");
        await Service.AddPlaceAsync(Air.CuringRoom, "Curing room", "curing");
    }

    public ValueTask DisposeAsync() => Service.DisposeAsync();
}

/// <summary>The real mosquitto_pub against the built-in broker.</summary>
public sealed class MosquittoPubTests(ServiceWithCellar fixture) : IClassFixture<ServiceWithCellar>
{
    private readonly RunningService service = fixture.Service;

    public static TheoryData<string, bool, int, bool> Ways()
    {
        var ways = new TheoryData<string, bool, int, bool>();
        foreach (var version in new[] { "mqttv311", "mqttv5" })
            foreach (var named in new[] { true, false })
                foreach (var qos in new[] { 0, 1, 2 })
                    foreach (var retained in new[] { false, true })
                        ways.Add(version, named, qos, retained);
        return ways;
    }

    [Theory]
    [MemberData(nameof(Ways))]
    public async Task A_reading_arrives_in_every_way_of_publishing(string version, bool named, int qos, bool retained)
    {
        var sensor = $"{version}-{(named ? "named" : "nameless")}-{qos}{(retained ? "-kept" : "")}";
        string[] id = named ? ["-i", sensor] : [];
        string[] keep = retained ? ["-r"] : [];

        await MosquittoClients.PublishAsync(service.MqttPort, $"rootcellar/cellar/{sensor}/temperature_c", "4.25",
            ["-V", version, "-q", qos.ToString(), .. id, .. keep]);

        // Whoever has the receipt can rely on the file, whatever becomes of the process.
        if (qos > 0) KeptValues($"cellar/{sensor}").Should().Equal([4.25]);
        var last = await service.LastAsync($"cellar/{sensor}", "temperature");
        ((double)last["value"]!).Should().Be(4.25);
        ((string?)last["quality"]).Should().Be("good");
        ((string?)(await service.SensorAsync($"cellar/{sensor}"))["place"]).Should().Be("cellar");
    }

    /// <summary>SenML: base name, base time and units as in RFC 8428, sections 4 and 5. 1 lb is 0.45359237 kg (NIST SP 811, B.8).</summary>
    public static TheoryData<string, string, string, string, double> Payloads() => new()
    {
        { "plain", "/temperature_c", "6.5", "temperature", 6.5 },
        { "plain-f", "/temperature_f", "41", "temperature", 5 },
        { "plain-rh", "/humidity_pct", "91.5", "humidity", 91.5 },
        { "plain-lb", "/weight_lb", "100", "weight", 45.359237 },
        { "flat", "", """{"temperature_c":6.5,"humidity_pct":92,"battery_v":2.9}""", "battery-volts", 2.9 },
        { "flat-nan", "", """{"temperature_c":nan,"humidity_pct":92}""", "humidity", 92 },
        { "flat-mark", "", "\uFEFF{\"temperature_c\":6.5,\"humidity_pct\":92}", "temperature", 6.5 },
        { "plain-mark", "/temperature_c", "\uFEFF6.5", "temperature", 6.5 },
        { "senml-nan", "", """[{"n":"temperature","u":"Cel","v":nan},{"n":"humidity","u":"%RH","v":92}]""", "humidity", 92 },
        { "flat-f", "", """{"temperature_f":50,"pulp_f":41}""", "pulp", 5 },
        { "senml", "", """[{"bn":"urn:dev:ow:10e2073a01080063:","n":"temperature","u":"Cel","v":6.5},{"n":"humidity","u":"%RH","v":92}]""",
            "humidity", 92 },
        { "senml-lx", "", """[{"n":"light","u":"lx","v":3.5}]""", "light", 3.5 },
    };

    [Theory]
    [MemberData(nameof(Payloads))]
    public async Task Every_documented_payload_becomes_a_reading_in_si(
        string sensor, string tail, string payload, string quantity, double expected)
    {
        await MosquittoClients.PublishAsync(service.MqttPort, $"rootcellar/cellar/{sensor}{tail}", payload, "-q", "1");

        ((double)(await service.LastAsync($"cellar/{sensor}", quantity))["value"]!).Should().BeApproximately(expected, 1e-9);
    }

    [Fact]
    public async Task Readings_become_the_air_of_their_place()
    {
        await MosquittoClients.PublishAsync(service.MqttPort, $"rootcellar/{Air.CuringRoom}/door", Air.Right, "-q", "1");

        var place = await service.GetAsync($"/api/places/{Air.CuringRoom}");
        ((double)place["air"]!["temperatureC"]!).Should().BeApproximately((60 - 32) / 1.8, 1e-9);
        ((double)place["air"]!["relativeHumidityPercent"]!).Should().Be(90);
    }

    [Fact]
    public async Task The_last_will_of_a_sensor_says_that_it_is_gone()
    {
        await MosquittoClients.PublishAsync(service.MqttPort, "rootcellar/cellar/dying/temperature_c", "5", "-q", "1");
        await MosquittoClients.PublishAsync(service.MqttPort, "rootcellar/cellar/dying/status", "online", "-q", "1", "-r");
        ((bool?)(await service.SensorAsync("cellar/dying"))["online"]).Should().BeTrue();
        using var sensor = new Child(
            await Needs.MosquittoSubAsync(),
            ["-h", "127.0.0.1", "-p", service.MqttPort.ToString(), "-t", "rootcellar/out/status", "-i", "dying", "--will-topic",
                "rootcellar/cellar/dying/status", "--will-payload", "offline", "--will-retain", "--will-qos", "1"]);
        await Eventually.HoldsAsync(() => sensor.Output.Count > 0, "the sensor's client is connected", details: () => sensor.Everything);

        sensor.Kill();

        await Eventually.HoldsAsync(async () => (bool?)(await service.SensorAsync("cellar/dying"))["online"] == false,
            "the sensor is offline", details: () => service.Everything);
        (await MosquittoClients.RetainedAsync(service.MqttPort, "rootcellar/cellar/dying/status")).Should()
            .BeNullOrEmpty("nobody reads what sensors say");
        await MosquittoClients.PublishAsync(service.MqttPort, "rootcellar/cellar/dying/temperature_c", "5", "-q", "1");
        ((bool?)(await service.SensorAsync("cellar/dying"))["online"]).Should().BeTrue("who sends is there");
    }

    [Fact]
    public async Task Nobody_else_publishes_where_the_service_does()
    {
        (await MosquittoClients.RetainedAsync(service.MqttPort, "rootcellar/out/status")).Should().Be("online");

        var said = await MosquittoClients.TryPublishAsync(
            service.MqttPort, "rootcellar/out/status", "forged", "-V", "mqttv5", "-q", "1", "-r");
        await MosquittoClients.TryPublishAsync(service.MqttPort, "rootcellar/out/status", "forged", "-V", "mqttv311", "-q", "1", "-r");

        said.Error.Should().Contain("Not authorized");
        (await MosquittoClients.RetainedAsync(service.MqttPort, "rootcellar/out/status")).Should().Be("online");
    }

    [Fact]
    public async Task What_cannot_be_read_is_counted_and_shown_and_nothing_else_happens()
    {
        var before = await service.CountAsync("rootcellar_unreadable_total");

        await MosquittoClients.PublishAsync(service.MqttPort, "rootcellar/cellar/broken", "{\"temperature_c\":", "-q", "1");

        (await service.CountAsync("rootcellar_unreadable_total")).Should().BeGreaterThan(before);
        (await service.GetAsync("/api/sensors/unreadable")).ToJsonString().Should().Contain("rootcellar/cellar/broken");
        KeptValues("cellar/broken").Should().BeEmpty();
    }

    [Fact]
    public async Task A_sensor_that_names_an_unknown_place_waits_to_be_placed()
    {
        await MosquittoClients.PublishAsync(service.MqttPort, "rootcellar/attic/new/temperature_c", "9", "-q", "1");

        var sensor = await service.SensorAsync("attic/new");
        ((string?)sensor["place"]).Should().BeNull();
        ((string?)sensor["namedPlace"]).Should().Be("attic");
    }

    private IReadOnlyList<double> KeptValues(string sensor) => service.Query(
        $"SELECT r.value FROM reading r JOIN sensor s ON s.id = r.sensor WHERE s.key = '{sensor}' ORDER BY r.at_ms",
        row => row.GetDouble(0));
}

/// <summary>The sensor password of the built-in broker.</summary>
public sealed class SensorPasswordTests
{
    [Fact]
    public async Task Without_anonymous_sensors_only_the_sensor_password_opens()
    {
        await using var service = await RunningService.StartAsync(("Mqtt:AllowAnonymous", "false"));
        var password = service.Query("SELECT value FROM meta WHERE key = 'sensor_password'", row => row.GetString(0)).Single();
        const string topic = "rootcellar/cellar/locked/temperature_c";

        foreach (var version in new[] { "mqttv311", "mqttv5" })
        {
            (await MosquittoClients.TryPublishAsync(service.MqttPort, topic, "1.5", "-V", version)).Exit.Should()
                .NotBe(0, "no password was given");
            (await MosquittoClients.TryPublishAsync(service.MqttPort, topic, "2.5", "-V", version, "-u", "sensor", "-P",
                "guess")).Exit.Should().NotBe(0, "the password is wrong");
        }

        await MosquittoClients.PublishAsync(service.MqttPort, topic, "3.5", "-q", "1", "-u", "sensor", "-P", password);
        ((double)(await service.LastAsync("cellar/locked", "temperature"))["value"]!).Should().Be(3.5);
        service.Query("SELECT count(*) FROM reading", row => row.GetInt32(0)).Single().Should().Be(1, "what was refused is nowhere");
    }
}
