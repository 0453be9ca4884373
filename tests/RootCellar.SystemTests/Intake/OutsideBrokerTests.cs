using RootCellar.SystemTests.Running;

namespace RootCellar.SystemTests.Intake;

/// <summary>The service as a client of a real Mosquitto.</summary>
public sealed class OutsideBrokerTests
{
    [Fact]
    public async Task Readings_arrive_and_the_service_announces_there()
    {
        using var broker = await Mosquitto.StartAsync();
        await using var service = await StartAsync(broker, Air.NoDelays);
        await service.AddPlaceAsync(Air.CuringRoom, "Curing room", "curing");

        await MosquittoClients.PublishAsync(broker.Port, $"rootcellar/{Air.CuringRoom}/door", Air.Right, "-q", "1");
        await service.SensorAsync($"{Air.CuringRoom}/door");
        await MosquittoClients.PublishAsync(broker.Port, $"rootcellar/{Air.CuringRoom}/door", Air.TooWarm, "-q", "0");

        var alarm = await Eventually.GivesAsync(async () => (await service.GetAsync("/api/alarms")).AsArray().FirstOrDefault(),
            "an alarm is raised", details: () => service.Everything);
        ((string?)alarm["rule"]).Should().Be("too-warm");
        var retained = await Eventually.GivesAsync(
            () => MosquittoClients.RetainedAsync(broker.Port, $"rootcellar/out/alarms/{(string)alarm["id"]!}"),
            "the alarm is announced, retained");
        retained.Should().Contain("\"too-warm\"");
        (await MosquittoClients.RetainedAsync(broker.Port, $"rootcellar/out/{Air.CuringRoom}/air")).Should().Contain("temperatureC");
        (await MosquittoClients.RetainedAsync(broker.Port, "rootcellar/out/status")).Should().Be("online");
    }

    [Fact]
    public async Task A_retained_message_from_before_is_counted_and_is_no_reading()
    {
        using var broker = await Mosquitto.StartAsync();
        await MosquittoClients.PublishAsync(broker.Port, "rootcellar/cellar/old/temperature_c", "3.5", "-q", "1", "-r");
        await using var service = await StartAsync(broker);

        await Eventually.HoldsAsync(async () => await service.CountAsync("rootcellar_retained_replays_total") >= 1,
            "the replay is counted");
        // A later message on the same connection comes after the replay, so once it is known the replay has been dealt with.
        await MosquittoClients.PublishAsync(broker.Port, "rootcellar/cellar/fresh/temperature_c", "4.5", "-q", "1", "-r");

        await service.SensorAsync("cellar/fresh");
        (await service.FindSensorAsync("cellar/old")).Should().BeNull();
        (await service.CountAsync("rootcellar_readings_total")).Should()
            .Be(1, "published just now with the retain flag it is fresh; replayed it is not");
    }

    [Fact]
    public async Task What_came_while_the_service_was_down_is_delivered_after()
    {
        using var broker = await Mosquitto.StartAsync();
        await using var service = await StartAsync(broker);
        await MosquittoClients.PublishAsync(broker.Port, "rootcellar/cellar/a/weight_kg", "1", "-q", "1");
        await service.SensorAsync("cellar/a");

        await service.StopAsync();
        (await MosquittoClients.RetainedAsync(broker.Port, "rootcellar/out/status")).Should().Be("offline");
        for (var i = 2; i <= 10; i++)
            await MosquittoClients.PublishAsync(broker.Port, "rootcellar/cellar/a/weight_kg", i.ToString(), "-q", "1");
        await service.StartAsync();
        await KeptAsync(service, Enumerable.Range(1, 10));

        service.Kill();
        await Eventually.HoldsAsync(async () => await MosquittoClients.RetainedAsync(broker.Port, "rootcellar/out/status") == "offline",
            "the last will says offline after kill -9");
        for (var i = 11; i <= 20; i++)
            await MosquittoClients.PublishAsync(broker.Port, "rootcellar/cellar/a/weight_kg", i.ToString(), "-q", "1");
        await service.StartAsync();
        await KeptAsync(service, Enumerable.Range(1, 20));
        (await MosquittoClients.RetainedAsync(broker.Port, "rootcellar/out/status")).Should().Be("online");
    }

    [Fact]
    public async Task A_broker_that_dies_and_comes_back_is_found_again()
    {
        using var broker = await Mosquitto.StartAsync();
        await using var service = await StartAsync(broker);

        broker.Kill();
        await Eventually.HoldsAsync(async () => (await service.ReadinessAsync()) is (503, var text)
            && text.Contains("\"broker\":\"unhealthy\"", StringComparison.Ordinal), "the trouble is said",
            details: () => service.Everything);
        await broker.StartAsync();
        await Eventually.HoldsAsync(async () => (await service.ReadinessAsync()).Status == 200, "the service is ready again",
            TimeSpan.FromSeconds(40), () => service.Everything);

        await MosquittoClients.PublishAsync(broker.Port, "rootcellar/cellar/back/temperature_c", "4.5", "-q", "1");
        await service.SensorAsync("cellar/back");
        (await MosquittoClients.RetainedAsync(broker.Port, "rootcellar/out/status")).Should().Be("online");
    }

    [Fact]
    public async Task A_service_may_start_before_its_broker()
    {
        using var broker = await Mosquitto.StartAsync();
        broker.Kill();
        await using var service = new RunningService(null, ("Mqtt:Broker:Host", "127.0.0.1"), ("Mqtt:Broker:Port", broker.Port.ToString()));
        await service.StartAsync();
        (await service.ReadinessAsync()).Status.Should().Be(503);

        await broker.StartAsync();

        await Eventually.HoldsAsync(async () => (await service.ReadinessAsync()).Status == 200, "it is connected", TimeSpan.FromSeconds(40),
            () => service.Everything);
    }

    [Fact]
    public async Task User_and_password_come_from_the_settings_and_a_file()
    {
        using var scratch = new Scratch();
        using var broker = await Mosquitto.StartAsync("cellar", "dry sand and straw");
        var file = scratch.File("password");
        await File.WriteAllTextAsync(file, "dry sand and straw\n", TestContext.Current.CancellationToken);
        await using var service = await StartAsync(broker, ("Mqtt:Broker:User", "cellar"), ("Mqtt:Broker:PasswordFile", file));

        await MosquittoClients.PublishAsync(broker.Port, "rootcellar/cellar/a/temperature_c", "4.5", "-q", "1", "-u", "cellar", "-P",
            "dry sand and straw");

        await service.SensorAsync("cellar/a");
    }

    [Fact]
    public async Task While_the_record_is_damaged_more_messages_than_a_broker_hands_out_unanswered_are_judged_and_what_waits_is_kept_once_it_is_mended()
    {
        using var broker = await Mosquitto.StartAsync();
        await using var gateway = await Gateway.StartAsync();
        await using var service = await StartAsync(broker, [.. Air.NoDelays, ("Tell:Post:Url", gateway.Url)]);
        await service.AddPlaceAsync("cellar", "Cellar", "storage");
        await service.AddContactAsync("post", "+15550142");
        await MosquittoClients.PublishAsync(broker.Port, "rootcellar/cellar/a/temperature_c", "5", "-q", "1");
        await service.SensorAsync("cellar/a");
        using var scratch = new Scratch();
        (await BuiltProgram.RunAsync("backup", scratch.File("good.db"), "--data", service.Data)).Exit.Should().Be(0);
        await service.StopAsync();
        await File.WriteAllBytesAsync(service.RecordPath, System.Security.Cryptography.RandomNumberGenerator.GetBytes(100_000),
            TestContext.Current.CancellationToken);
        await service.StartAsync();
        await Eventually.HoldsAsync(
            async () => (await service.ReadinessAsync()).Text is var said
                && said.Contains("\"broker\":\"healthy\"", StringComparison.Ordinal)
                    && said.Contains("\"record\":\"unhealthy\"", StringComparison.Ordinal),
            "it listens without its record",
            details: () => service.Everything);

        // Mosquitto hands out twenty without an answer; the frost comes after those.
        for (var i = 0; i < 40; i++) await MosquittoClients.PublishAsync(broker.Port, "rootcellar/cellar/a/temperature_c", "5", "-q", "1");
        await MosquittoClients.PublishAsync(broker.Port, "rootcellar/cellar/a/temperature_c", "-6", "-q", "1");
        await Eventually.HoldsAsync(() => gateway.Accepted.Count >= 1, "the frost is told", details: () => service.Everything);
        new FileInfo(service.RecordPath).Length.Should().Be(100_000, "the damaged file is left alone");

        // What comes while nobody listens waits at the broker, and a mended record has it.
        await service.StopAsync();
        for (var i = 1; i <= 30; i++)
            await MosquittoClients.PublishAsync(broker.Port, "rootcellar/cellar/a/weight_kg", i.ToString(), "-q", "1");
        (await BuiltProgram.RunAsync("restore", scratch.File("good.db"), "--data", service.Data)).Exit.Should().Be(0);
        await service.StartAsync();
        var weights = "SELECT r.value FROM reading r JOIN sensor s ON s.id = r.sensor WHERE s.key = 'cellar/a' AND r.value >= 1 AND r.quantity = 7 ORDER BY r.value";
        await Eventually.HoldsAsync(
            () => service.Query(weights, row => row.GetDouble(0)).SequenceEqual(Enumerable.Range(1, 30).Select(i => (double)i)),
            "all thirty are kept, each once",
            details: () => service.Everything);
    }

    private static async Task<RunningService> StartAsync(Mosquitto broker, params (string, string)[] more)
    {
        var service = new RunningService(null, [("Mqtt:Broker:Host", "127.0.0.1"), ("Mqtt:Broker:Port", broker.Port.ToString()), .. more]);
        await service.StartAsync();
        await Eventually.HoldsAsync(async () => (await service.ReadinessAsync()).Status == 200, "the service is connected to the broker",
            details: () => service.Everything);
        return service;
    }

    private static async Task KeptAsync(RunningService service, IEnumerable<int> expected)
    {
        var wanted = expected.Select(i => (double)i).ToList();
        await Eventually.HoldsAsync(() => Kept(service).SequenceEqual(wanted), $"readings 1 to {wanted.Count} are kept, each once",
            details: () => $"kept: {string.Join(' ', Kept(service))}\n{service.Everything}");
    }

    private static IReadOnlyList<double> Kept(RunningService service) =>
        service.Query("SELECT r.value FROM reading r JOIN sensor s ON s.id = r.sensor WHERE s.key = 'cellar/a' ORDER BY r.value",
            row => row.GetDouble(0));
}
