using System.Diagnostics;
using System.Net;
using System.Text.RegularExpressions;
using Microsoft.Data.Sqlite;
using MQTTnet;
using MQTTnet.Protocol;
using RootCellar.SystemTests.Running;
using RootCellar.SystemTests.Telling;

namespace RootCellar.SystemTests.Faults;

/// <summary>Somebody invents sensors by the ten thousand. The heap is as small as in a service that may use 300 MB.</summary>
[Collection(OneAtATime.Name)]
public sealed partial class InventedSensorsTests(ITestOutputHelper output)
{
    // 225 MiB.
    private const string HeapLimit = "0xE100000";
    private const int Topics = 50_000;
    private const string Door = $"rootcellar/{Air.CuringRoom}/door";

    private static readonly TimeSpan Prompt = TimeSpan.FromSeconds(5);

    [Fact]
    public async Task Fifty_thousand_invented_topics_leave_memory_flat_and_honest_sensors_on_time_and_are_one_line_on_the_page()
    {
        var cancel = TestContext.Current.CancellationToken;
        await using var gateway = await Gateway.StartAsync();
        await using var service = new RunningService(null, [.. Air.NoDelays, ("Tell:Post:Url", gateway.Url)]);
        service.SetEnvironment("DOTNET_GCHeapHardLimit", HeapLimit);
        await service.StartAsync();
        await service.AddPlaceAsync(Air.CuringRoom, "Curing room", "curing");
        await service.AddContactAsync("post", "+15550142");
        using var honest = new Publisher(service.MqttPort, "door");
        await honest.ConnectAsync(cancel);
        (await honest.PublishAsync(Door, Air.Right, "", cancel)).Kept.Should().BeTrue();
        await FloodAsync(service.MqttPort, 0, 5_000, cancel);
        var before = await service.CountAsync("rootcellar_resident_bytes");

        var watch = Stopwatch.StartNew();
        var flood = Task.WhenAll(FloodAsync(service.MqttPort, 5_000, 27_500, cancel), FloodAsync(service.MqttPort, 27_500, Topics, cancel));
        var slowest = TimeSpan.Zero;
        var heard = 0;
        while (!flood.IsCompleted || heard < 10)
        {
            var sent = Stopwatch.GetTimestamp();
            (await honest.PublishAsync(Door, heard == 3 ? Air.TooWarm : Air.Right, "", cancel)).Kept.Should()
                .BeTrue("a known sensor is never turned away");
            var took = Stopwatch.GetElapsedTime(sent);
            if (took > slowest) slowest = took;
            heard++;
            await Task.Delay(50, cancel);
        }

        await flood;
        var flooded = watch.Elapsed;
        await Eventually.HoldsAsync(() => gateway.Accepted.Count >= 1, "the text is told", details: () => service.Everything);
        (await service.CountAsync("rootcellar_messages_total")).Should().Be(Topics + heard + 1, "all is taken");
        var after = await service.CountAsync("rootcellar_resident_bytes");
        output.WriteLine(
            $"{Topics} invented topics in {flooded.TotalSeconds:0.0} s; resident {before / 1e6:0} -> {after / 1e6:0} MB; "
            + $"{heard} honest readings meanwhile, the slowest receipt after {slowest.TotalMilliseconds:0} ms");

        gateway.Accepted[0].Text().Should().StartWith("CURING ROOM 3F too warm (68F)");
        slowest.Should().BeLessThan(Prompt);
        (after - before).Should()
            .BeLessThan(80e6, "what grows is the room for garbage; the rows and states of 50,000 sensors would be 350 MB");
        // The door came by the name of its place and no person put it there, so it is one of the hundred.
        (await service.CountAsync("rootcellar_sensors_known")).Should().Be(100);
        (await service.CountAsync("rootcellar_sensors_refused_total{limit=\"client\"}")).Should().Be(Topics - 99);
        service.Query("SELECT count(*) FROM sensor", row => row.GetInt32(0)).Should().Equal(100);
        service.Everything.Split('\n').Count(l => l.Contains("turned away", StringComparison.Ordinal)).Should()
            .Be(1, "the log is no flood either");
        (await service.ReadinessAsync()).Status.Should().Be(200);
        var page = await SensorsPageAsync(service, cancel);
        page.Split("turned away").Should().HaveCount(2, "one line");
        page.Should().Contain("49,901 messages from new sensors turned away since");
        page.Length.Should().BeLessThan(120_000, "twenty of them are shown, and how many more wait");

        await service.StopAsync();
        await service.StartAsync();
        (await service.CountAsync("rootcellar_sensors_known")).Should().Be(100);
    }

    [Fact]
    public async Task A_start_survives_the_rows_of_an_earlier_flood_and_cleans_them_up()
    {
        await using var service = new RunningService();
        service.SetEnvironment("DOTNET_GCHeapHardLimit", HeapLimit);
        await service.StartAsync();
        await service.AddPlaceAsync(Air.CuringRoom, "Curing room", "curing");
        await MosquittoClients.PublishAsync(service.MqttPort, Door, Air.Right, "-q", "1");
        await service.StopAsync();
        InventRows(service.RecordPath, 32_600);
        service.Query("SELECT count(*) FROM sensor", row => row.GetInt32(0)).Should().Equal(32_601);

        var watch = Stopwatch.StartNew();
        await service.StartAsync();

        output.WriteLine($"Ready after {watch.Elapsed.TotalSeconds:0.0} s, resident {await service.CountAsync("rootcellar_resident_bytes") / 1e6:0} MB");
        (await service.CountAsync("rootcellar_sensors_known")).Should().Be(1_000);
        (await service.FindSensorAsync($"{Air.CuringRoom}/door")).Should().NotBeNull();
        await Eventually.HoldsAsync(
            () => service.Query("SELECT (SELECT count(*) FROM sensor), (SELECT count(*) FROM sensor_leaving), (SELECT count(DISTINCT sensor) FROM reading)",
                row => (row.GetInt32(0), row.GetInt32(1), row.GetInt32(2))).Single() == (1_000, 0, 1_000),
            "what was too much is gone, with its readings",
            TimeSpan.FromSeconds(60),
            () => service.Everything);
    }

    private static async Task FloodAsync(int port, int from, int to, CancellationToken cancel)
    {
        using var client = new MqttClientFactory().CreateMqttClient();
        await client.ConnectAsync(new MqttClientOptionsBuilder().WithTcpServer("127.0.0.1", port).WithClientId($"invents-{from}").Build(),
            cancel);
        for (var i = from; i < to; i++)
        {
            var message = new MqttApplicationMessageBuilder().WithTopic($"rootcellar/invented-{i % 977}/s{i}")
                .WithPayload("""{"temperature_c":5,"humidity_pct":90}""")
                // With the last one's receipt all before it have been taken, for the broker takes a connection's messages in order.
                .WithQualityOfServiceLevel(i == to - 1 ? MqttQualityOfServiceLevel.AtLeastOnce : MqttQualityOfServiceLevel.AtMostOnce)
                    .Build();
            await client.PublishAsync(message, cancel);
        }

        await client.DisconnectAsync(cancellationToken: cancel);
    }

    /// <summary>What version before the limits left behind: a row and a reading for each invented topic.</summary>
    private static void InventRows(string record, int count)
    {
        using var connection = new SqliteConnection(new SqliteConnectionStringBuilder { DataSource = record, Pooling = false }.ToString());
        connection.Open();
        using var command = connection.CreateCommand();
        command.CommandText =
            """
            WITH RECURSIVE n(i) AS (SELECT 1 UNION ALL SELECT i + 1 FROM n WHERE i < $count)
            INSERT INTO sensor (id, key, named_place, first_ms) SELECT 1000 + i, 'invented/s' || i, 'invented', $at FROM n;
            INSERT INTO reading (sensor, quantity, at_ms, seq, value, arrived_ms, time_source, quality)
            SELECT id, 1, $at, -id, 5, $at, 0, 0 FROM sensor WHERE id > 1000;
            """;
        command.Parameters.AddWithValue("$count", count);
        command.Parameters.AddWithValue("$at", TimeProvider.System.GetUtcNow().AddHours(-1).ToUnixTimeMilliseconds());
        command.ExecuteNonQuery();
    }

    private static async Task<string> SensorsPageAsync(RunningService service, CancellationToken cancel)
    {
        using var client = new HttpClient { BaseAddress = new Uri($"http://127.0.0.1:{service.HttpPort}") };
        var form = await client.GetStringAsync(new Uri("/sign-in", UriKind.Relative), cancel);
        var passphrase = service.Process.Output.Single(l => l.StartsWith("The household passphrase", StringComparison.Ordinal))
            .Split(": ")[1];
        using var fields = new FormUrlEncodedContent(
        [
            new("passphrase", passphrase), new("who", "Nell"), new("__RequestVerificationToken", Token().Match(form).Groups["value"].Value),
        ]);
        using var signedIn = await client.PostAsync(new Uri("/sign-in", UriKind.Relative), fields, cancel);
        signedIn.StatusCode.Should().Be(HttpStatusCode.OK);
        return await client.GetStringAsync(new Uri("/sensors", UriKind.Relative), cancel);
    }

    [GeneratedRegex("__RequestVerificationToken\"[^>]*value=\"(?<value>[^\"]+)\"", RegexOptions.ExplicitCapture, 5000)]
    private static partial Regex Token();
}
