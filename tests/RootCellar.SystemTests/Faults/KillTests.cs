using System.Diagnostics;
using System.Text.Json.Nodes;
using RootCellar.SystemTests.Running;
using RootCellar.SystemTests.Telling;

namespace RootCellar.SystemTests.Faults;

/// <summary>kill -9 at random points of a publishing run.</summary>
public sealed class KillTests(ITestOutputHelper output)
{
    private const int Rounds = 50;
    private const int Clients = 3;
    private const int InFlight = 4;
    private const string AlarmSensor = "rootcellar/curing-room/door";
    // A start takes three seconds of two cores that other tests work on too; this is to end what hangs.
    private static readonly TimeSpan Bound = TimeSpan.FromMinutes(12);

    [Fact]
    public async Task After_fifty_kills_every_acknowledged_reading_is_there_and_every_due_text_was_sent()
    {
        var seed = int.TryParse(Environment.GetEnvironmentVariable("ROOTCELLAR_TEST_SEED"), out var given) ? given : Random.Shared.Next();
        output.WriteLine($"ROOTCELLAR_TEST_SEED={seed}");
        var random = new Random(seed);
        using var bound = CancellationTokenSource.CreateLinkedTokenSource(TestContext.Current.CancellationToken);
        bound.CancelAfter(Bound);
        await using var gateway = await Gateway.StartAsync();
        // A gateway that takes its time, so that a kill now and then falls between handing over and writing down.
        gateway.Behave = n => n % 3 == 0 ? new Answer(200, Hang: TimeSpan.FromMilliseconds(40)) : Answer.Taken;
        await using var service = await RunningService.StartAsync(
            [.. Air.NoDelays, ("Tell:Post:Url", gateway.Url), ("Tell:Post:TimeoutSeconds", "5")]);
        await service.AddPlaceAsync(Air.CuringRoom, "Curing room", "curing");
        await service.AddContactAsync("post", "+15550142");
        using var alarms = new Publisher(service.MqttPort, "door");
        await alarms.ConnectAsync(bound.Token);
        (await alarms.PublishAsync(AlarmSensor, Air.Right, "right", bound.Token)).Kept.Should().BeTrue();
        await service.StopAsync();

        var next = 0;
        var publishers = Enumerable.Range(0, Clients).Select(i => new Publisher(service.MqttPort, $"load-{i}")).ToList();
        using var runEnds = CancellationTokenSource.CreateLinkedTokenSource(bound.Token);
        var load = publishers.Select((p, i) => LoadAsync(p, i, () => Interlocked.Increment(ref next), runEnds.Token)).ToList();
        var changes = 0;
        var last = "right";
        var watch = Stopwatch.StartNew();
        for (var round = 0; round < Rounds; round++)
        {
            bound.Token.ThrowIfCancellationRequested();
            service.Launch();
            var where = random.Next(8);
            if (where == 0)
            {
                // Into the start itself.
                await Task.Delay(random.Next(50, 900), bound.Token);
                service.Kill();
                continue;
            }

            await service.ReadyAsync();
            if (where == 1)
            {
                // While the clients come back.
                await Task.Delay(random.Next(0, 300), bound.Token);
                service.Kill();
                continue;
            }

            var before = publishers.Sum(p => p.Acknowledged.Count);
            await alarms.ConnectAsync(bound.Token);
            await Eventually.HoldsAsync(() => publishers.Sum(p => p.Acknowledged.Count) > before, "readings are acknowledged",
                details: () => service.Everything);
            var wanted = last == "right" ? "warm" : "right";
            await Task.Delay(random.Next(0, 200), bound.Token);
            var toggle = alarms.PublishAsync(AlarmSensor, wanted == "warm" ? Air.TooWarm : Air.Right, wanted, bound.Token);
            // Half of the kills fall where they fall; the others soon after the receipt, while the text is on its way.
            var anywhere = random.Next(2) == 0;
            if (!anywhere) await toggle;
            await Task.Delay(random.Next(0, anywhere ? 600 : 100), bound.Token);
            service.Kill();
            if ((await toggle).Kept)
            {
                last = wanted;
                changes++;
            }
        }

        var took = watch.Elapsed;
        await service.StartAsync();
        await Eventually.HoldsAsync(() => Unsent(service) == 0, "every text left", TimeSpan.FromSeconds(30), () => service.Everything);
        await runEnds.CancelAsync();
        await Task.WhenAll(load);
        await service.StopAsync();

        var acknowledged = publishers.SelectMany(p => p.Acknowledged).ToHashSet(StringComparer.Ordinal);
        var found = service.Query("SELECT value, count(*) FROM reading WHERE quantity = 7 GROUP BY value", row =>
            (Label: Label(row.GetDouble(0)), Count: row.GetInt32(1)))
            .ToDictionary(r => r.Label, r => r.Count, StringComparer.Ordinal);
        var texts = service.Query("SELECT id, alarm, state FROM outbox", row =>
            (Id: row.GetString(0), Alarm: row.GetString(1), State: row.GetString(2)));
        var raised = service.Query("SELECT id, body FROM alarm", row => (Id: row.GetString(0), Body: JsonNode.Parse(row.GetString(1))!));
        var calls = gateway.Calls.GroupBy(c => c.Key, StringComparer.Ordinal)
            .ToDictionary(g => g.Key, g => g.OrderBy(c => c.At).ToList(), StringComparer.Ordinal);
        var missing = acknowledged.Where(label => !found.ContainsKey(label)).ToList();
        var repeats = calls.Values.Sum(c => c.Count - 1);
        output.WriteLine(
            $"{Rounds} kills in {took.TotalSeconds:0} s: {publishers.Sum(p => p.Published)} published, {acknowledged.Count} acknowledged, {found.Count} found, {missing.Count} missing; "
            + $"{changes} acknowledged changes of the air, {texts.Count} texts due, {calls.Count} delivered, {repeats} of them again, {calls.Values.SelectMany(c => c).Count(c => IsMarked(c))} marked as repeats");

        missing.Should().BeEmpty();
        found.Where(f => IsTimed(f.Key) && f.Value > 1).Should().BeEmpty("a reading with a device time that is sent again falls on itself");
        texts.Count.Should().BeGreaterThanOrEqualTo(changes, "every acknowledged change of the air was told");
        texts.Should().OnlyContain(t => t.State == "Sent");
        texts.Where(t => !calls.ContainsKey(t.Id)).Should().BeEmpty("each due text was delivered");
        calls.Keys.Except(texts.Select(t => t.Id), StringComparer.Ordinal).Should().BeEmpty("nothing was told that is not in the record");
        raised.Should().NotBeEmpty();
        foreach (var (id, body) in raised)
            texts.Count(t => t.Alarm == id && !IsOver(Text(calls, t.Id))).Should()
                .Be((int)body["count"]!, $"{id} was told each time it was raised");
        calls.Values.SelectMany(c => c.Skip(1)).Where(c => !IsMarked(c)).Should().BeEmpty("a text that may be a repeat says so");
        acknowledged.Count.Should().BeGreaterThan(Rounds * 20, "otherwise little was tried");
        changes.Should().BeGreaterThan(Rounds / 4);
        publishers.ForEach(p => p.Dispose());
    }

    /// <summary>Publishes as fast as receipts come, several at a time; what was cut off is sent again when it has a device time.</summary>
    private static async Task LoadAsync(Publisher publisher, int number, Func<int> next, CancellationToken ends)
    {
        try
        {
            await Task.WhenAll(Enumerable.Range(0, InFlight).Select(async _ =>
            {
                while (!ends.IsCancellationRequested)
                {
                    var label = Label(next() / 10.0);
                    var time = IsTimed(label) ? $",\"time\":{DateTimeOffset.UtcNow.ToUnixTimeMilliseconds()}" : "";
                    var kept = false;
                    do
                    {
                        await publisher.ConnectAsync(ends);
                        kept = (await publisher.PublishAsync($"rootcellar/bench/scale-{number}", $"{{\"weight_kg\":{label}{time}}}", label,
                            ends)).Kept;
                    }
                    while (!kept && time.Length > 0);
                }
            }));
        }
        catch (OperationCanceledException)
        {
            // The run is over.
        }
    }

    private static string Label(double kilograms) => kilograms.ToString("0.0");

    private static bool IsTimed(string label) => (label[^1] - '0') % 2 == 0;

    private static bool IsOver(string text) => text.Contains("fine again", StringComparison.Ordinal)
        || text.Contains("no longer", StringComparison.Ordinal);

    private static bool IsMarked(Call call) => call.Text().Contains("(may be a repeat)", StringComparison.Ordinal);

    private static string Text(Dictionary<string, List<Call>> calls, string id) => calls[id][0].Text();

    private static int Unsent(RunningService service) =>
        service.Query("SELECT count(*) FROM outbox WHERE state <> 'Sent'", row => row.GetInt32(0)).Single();
}
