using System.Diagnostics;
using System.Globalization;
using System.Text.Json.Nodes;
using RootCellar.SystemTests.Running;

namespace RootCellar.SystemTests.Mirror;

/// <summary>The mirror against Debian's victoria-metrics: what the record has is there, once, whatever falls over in between.</summary>
[Collection(OneAtATime.Name)]
public sealed class MirrorTests(ITestOutputHelper output)
{
    private const string Sensor = "curing-room/door";
    private const string Topic = "rootcellar/curing-room/door";
    private static readonly TimeSpan Patience = TimeSpan.FromSeconds(60);

    [Fact]
    public async Task Everything_kept_arrives_and_sent_again_changes_nothing()
    {
        await using var server = await VictoriaMetrics.StartAsync();
        await using var service = await RunningService.StartAsync([.. Air.NoDelays, ("Keep:BatchSeconds", "0"), .. server.Settings()]);
        await service.AddPlaceAsync(Air.CuringRoom, "Curing room", "curing");
        var dug = DateTimeOffset.UtcNow.AddDays(-2);
        await service.PostAsync("/api/ledger", new object[]
        {
            new { @event = "dug", lot = "Pontiac-1", crop = "potato", at = dug, weightKg = 61.5, note = "wet at the lower end, \"later\"" },
            new { @event = "filled", bin = "B1", lot = "Pontiac-1", at = dug, weightKg = 61.5, place = Air.CuringRoom },
        });
        using var door = new Publisher(service.MqttPort, "door");
        await door.ConnectAsync(TestContext.Current.CancellationToken);
        var begun = DateTimeOffset.UtcNow.AddSeconds(-200);
        for (var i = 0; i < 150; i++)
        {
            var payload = string.Create(CultureInfo.InvariantCulture,
                $"{{\"temperature_c\":{16 + (i % 10 * 0.01):0.00},\"humidity_pct\":90,\"time\":{begun.AddSeconds(i).ToUnixTimeMilliseconds() / 1000.0}}}");
            (await door.PublishAsync(Topic, payload, $"{i}", TestContext.Current.CancellationToken)).Kept.Should().BeTrue();
        }

        (await door.PublishAsync(Topic, Air.TooWarm, "warm", TestContext.Current.CancellationToken)).Kept.Should().BeTrue();
        string[] wanted = ["reading_temperature_c", "reading_humidity_pct", "air_temperature_c", "air_deficit_pa", "bin_kg", "lot_high_kg",
            "alarm_active", "ledger_weight_kg"];
        await Eventually.HoldsAsync(
            async () => wanted.Except((await server.ExportAsync()).Select(s => s.Name), StringComparer.Ordinal).ToList() is { Count: 0 },
            "all measurements are there", Patience, () => service.Everything);
        await CaughtUpAsync(service);

        var before = await server.ExportAsync();
        Readings(before).Should().BeEquivalentTo(Kept(service));
        before.Where(s => s.Name == "ledger_weight_kg").Select(s => s.Value).Should().Equal(61.5, 61.5);
        before.Where(s => s.Name == "bin_kg").Should().OnlyContain(s => s.Labels.Contains("bin=B1") && s.Value > 55 && s.Value <= 61.5);
        before.Where(s => s.Name == "alarm_raised").Select(s => s.Labels).Should().Contain(l => l.Contains("rule=too-warm"));
        var status = await BuiltProgram.RunAsync(Environment(server), ["mirror", "status", "--json", "--data", service.Data]);
        status.Exit.Should().Be(0, status.ToString());
        var told = JsonNode.Parse(status.Out)!;
        ((long)told["behindRows"]!).Should().Be(0);
        ((long)told["dropped"]!).Should().Be(0);

        for (var again = 0; again < 2; again++)
        {
            var backfill = await BuiltProgram.RunAsync(Environment(server), ["mirror", "backfill", "--data", service.Data]);
            backfill.Exit.Should().Be(0, backfill.ToString());
            backfill.Error.Should().Contain("readings: ").And.Contain("ledger: 2 points");
        }

        var after = await server.ExportAsync();
        after.GroupBy(s => (s.Name, s.Labels, s.AtMs)).Where(g => g.Count() > 1).Should().BeEmpty("nothing is there twice");
        foreach (var name in new[] { "reading_temperature_c", "reading_humidity_pct", "ledger_id", "alarm_active" })
            after.Where(s => s.Name == name).Should().BeEquivalentTo(before.Where(s => s.Name == name), name);
        before.Except(after).Should().BeEmpty();
        output.WriteLine($"{before.Count} samples of {before.Select(s => s.Name).Distinct().Count()} figures, {after.Count} with the estimates of past days");
    }

    [Fact]
    public async Task Servers_that_freeze_and_stop_and_a_service_that_is_killed_lose_nothing_and_double_nothing()
    {
        await using var server = await VictoriaMetrics.StartAsync();
        await using var service = await RunningService.StartAsync(
            server.Settings(("Mirror:BatchRows", "50"), ("Mirror:RowsPerSecond", "400")));
        using var ends = CancellationTokenSource.CreateLinkedTokenSource(TestContext.Current.CancellationToken);
        using var scale = new Publisher(service.MqttPort, "scale");
        var load = LoadAsync(scale, ends.Token);
        await Eventually.HoldsAsync(async () => (await server.ExportAsync()).Count > 100, "points arrive", Patience, () =>
            service.Everything);

        await server.FreezeAsync();
        await Task.Delay(TimeSpan.FromSeconds(3), TestContext.Current.CancellationToken);
        await server.ThawAsync();
        for (var kill = 0; kill < 3; kill++)
        {
            await Task.Delay(Random.Shared.Next(300, 1_200), TestContext.Current.CancellationToken);
            service.Kill();
            await service.StartAsync();
        }

        await server.StopAsync();
        await Eventually.HoldsAsync(async () => await service.CountAsync("rootcellar_mirror_ok") == 0, "the trouble is said", Patience,
            () => service.Everything);
        service.Kill();
        await service.StartAsync();
        await server.RunAsync();
        await ends.CancelAsync();
        await load;
        await CaughtUpAsync(service);

        var kept = Kept(service);
        var there = Readings(await server.ExportAsync());
        output.WriteLine($"{scale.Published} published, {scale.Acknowledged.Count} acknowledged, {kept.Count} kept, {there.Count} at the other server");
        var aside = service.Query("SELECT why || ': ' || point FROM mirror_aside", row => row.GetString(0));
        aside.Should().BeEmpty();
        there.Should().OnlyHaveUniqueItems();
        there.Except(kept).Should().BeEmpty();
        kept.Except(there).Should().BeEmpty();
        scale.Acknowledged.Count.Should().BeGreaterThan(500, "otherwise little was tried");
        (await service.CountAsync("rootcellar_mirror_dropped_total")).Should().Be(0);
    }

    [Fact]
    public async Task A_day_that_came_late_arrives_at_the_rate_that_was_set_also_after_a_token_was_refused()
    {
        const int Minutes = 1_440;
        const int Rate = 1_000;
        await using var server = await VictoriaMetrics.StartAsync("-httpAuth.username=somebody", "-httpAuth.password=else");
        await using var service = await RunningService.StartAsync(
            server.Settings(("Mirror:RowsPerSecond", $"{Rate}"), ("Mirror:BatchRows", "200"), ("Mirror:Influx:Token", "no-such-token")));
        using var door = new Publisher(service.MqttPort, "door");
        await door.ConnectAsync(TestContext.Current.CancellationToken);
        (await door.PublishAsync(Topic, """{"temperature_c":13}""", "13", TestContext.Current.CancellationToken)).Kept.Should().BeTrue();
        await Eventually.HoldsAsync(async () => await service.CountAsync("rootcellar_mirror_ok") == 0, "the refusal is said", Patience,
            () => service.Everything);
        service.Everything.Should().Contain("does not know the token (401)").And.NotContain("no-such-token");
        (await BuiltProgram.RunAsync(Environment(server), ["mirror", "status", "--data", service.Data])).Exit.Should().Be(1);
        await service.StopAsync();

        // A sensor that was out of reach for a day brings what it wrote down: all of it earlier than what is waiting.
        using var scratch = new Scratch();
        var day = DateTimeOffset.UtcNow.AddDays(-1);
        await File.WriteAllLinesAsync(
            scratch.File("day.csv"),
            Enumerable.Range(0, Minutes)
                .Select(i => string.Create(CultureInfo.InvariantCulture,
                    $"{Sensor},temperature_c,{day.AddMinutes(i - 30):yyyy-MM-dd'T'HH:mm:ss.fff'Z'},{13 + (i % 50 * 0.01):0.00}"))
                        .Prepend("sensor,quantity,at,value"),
            TestContext.Current.CancellationToken);
        var import = await BuiltProgram.RunAsync("import", "--what", "readings", scratch.File("day.csv"), "--data", service.Data);
        import.Exit.Should().Be(0, import.ToString());
        await server.StopAsync();
        await server.RunAsync();
        var watch = Stopwatch.StartNew();
        await service.StartAsync();
        await Eventually.HoldsAsync(async () => Readings(await server.ExportAsync()).Count == Minutes + 1, "the day is there", Patience,
            () => service.Everything);

        output.WriteLine($"{Minutes + 1} readings in {watch.Elapsed.TotalSeconds:0.0} s");
        watch.Elapsed.Should().BeGreaterThan(TimeSpan.FromSeconds((Minutes - 200) / (double)Rate));
        Readings(await server.ExportAsync()).Should().BeEquivalentTo(Kept(service));
    }

    [Fact]
    public async Task Taking_readings_in_is_no_slower_while_the_mirror_is_down()
    {
        const int Messages = 400;
        await using var server = await VictoriaMetrics.StartAsync();
        var off = await ReceiptsAsync(Messages);
        var up = await ReceiptsAsync(Messages, server.Settings());
        var down = await ReceiptsAsync(Messages, VictoriaMetrics.SettingsFor($"http://127.0.0.1:{Ports.Free()}"));
        await server.FreezeAsync();
        var frozen = await ReceiptsAsync(Messages, server.Settings());
        await server.ThawAsync();
        output.WriteLine($"Publish to receipt, p50 and p99 of {Messages}: without a mirror {off}; with it {up}; its server away {down}; its server frozen {frozen}");
        foreach (var (name, with) in new[] { ("up", up), ("down", down), ("frozen", frozen) })
            with.P99.Should().BeLessThan((3 * off.P99) + 100, $"the mirror's server is {name}");
    }

    private static async Task<(double P50, double P99)> ReceiptsAsync(int messages, params (string, string)[] settings)
    {
        await using var service = await RunningService.StartAsync(settings);
        using var door = new Publisher(service.MqttPort, "door");
        await door.ConnectAsync(TestContext.Current.CancellationToken);
        var times = new List<double>();
        for (var i = 0; i < messages; i++)
        {
            var watch = Stopwatch.StartNew();
            (await door.PublishAsync(Topic, $"{{\"temperature_c\":13.{i % 10}}}", $"{i}",
                TestContext.Current.CancellationToken)).Kept.Should().BeTrue();
            times.Add(watch.Elapsed.TotalMilliseconds);
        }

        if (settings.Length == 0)
            (await File.ReadAllTextAsync($"/proc/{service.Process.Id}/maps", TestContext.Current.CancellationToken)).Should()
                .NotContain("InfluxDB.Client", "without a mirror its libraries stay on the disk");
        times.Sort();
        return (Math.Round(times[messages / 2], 2), Math.Round(times[messages * 99 / 100], 2));
    }

    /// <summary>Some two hundred a second, each with a time of its own, tried until it is acknowledged.</summary>
    private static async Task LoadAsync(Publisher scale, CancellationToken ends)
    {
        try
        {
            long last = 0;
            for (var n = 1; !ends.IsCancellationRequested; n++)
            {
                // Never two in one millisecond, for victoria-metrics keeps one of them.
                last = Math.Max(last + 5, DateTimeOffset.UtcNow.ToUnixTimeMilliseconds());
                var payload = string.Create(CultureInfo.InvariantCulture,
                    $"{{\"weight_kg\":{n / 10.0:0.0},\"time\":{last / 1000.0:0.000}}}");
                do await scale.ConnectAsync(ends);
                while (!(await scale.PublishAsync("rootcellar/bench/scale", payload, $"{n}", ends)).Kept);
                await Task.Delay(3, ends);
            }
        }
        catch (OperationCanceledException)
        {
            // The run is over.
        }
    }

    private static Task CaughtUpAsync(RunningService service) => Eventually.HoldsAsync(
        async () =>
        {
            var status = await service.CountAsync("rootcellar_mirror_behind_rows");
            return status == 0 && await service.CountAsync("rootcellar_mirror_ok") == 1 && Unsent(service) == 0;
        },
        "nothing waits any more",
        Patience,
        () => service.Everything);

    // What the file itself says, for the metric is as old as the last look.
    private static long Unsent(RunningService service) => service.Query(
        "SELECT (SELECT count(*) FROM mirror_log) + (SELECT count(*) FROM sensor s JOIN reading r ON r.sensor = s.id LEFT JOIN mirror_reading m ON m.sensor = r.sensor AND m.quantity = r.quantity WHERE r.at_ms > coalesce(m.at_ms, -1))",
        row => row.GetInt64(0)).Single();

    private static IReadOnlyList<(string, long, double)> Readings(IEnumerable<Sample> samples) =>
        [.. samples.Where(s => s.Name.StartsWith("reading_", StringComparison.Ordinal))
            .Select(s => (s.Name["reading_".Length..], s.AtMs, Digits(s.Value)))];

    private static IReadOnlyList<(string, long, double)> Kept(RunningService service) => service.Query(
        "SELECT CASE quantity WHEN 1 THEN 'temperature_c' WHEN 2 THEN 'humidity_pct' WHEN 7 THEN 'weight_kg' END, at_ms, value FROM reading WHERE value IS NOT NULL",
        row => (row.GetString(0), row.GetInt64(1), Digits(row.GetDouble(2))));

    // victoria-metrics keeps decimal digits, some fourteen of them.
    private static double Digits(double value) => Math.Round(value, 9);

    private static Dictionary<string, string> Environment(VictoriaMetrics server) =>
        server.Settings().ToDictionary(s => $"ROOTCELLAR__{s.Item1.Replace(":", "__", StringComparison.Ordinal)}", s => s.Item2,
            StringComparer.Ordinal);
}
