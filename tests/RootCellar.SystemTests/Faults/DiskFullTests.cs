using MQTTnet.Formatter;
using RootCellar.SystemTests.Running;
using RootCellar.SystemTests.Telling;

namespace RootCellar.SystemTests.Faults;

/// <summary>The disk fills up while the service runs, and is freed again.</summary>
[Collection(OneAtATime.Name)]
public sealed class DiskFullTests(ITestOutputHelper output)
{
    private const string Scale = "rootcellar/bench/scale/weight_kg";

    [Fact]
    public async Task On_a_full_disk_alarms_go_on_and_nothing_acknowledged_is_lost()
    {
        var cancel = TestContext.Current.CancellationToken;
        await using var disk = await RamDisk.MountAsync(8);
        await using var gateway = await Gateway.StartAsync();
        await using var service = new RunningService(disk.Path, [.. Air.NoDelays, ("Tell:Post:Url", gateway.Url)]);
        await service.StartAsync();
        await service.AddPlaceAsync(Air.CuringRoom, "Curing room", "curing");
        await service.AddContactAsync("post", "+15550142");
        using var publisher = new Publisher(service.MqttPort, "scale");
        using var older = new Publisher(service.MqttPort, "scale-311", MqttProtocolVersion.V311);
        using var room = new Publisher(service.MqttPort, "door");
        await publisher.ConnectAsync(cancel);
        await room.ConnectAsync(cancel);
        (await room.PublishAsync($"rootcellar/{Air.CuringRoom}/door", Air.Right, "", cancel)).Kept.Should().BeTrue();
        var number = 0;
        for (; number < 200; number++)
            (await publisher.PublishAsync(Scale, number.ToString(), number.ToString(), cancel)).Kept.Should().BeTrue();

        disk.FillUp();
        var word = await RefusedAsync(publisher, () => number++, cancel);
        output.WriteLine($"On a full disk an MQTT 5 client is told: {word}");
        word.Should().MatchRegex("full|ImplementationSpecificError");
        await older.ConnectAsync(cancel);
        (await older.PublishAsync(Scale, (number++).ToString(), "", cancel)).Kept.Should().BeFalse("what is not kept is not acknowledged");
        var (status, text) = await service.ReadinessAsync();
        status.Should().Be(503);
        text.Should().Contain("\"record\":\"unhealthy\"");
        service.Everything.Should().Contain("is full").And.Contain("Free some space");
        (await service.CountAsync("rootcellar_record_ok")).Should().Be(0);

        // Far more than one batch waits in memory now, and the judging must not wait with it.
        await publisher.ConnectAsync(cancel);
        var first = number;
        for (; number < first + 40_000; number++) await publisher.PublishAsync(Scale, number.ToString(), "", cancel, qos: 0);
        await room.ConnectAsync(cancel);
        await room.PublishAsync($"rootcellar/{Air.CuringRoom}/door", Air.TooWarm, "", cancel, qos: 0);
        await Eventually.HoldsAsync(() => gateway.Accepted.Count(t => t.Text().StartsWith("CURING", StringComparison.Ordinal)) == 1, "the text is told", details: () => service.Everything);
        gateway.Accepted.Single(t => t.Text().StartsWith("CURING", StringComparison.Ordinal)).Text().Should().StartWith("CURING ROOM 3F too warm (68F)");

        (await service.GetAsync("/api/alarms")).AsArray().Should().ContainSingle("open alarms are told from memory");

        disk.MakeRoom();
        await disk.RemountAsync("size=64m");
        await Eventually.HoldsAsync(
            async () =>
            {
                await publisher.ConnectAsync(cancel);
                return (await publisher.PublishAsync(Scale, number.ToString(), (number++).ToString(), cancel)).Kept;
            },
            "readings are kept again",
            details: () => service.Everything);
        (await service.ReadinessAsync()).Status.Should().Be(200);
        for (var i = 0; i < 100; i++, number++)
            (await publisher.PublishAsync(Scale, number.ToString(), number.ToString(), cancel)).Kept.Should().BeTrue();
        await Eventually.HoldsAsync(() => Count(service, "SELECT count(*) FROM alarm") == 1
            && Count(service, "SELECT count(*) FROM outbox WHERE state = 'Sent'") == 1, "the alarm and its text are written later",
            details: () => service.Everything);
        Count(service, "SELECT count(*) FROM air WHERE place = 'curing-room' AND temperature_c > 17").Should()
            .BePositive("air of the time of the full disk is written later, too");
        service.Kill();

        var kept = service.Query("SELECT CAST(value AS INTEGER) FROM reading WHERE quantity = 7", row => row.GetInt32(0)).ToHashSet();
        var missing = publisher.Acknowledged.Where(label => !kept.Contains(int.Parse(label))).ToList();
        var held = Enumerable.Range(first, 40_000).Count(kept.Contains);
        output.WriteLine($"{publisher.Acknowledged.Count} acknowledged, {missing.Count} of them missing; {held} of 40000 QoS 0 readings from the time of the full disk were kept afterwards");
        missing.Should().BeEmpty();
        held.Should().Be(40_000, "readings wait in memory until the disk is freed");
        await service.StartAsync();
        gateway.Calls.Should().HaveCount(1, "the text was told and is not told again");
    }

    /// <summary>Publishes until one is refused; a transaction or two may still fit into what the file has already.</summary>
    private static async Task<string> RefusedAsync(Publisher publisher, Func<int> next, CancellationToken cancel)
    {
        string? word = null;
        await Eventually.HoldsAsync(
            async () =>
            {
                await publisher.ConnectAsync(cancel);
                var n = next().ToString();
                var (kept, said) = await publisher.PublishAsync(Scale, n, n, cancel);
                if (!kept) word = said;
                return !kept;
            },
            "a reading is refused");
        return word!;
    }

    private static int Count(RunningService service, string sql) => service.Query(sql, row => row.GetInt32(0)).Single();
}
