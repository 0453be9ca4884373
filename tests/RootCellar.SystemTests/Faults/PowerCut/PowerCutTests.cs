using System.Net.Http.Json;
using System.Text.Json.Nodes;
using Microsoft.Extensions.Logging.Abstractions;
using RootCellar.Household;
using RootCellar.Storage;
using RootCellar.SystemTests.Running;
using RootCellar.SystemTests.Telling;

namespace RootCellar.SystemTests.Faults.PowerCut;

/// <summary>
/// The power goes at any moment. What the service writes and syncs is recorded while it works; from the record the folder is made as a
/// power cut would have left it, and everything that was promised before the cut is looked for in it.
/// </summary>
[Collection(OneAtATime.Name)]
public sealed class PowerCutTests(ITestOutputHelper output)
{
    private const int Cuts = 200;
    private const int Rooms = 8;
    private const string Scale = "rootcellar/bench/scale/weight_kg";
    private static readonly TimeSpan Bound = TimeSpan.FromSeconds(10);

    // Longer than the bound twice over, so that the timer and no other write must hold it.
    private static readonly TimeSpan Quiet = TimeSpan.FromSeconds(24);

    [Fact]
    public async Task After_two_hundred_power_cuts_everything_that_was_promised_is_there()
    {
        var seed = int.TryParse(Environment.GetEnvironmentVariable("ROOTCELLAR_TEST_SEED"), out var given) ? given : Random.Shared.Next();
        output.WriteLine($"ROOTCELLAR_TEST_SEED={seed}");
        var random = new Random(seed);
        using var scratch = new Scratch();
        await using var gateway = await Gateway.StartAsync();
        (string, string)[] settings = [.. Air.NoDelays, ("Tell:Post:Url", gateway.Url)];
        await using var service = new RunningService(null, settings);
        await SetUpAsync(service);
        var disk = new CutDisk(service.Data);
        var log = scratch.File("writes.log");
        await RecordAsync(service, scratch, log);

        var promises = new Promises(Bound);
        await service.StartAsync();
        await UseAsync(service, promises);
        service.Kill();
        foreach (var call in gateway.Accepted)
            promises.Note("told", call.Key, Promises.Now - (long)(DateTimeOffset.UtcNow - call.At).TotalNanoseconds + 1_000_000);

        var entries = Entry.Read(log);
        ReceiptsWaited(entries, promises);
        // The rest is sums: on a disk in memory, where there is one.
        using var fast = new Scratch(Directory.Exists("/dev/shm") ? "/dev/shm" : null);
        var cuts = WhereToCut(entries, random);
        var (replayed, lost) = (0, 0);
        var restarts = new List<(string Folder, long Cut)>();
        for (var i = 0; i < entries.Count; i++)
        {
            for (; cuts.TryPeek(out var cut) && cut == i; cuts.Dequeue())
            {
                foreach (var loss in Enum.GetValues<Loss>())
                {
                    var folder = fast.File($"cut-{replayed++}");
                    disk.MakeAfterCut(folder, loss, random);
                    lost += await LookAsync(folder, entries[i].At, promises, $"cut before write {i} of {entries.Count}, {loss}");
                    if (loss == Loss.Half && restarts.Count < 2 && replayed > Cuts * (1 + restarts.Count))
                        restarts.Add((folder, entries[i].At));
                    else Directory.Delete(folder, recursive: true);
                }
            }

            disk.Do(entries[i]);
        }

        WhatWasSeenIsAllThereIs(disk, service.Data);
        output.WriteLine($"{replayed} folders after {Cuts} cuts of {entries.Count} writes and syncs; per folder {lost / (double)replayed:0.0} readings were lost that had a receipt younger than {Bound.TotalSeconds:0} s, nothing else");
        foreach (var (folder, cut) in restarts) await StartAfterCutAsync(folder, settings, [.. gateway.Accepted.Select(c => c.Key)]);
    }

    private static async Task SetUpAsync(RunningService service)
    {
        await service.StartAsync();
        await service.AddContactAsync("post", "+15550142");
        using var publisher = new Publisher(service.MqttPort, "set-up");
        await publisher.ConnectAsync(TestContext.Current.CancellationToken);
        for (var i = 0; i < Rooms; i++)
        {
            await service.AddPlaceAsync($"room-{i}", $"Room {i}", "curing");
            (await publisher.PublishAsync($"rootcellar/room-{i}/door", Air.Right, "", TestContext.Current.CancellationToken)).Kept.Should()
                .BeTrue();
        }

        (await publisher.PublishAsync(Scale, "1", "", TestContext.Current.CancellationToken)).Kept.Should().BeTrue();
        await service.StopAsync();
    }

    private static async Task RecordAsync(RunningService service, Scratch scratch, string log)
    {
        Skips.Unless(OperatingSystem.IsLinux(), "Writes are recorded by LD_PRELOAD, which is there on Linux only.");
        var compiler = await Needs.CompilerAsync();
        var recorder = scratch.File("recorder.so");
        var said = await Tool.RunAsync(
            compiler, ["-shared", "-fPIC", "-O2", "-o", recorder, Path.Combine(AppContext.BaseDirectory, "Faults/PowerCut/recorder.c")]);
        said.Exit.Should().Be(0, said.ToString());
        service.SetEnvironment("LD_PRELOAD", recorder);
        service.SetEnvironment("CUT_FOLDER", service.Data);
        service.SetEnvironment("CUT_LOG", log);
    }

    /// <summary>Busy, quiet, busy again; readings come all the while.</summary>
    private static async Task UseAsync(RunningService service, Promises promises)
    {
        using var ends = CancellationTokenSource.CreateLinkedTokenSource(TestContext.Current.CancellationToken);
        var next = 100;
        var readings = Enumerable.Range(0, 2).Select(
            i => PublishAsync(service, $"scale-{i}", () => Interlocked.Increment(ref next), promises, ends.Token)).ToList();
        await WorkAsync(service, promises, 0, Rooms / 2);
        await Task.Delay(Quiet, ends.Token);
        await WorkAsync(service, promises, Rooms / 2, Rooms);
        await ends.CancelAsync();
        await Task.WhenAll(readings);
    }

    private static async Task PublishAsync(RunningService service, string client, Func<int> next, Promises promises, CancellationToken ends)
    {
        using var publisher = new Publisher(service.MqttPort, client);
        try
        {
            await publisher.ConnectAsync(ends);
            while (true)
            {
                var label = next().ToString();
                if ((await publisher.PublishAsync(Scale, label, label, ends)).Kept) promises.Note("reading", label);
                await Task.Delay(30, ends);
            }
        }
        catch (OperationCanceledException)
        {
            // The run is over.
        }
    }

    private static async Task WorkAsync(RunningService service, Promises promises, int from, int to)
    {
        var cancel = TestContext.Current.CancellationToken;
        using var publisher = new Publisher(service.MqttPort, $"rooms-{from}");
        await publisher.ConnectAsync(cancel);
        var api = await service.ApiAsync();
        for (var room = from; room < to; room++)
        {
            var place = $"room-{room}";
            (await publisher.PublishAsync($"rootcellar/{place}/door", Air.TooWarm, "", cancel)).Kept.Should().BeTrue();
            promises.Note("raised", place);
            for (var i = 0; i < 5; i++)
            {
                var answer = await api.PostAsJsonAsync("/api/ledger",
                    new { @event = "dug", lot = $"L{room}-{i}", crop = "potato", weightKg = 20 + i }, cancel);
                answer.IsSuccessStatusCode.Should().BeTrue(await answer.Content.ReadAsStringAsync(cancel));
                promises.Note("entry", JsonNode.Parse(await answer.Content.ReadAsStringAsync(cancel))!["id"]!.ToString());
            }

            var alarm = (await service.GetAsync("/api/alarms")).AsArray().First(a => (string?)a!["place"] == place)!;
            await service.PostAsync($"/api/alarms/{(string)alarm["id"]!}/acknowledge", new { });
            promises.Note("seen", place);
            var named = await api.PatchAsJsonAsync("/api/sensors/bench/scale", new { name = room.ToString() }, cancel);
            named.IsSuccessStatusCode.Should().BeTrue(await named.Content.ReadAsStringAsync(cancel));
            promises.Note("sensor", room.ToString());
            await Task.Delay(500, cancel);
        }
    }

    /// <summary>From each receipt to the next sync of the log that has it.</summary>
    private void ReceiptsWaited(List<Entry> entries, Promises promises)
    {
        var wal = entries.First(e => e.Kind == Done.Created && e.Name.EndsWith("-wal", StringComparison.Ordinal)).File;
        var syncs = entries.Where(e => e.Kind == Done.Synced && e.File == wal).Select(e => e.At).ToList();
        var end = entries[^1].At;
        var waits = promises.At("reading").Where(at => at < end - (long)Bound.TotalNanoseconds)
            .Select(at => (syncs.Find(s => s > at) is > 0 and var sync ? sync - at : end - at) / 1e9).Order().ToList();
        output.WriteLine($"{waits.Count} readings with a receipt: until the disk was asked to confirm them at most {waits[^1]:0.0} s, half of them {waits[waits.Count / 2]:0.0} s; {waits.Count(w => w > Bound.TotalSeconds)} longer than {Bound.TotalSeconds:0} s; {syncs.Count} syncs in all");
        waits[^1].Should().BeLessThan(Bound.TotalSeconds);
        waits.Count.Should().BeGreaterThan(200, "otherwise little was tried");
    }

    /// <summary>Half of them anywhere among the writes, which are most when it is busy, and half anywhere in time.</summary>
    private static Queue<int> WhereToCut(List<Entry> entries, Random random)
    {
        var (begin, end) = (entries[0].At, entries[^1].At);
        var cuts = Enumerable.Range(0, Cuts)
            .Select(i => i % 2 == 0 ? random.Next(1, entries.Count) : Math.Max(
                1, entries.FindIndex(e => e.At >= random.NextInt64(begin, end))));
        return new Queue<int>(cuts.Order());
    }

    /// <summary>Opens what the cut left with the program's own store.</summary>
    private static async Task<int> LookAsync(string folder, long cut, Promises promises, string where)
    {
        await using var store = Store.Open(folder, new KeepOptions(), TimeProvider.System, NullLogger<Store>.Instance);
        store.StartProblem.Should().BeNull(where);
        SetUpCopyIsWhole(folder, where);
        return store.Read(c =>
        {
            using var check = c.CreateCommand();
            check.CommandText = "PRAGMA quick_check(1)";
            check.ExecuteScalar().Should().Be("ok", where);
            promises.Missing(c, cut).Should().BeEmpty(where);
            return promises.Lost(c, cut);
        });
    }

    private static void SetUpCopyIsWhole(string folder, string where)
    {
        var copy = Path.Combine(folder, "setup-copy.json");
        File.Exists(copy).Should().BeTrue(where);
        JsonNode.Parse(File.ReadAllText(copy))!["places"]!.AsArray().Count.Should().Be(Rooms, where);
    }

    /// <summary>What was written past the recorder would make all of this worthless.</summary>
    private static void WhatWasSeenIsAllThereIs(CutDisk disk, string folder)
    {
        var seen = disk.Seen();
        var files = Directory.EnumerateFiles(folder, "*", SearchOption.AllDirectories)
            .Where(f => !f.EndsWith("-shm", StringComparison.Ordinal)).ToList();
        seen.Keys.Should().BeEquivalentTo(files.Select(f => Path.GetRelativePath(folder, f)));
        foreach (var file in files)
            seen[Path.GetRelativePath(folder, file)].AsSpan().SequenceEqual(File.ReadAllBytes(file)).Should()
                .BeTrue($"the log has all of {file}");
    }

    /// <summary>The built service on what a cut left: it starts, and what may have been told already says so.</summary>
    private static async Task StartAfterCutAsync(string folder, (string Key, string Value)[] settings, HashSet<string> told)
    {
        await using var gateway = await Gateway.StartAsync();
        await using var service = new RunningService(
            folder, [.. settings.Where(s => s.Key != "Tell:Post:Url"), ("Tell:Post:Url", gateway.Url)]);
        var sent = service.Query("SELECT id FROM outbox WHERE state = 'Sent'", row => row.GetString(0));
        var sending = service.Query("SELECT id FROM outbox WHERE state = 'Sending'", row => row.GetString(0));
        await service.StartAsync();
        await Eventually.HoldsAsync(() => sending.All(id => gateway.Accepted.Any(c => c.Key == id)), "what was under way is told",
            details: () => service.Everything);
        await service.StopAsync();
        gateway.Calls.Select(c => c.Key).Should().NotIntersectWith(sent, "what was told is not told again");
        gateway.Calls.Where(c => sending.Contains(c.Key) && told.Contains(c.Key)).Should()
            .OnlyContain(c => c.Text().Contains("(may be a repeat)", StringComparison.Ordinal));
    }
}
