using System.Security.Cryptography;
using Microsoft.Data.Sqlite;
using MQTTnet.Formatter;
using RootCellar.SystemTests.Running;
using RootCellar.SystemTests.Telling;

namespace RootCellar.SystemTests.Faults;

/// <summary>A record that cannot be used at start: it is said, it is left alone, and the watch goes on.</summary>
public sealed class StoreFaultTests
{
    private const string Door = $"rootcellar/{Air.CuringRoom}/door";

    [Theory]
    [InlineData("the whole file")]
    [InlineData("all but its first page")]
    [InlineData("place")]
    [InlineData("reading")]
    [InlineData("alarm")]
    [InlineData("outbox")]
    public async Task With_a_damaged_record_alarms_are_judged_and_sent_and_the_file_is_left_alone(string where)
    {
        await using var gateway = await Gateway.StartAsync();
        await using var service = await SetUpAsync(gateway);
        await service.StopAsync();
        Damage(service, where);
        var before = Hash(service.RecordPath);

        await service.StartAsync();

        var (status, text) = await service.ReadinessAsync();
        status.Should().Be(503);
        text.Should().Contain("\"record\":\"unhealthy\"");
        service.Process.Output.Should()
            .Contain(l => l.Contains("is damaged", StringComparison.Ordinal) && l.Contains("restore", StringComparison.Ordinal));
        await TellsAsync(service, gateway);
        await service.StopAsync();
        Hash(service.RecordPath).Should().Equal(before);
    }

    [Fact]
    public async Task With_a_damaged_record_nothing_is_acknowledged_as_kept_and_an_mqtt_5_sensor_goes_on_being_watched()
    {
        var cancel = TestContext.Current.CancellationToken;
        await using var gateway = await Gateway.StartAsync();
        await using var service = await SetUpAsync(gateway);
        await service.StopAsync();
        Damage(service, "the whole file");
        await service.StartAsync();
        using var sensor = new Publisher(service.MqttPort, "door");
        using var older = new Publisher(service.MqttPort, "door-311", MqttProtocolVersion.V311);
        await sensor.ConnectAsync(cancel);
        await older.ConnectAsync(cancel);

        var (kept, word) = await sensor.PublishAsync(Door, Air.Right, "", cancel);
        kept.Should().BeFalse("it is in memory only");
        word.Should().StartWith("ImplementationSpecificError").And.Contain("is damaged");
        (await sensor.PublishAsync(Door, Air.TooWarm, "", cancel)).Kept.Should().BeFalse();
        sensor.IsConnected.Should().BeTrue("it is told, and not held up");
        await Eventually.HoldsAsync(() => gateway.Accepted.Count == 1, "what it says is judged all the same", details: () =>
            service.Everything);

        (await older.PublishAsync(Door, Air.Right, "", cancel)).Kept.Should()
            .BeFalse("an older protocol knows no other word than to be cut off");
        older.IsConnected.Should().BeFalse();
        sensor.Acknowledged.Should().BeEmpty();
    }

    [Fact]
    public async Task With_a_read_only_record_alarms_are_judged_and_sent()
    {
        Skips.Unless(Environment.UserName == "root" && Tool.Find("chattr") is not null,
            "A file that root may not write is made by root with chattr.");
        await using var gateway = await Gateway.StartAsync();
        await using var service = await SetUpAsync(gateway);
        await service.StopAsync();
        var before = Hash(service.RecordPath);
        var locked = await Tool.RunAsync("chattr", ["+i", service.RecordPath]);
        Skips.Unless(locked.Exit == 0, $"chattr does not work on this file system: {locked.Error.Trim()}");
        try
        {
            await service.StartAsync();

            var (status, text) = await service.ReadinessAsync();
            status.Should().Be(503);
            text.Should().Contain("\"record\":\"unhealthy\"");
            service.Everything.Should().Contain("is read-only").And.Contain("writable");
            await TellsAsync(service, gateway);
            await service.StopAsync();
        }
        finally
        {
            await Tool.RunAsync("chattr", ["-i", service.RecordPath]);
        }

        Hash(service.RecordPath).Should().Equal(before);
    }

    [Fact]
    public async Task In_a_read_only_folder_alarms_are_judged_and_sent()
    {
        await using var disk = await RamDisk.MountAsync(16);
        await using var gateway = await Gateway.StartAsync();
        await using var service = await SetUpAsync(gateway, disk.Path);
        await service.StopAsync();
        await disk.RemountAsync("ro");

        await service.StartAsync();

        var (status, text) = await service.ReadinessAsync();
        status.Should().Be(503);
        text.Should().Contain("\"record\":\"unhealthy\"");
        service.Everything.Should().MatchRegex("read-only|cannot be opened");
        await TellsAsync(service, gateway);
        await service.StopAsync();
    }

    [Fact]
    public async Task A_newer_record_is_refused_and_not_changed()
    {
        await using var service = await RunningService.StartAsync();
        await service.StopAsync();
        using (var connection = new SqliteConnection(
            new SqliteConnectionStringBuilder { DataSource = service.RecordPath, Pooling = false }.ToString()))
        {
            await connection.OpenAsync(TestContext.Current.CancellationToken);
            using var command = connection.CreateCommand();
            command.CommandText = "PRAGMA user_version=9999";
            command.ExecuteNonQuery();
        }

        var before = Hash(service.RecordPath);

        service.Launch();
        var exit = await service.Process.EndAsync(RunningService.StartWithin);
        var token = await BuiltProgram.RunAsync("token", "list", "--data", service.Data);

        exit.Should().Be(2);
        service.Process.Error.Should().ContainSingle(
            l => l.Contains("written by a newer rootcellar (schema 9999", StringComparison.Ordinal));
        service.Everything.Should().NotContain("   at ");
        token.Exit.Should().Be(2, token.ToString());
        Hash(service.RecordPath).Should().Equal(before);
    }

    [Fact]
    public async Task What_came_at_qos_0_just_before_a_stop_is_in_the_file()
    {
        await using var service = await RunningService.StartAsync(("Keep:BatchSeconds", "10"));
        using var publisher = new Publisher(service.MqttPort, "scale");
        var cancel = TestContext.Current.CancellationToken;
        await publisher.ConnectAsync(cancel);
        for (var i = 1; i <= 500; i++) await publisher.PublishAsync("rootcellar/bench/scale/weight_kg", i.ToString(), "", cancel, qos: 0);
        await Eventually.HoldsAsync(async () => await service.CountAsync("rootcellar_readings_total") >= 500, "they are taken");

        await service.StopAsync();

        service.Query("SELECT value FROM reading WHERE quantity = 7 ORDER BY value", row => row.GetDouble(0)).Should()
            .Equal(Enumerable.Range(1, 500).Select(i => (double)i));
    }

    [Fact]
    public async Task A_backup_of_the_running_service_comes_back_after_it_is_stopped()
    {
        await using var service = await RunningService.StartAsync(("Keep:BatchSeconds", "1"));
        using var publisher = new Publisher(service.MqttPort, "scale");
        var cancel = TestContext.Current.CancellationToken;
        await publisher.ConnectAsync(cancel);
        for (var i = 1; i <= 50; i++) await publisher.PublishAsync("rootcellar/bench/scale/weight_kg", i.ToString(), $"{i}", cancel);
        var copy = Path.Combine(service.Data, "copy.db");
        var kept = await BuiltProgram.RunAsync("backup", copy, "--data", service.Data);
        kept.Exit.Should().Be(0, kept.ToString());
        for (var i = 51; i <= 60; i++) await publisher.PublishAsync("rootcellar/bench/scale/weight_kg", i.ToString(), $"{i}", cancel);

        var early = await BuiltProgram.RunAsync("restore", copy, "--data", service.Data);
        early.Exit.Should().Be(2, early.ToString());
        early.Error.Should().Contain("Stop the service first");
        (await service.ReadinessAsync()).Status.Should().Be(200);
        await service.StopAsync();
        service.Query("SELECT count(*) FROM reading WHERE quantity = 7", row => row.GetInt64(0)).Should().Equal(60);

        var back = await BuiltProgram.RunAsync("restore", copy, "--data", service.Data);
        back.Exit.Should().Be(0, back.ToString());
        await service.StartAsync();
        (await service.ReadinessAsync()).Status.Should().Be(200);
        await service.StopAsync();
        service.Query("SELECT count(*) FROM reading WHERE quantity = 7", row => row.GetInt64(0)).Should().Equal(50);
        Directory.GetFiles(service.Data, "rootcellar.db.2*").Should().ContainSingle("the record that was there is kept");
    }

    private static async Task<RunningService> SetUpAsync(Gateway gateway, string? data = null)
    {
        var service = new RunningService(data, [.. Air.NoDelays, ("Tell:Post:Url", gateway.Url)]);
        await service.StartAsync();
        await service.AddPlaceAsync(Air.CuringRoom, "Curing room", "curing");
        await service.AddContactAsync("post", "+15550142");
        await service.CoolDownAsync();
        await Eventually.HoldsAsync(() => SetUpIsCopied(service), "the set-up is copied", details: () => service.Everything);
        return service;
    }

    private static bool SetUpIsCopied(RunningService service)
    {
        var copy = Path.Combine(service.Data, "setup-copy.json");
        return File.Exists(copy) && File.ReadAllText(copy) is var text && text.Contains("+15550142", StringComparison.Ordinal)
            && text.Contains(Air.CuringRoom + "/door", StringComparison.Ordinal);
    }

    // At QoS 0: without a record there is no receipt, and mosquitto_pub waits for one. Each message comes by a client of its own, and one
    // may overtake the other, so it is said again until it is heard, as a sensor does; the end may then be told before it is waited for.
    private static async Task TellsAsync(RunningService service, Gateway gateway)
    {
        await MosquittoClients.PublishAsync(service.MqttPort, Door, Air.Right);
        await SayUntilAsync(Air.TooWarm, 1, "the text is told without the record");
        gateway.Accepted[0].Text().Should().MatchRegex(TextRules.TooWarm);
        await SayUntilAsync(Air.Right, 2, "the end is told too");

        async Task SayUntilAsync(string air, int texts, string what)
        {
            for (var time = 0; time < 10 && gateway.Accepted.Count < texts; time++)
            {
                await MosquittoClients.PublishAsync(service.MqttPort, Door, air);
                await Task.Delay(TimeSpan.FromSeconds(1));
            }

            await Eventually.HoldsAsync(() => gateway.Accepted.Count >= texts, what, details: () =>
                string.Join('\n', gateway.Calls.Select(c => c.Text())) + service.Everything);
        }
    }

    /// <summary>Writes garbage over the whole file, over all but its first page, or over the one page where a table begins.</summary>
    private static void Damage(RunningService service, string where)
    {
        const int Page = 4096;
        var root = where.Contains(' ', StringComparison.Ordinal)
            ? 0 : service.Query($"SELECT rootpage FROM sqlite_schema WHERE name = '{where}'", row => row.GetInt32(0)).Single();
        using var file = File.OpenWrite(service.RecordPath);
        var from = where == "the whole file" ? 0 : root == 0 ? Page : (root - 1) * Page;
        var garbage = new byte[root == 0 ? file.Length - from : Page];
        new Random(1).NextBytes(garbage);
        file.Position = from;
        file.Write(garbage);
    }

    private static byte[] Hash(string path) => SHA256.HashData(File.ReadAllBytes(path));
}
