using System.Diagnostics;
using System.Globalization;
using System.Text;
using RootCellar.SystemTests.Running;

namespace RootCellar.SystemTests.Intake;

/// <summary>One service, open as before set-up is finished, for all who want to fill it.</summary>
public sealed class OpenHouse : IAsyncLifetime
{
    public RunningService Service { get; } = new();

    public async ValueTask InitializeAsync()
    {
        await Service.StartAsync();
        await Service.AddPlaceAsync("cellar", "Cellar", "storage");
    }

    public ValueTask DisposeAsync() => Service.DisposeAsync();
}

/// <summary>
/// Attacks on the built-in broker of the built program: each ends with memory as flat as it began, is one line on the Sensors page, and
/// keeps no honest sensor out. Figures are in docs/security.md.
/// </summary>
[Collection(OneAtATime.Name)]
public sealed class BrokerFloodTests(OpenHouse house, ITestOutputHelper output) : IClassFixture<OpenHouse>
{
    private const int Flat = 64;

    private readonly RunningService service = house.Service;

    [Fact]
    public async Task A_publish_of_200_MB_is_refused_by_its_first_bytes()
    {
        var before = Resident();
        using var attacker = await BareMqtt.OpenAsync(service.MqttPort);
        (await attacker.ConnectAsync("heavy")).Should().Be(0);
        await attacker.SendAsync((byte[])[0x30, .. BareMqtt.Length(200_000_000), .. BareMqtt.Text("rootcellar/cellar/heavy")]);

        var taken = await attacker.SendUntilClosedAsync(new byte[65_536], 64_000_000);

        output.WriteLine($"200 MB publish: closed after {taken / 1024} kB; resident {before} -> {Resident()} MB");
        (await RefusedAsync("packet")).Should().BeGreaterThan(0);
        Resident().Should().BeLessThan(before + Flat);
        await AnHonestSensorComesThroughAsync("after-heavy");
    }

    [Fact]
    public async Task Readers_that_do_not_read_cost_nothing_and_nobody_reads_everything()
    {
        var before = Resident();
        var readers = new List<BareMqtt>();
        for (var i = 0; i < 5; i++)
        {
            var reader = await BareMqtt.OpenAsync(service.MqttPort, receiveBuffer: 4_096);
            readers.Add(reader);
            (await reader.ConnectAsync($"reader-{i}")).Should().Be(0);
            await reader.SubscribeAsync("#");
            var answer = new byte[5];
            (await reader.ReceiveAsync(answer)).Should().Be(5);
            answer[4].Should().Be(0x80, "# is refused");
            await reader.SubscribeAsync("rootcellar/out/#");
        }

        await FloodAsync(4, 5_000,
            (who, i) => ($"rootcellar/cellar/flood-{who}",
                Encoding.ASCII.GetBytes($"{{\"temperature_c\":5,\"pad\":\"{new string('x', 8_000)}\"}}")), retain: false);

        output.WriteLine($"five readers that do not read, 160 MB published: resident {before} -> {Resident()} MB");
        Resident().Should().BeLessThan(before + Flat);
        readers.ForEach(r => r.Dispose());
        await AnHonestSensorComesThroughAsync("after-readers");
    }

    [Fact]
    public async Task Who_asks_and_does_not_fetch_the_answers_is_cut_off()
    {
        var before = Resident();
        using var attacker = await BareMqtt.OpenAsync(service.MqttPort, receiveBuffer: 4_096);
        (await attacker.ConnectAsync("deaf")).Should().Be(0);
        var pings = Enumerable.Range(0, 8_192).SelectMany(_ => new byte[] { 0xC0, 0 }).ToArray();

        var taken = await attacker.SendUntilClosedAsync(pings, 64_000_000);

        output.WriteLine($"PINGREQ without end: closed after {taken / 1024} kB; resident {before} -> {Resident()} MB");
        (await RefusedAsync("pending")).Should().BeGreaterThan(0);
        Resident().Should().BeLessThan(before + Flat);
    }

    [Fact]
    public async Task Topic_aliases_which_are_not_offered_are_not_collected()
    {
        using var attacker = await BareMqtt.OpenAsync(service.MqttPort);
        (await attacker.ConnectAsync("aliases", version: 5)).Should().Be(0);
        // PUBLISH of MQTT 5 with the property Topic Alias (0x23): 1.
        await attacker.SendAsync(BareMqtt.Packet(0x30, [.. BareMqtt.Text("rootcellar/cellar/alias"), 3, 0x23, 0, 1, .. "5"u8]));
        (await attacker.IsClosedWithinAsync(TimeSpan.FromSeconds(20))).Should().BeTrue();
    }

    [Fact]
    public async Task A_flood_of_retained_messages_is_not_kept()
    {
        var before = Resident();
        await FloodAsync(4, 5_000, (who, i) => ($"elsewhere/{who}/{i}", new byte[4_000]), retain: true);
        var kept = await service.GetAsync("/api/broker");

        output.WriteLine($"20,000 retained messages, 80 MB: resident {before} -> {Resident()} MB, kept {kept["retainedMessages"]} messages, {kept["retainedBytes"]} bytes");
        kept["retainedMessages"]!.GetValue<int>().Should().BeLessThan(20);
        Resident().Should().BeLessThan(before + Flat);
        (await MosquittoClients.RetainedAsync(service.MqttPort, "rootcellar/out/status")).Should()
            .Be("online", "what the service says is kept");
    }

    [Fact]
    public async Task One_address_has_only_so_many_connections()
    {
        var before = Resident();
        var all = new List<BareMqtt>();
        var letIn = 0;
        for (var i = 0; i < 200; i++)
        {
            var one = await BareMqtt.OpenAsync(service.MqttPort);
            all.Add(one);
            if (await one.ConnectAsync($"many-{i}") == 0) letIn++;
        }

        output.WriteLine($"200 connections from one address: {letIn} let in; resident {before} -> {Resident()} MB");
        letIn.Should().BeInRange(40, 50);
        (await RefusedAsync("connections-of-address")).Should().BeGreaterThanOrEqualTo(150);
        Resident().Should().BeLessThan(before + Flat);
        all.ForEach(c => c.Dispose());
        await AnHonestSensorComesThroughAsync("after-many");
        (await service.GetAsync("/api/broker"))["clients"]!.GetValue<int>().Should().BeLessThan(50, "those that went are not counted");
    }

    [Fact]
    public async Task Guessing_is_slow_for_who_guesses_and_not_for_who_knows()
    {
        var password = service.Query("SELECT value FROM meta WHERE key = 'sensor_password'", row => row.GetString(0)).Single();
        var logged = service.Process.Error.Sum(l => l.Length);
        using var time = new CancellationTokenSource(TimeSpan.FromSeconds(10));
        var (tries, looked, busy) = (0, 0, 0);
        var watch = Stopwatch.StartNew();
        var guessing = Enumerable.Range(0, 24).Select(who => Task.Run(async () =>
        {
            while (!time.IsCancellationRequested)
            {
                using var guesser = await BareMqtt.OpenAsync(service.MqttPort);
                Interlocked.Increment(ref tries);
                try
                {
                    var answer = await guesser.ConnectAsync($"guesser-{who}", $"guess-{tries}");
                    if (answer == 5 || answer == 4) Interlocked.Increment(ref looked);
                    else if (answer == 3) Interlocked.Increment(ref busy);
                }
                catch (OperationCanceledException)
                {
                    // It waits for its answer still.
                }
            }
        })).ToList();
        await Eventually.HoldsAsync(() => Volatile.Read(ref busy) > 50, "the guesses are more than are looked at");

        for (var i = 0; i < 20; i++)
        {
            using var sensor = await BareMqtt.OpenAsync(service.MqttPort);
            (await sensor.ConnectAsync($"knows-{i}", password)).Should().Be(0, "from the same address, in the middle of it");
        }

        await Task.WhenAll(guessing);
        var seconds = watch.Elapsed.TotalSeconds;
        logged = service.Process.Error.Sum(l => l.Length) - logged;
        output.WriteLine(string.Create(CultureInfo.InvariantCulture,
            $"{tries} guesses in {seconds:0} s: {looked} answered, {busy} told to come later; {logged} bytes of log"));
        looked.Should().BeLessThan((int)(10 + 10 + (seconds / 2) + 5), "ten at once, then one in two seconds");
        busy.Should().BeGreaterThan(500);
        logged.Should().BeLessThan(4_000);
        (await RefusedAsync("password")).Should().BeGreaterThan(500);
    }

    private async Task FloodAsync(int connections, int each, Func<int, int, (string Topic, byte[] Payload)> message, bool retain)
    {
        var round = Guid.NewGuid().ToString("N")[..6];
        await Task.WhenAll(Enumerable.Range(0, connections).Select(who => Task.Run(async () =>
        {
            using var flood = await BareMqtt.OpenAsync(service.MqttPort);
            (await flood.ConnectAsync($"flood-{round}-{who}")).Should().Be(0);
            for (var i = 0; i < each; i++)
            {
                var (topic, payload) = message(who, i);
                await flood.PublishAsync(topic, payload, retain);
            }

            // Its answer comes after all that went before was taken.
            await flood.SendAsync((byte[])[0xC0, 0]);
            (await flood.ReceiveAsync(new byte[2])).Should().Be(2);
        })));
    }

    private async Task AnHonestSensorComesThroughAsync(string sensor)
    {
        await MosquittoClients.PublishAsync(service.MqttPort, $"rootcellar/cellar/{sensor}/temperature_c", "5.25", "-q", "1");
        ((double)(await service.LastAsync($"cellar/{sensor}", "temperature"))["value"]!).Should().Be(5.25);
    }

    private async Task<long> RefusedAsync(string reason) =>
        (await service.GetAsync("/api/broker"))["refused"]!.AsArray()
            .SingleOrDefault(r => (string?)r!["reason"] == reason)?["count"]!.GetValue<long>() ?? 0;

    /// <summary>Resident memory of the service, MB.</summary>
    private int Resident() => int.Parse(
        File.ReadLines($"/proc/{service.Process.Id}/status").First(l => l.StartsWith("VmRSS:", StringComparison.Ordinal))
            .Split(' ', StringSplitOptions.RemoveEmptyEntries)[1], CultureInfo.InvariantCulture) / 1024;
}
