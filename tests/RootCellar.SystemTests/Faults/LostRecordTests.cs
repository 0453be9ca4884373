using System.Security.Cryptography;
using RootCellar.SystemTests.Running;
using RootCellar.SystemTests.Telling;

namespace RootCellar.SystemTests.Faults;

/// <summary>What a service leaves whose power is cut before the log was folded into the record: all of it is in the log.</summary>
public sealed class LeftFolder : IAsyncLifetime
{
    private readonly Scratch scratch = new();

    public string Path => scratch.File("left");

    public string Backup => scratch.File("backup.db");

    public async ValueTask InitializeAsync()
    {
        await using var gateway = await Gateway.StartAsync();
        await using var service = await RunningService.StartAsync([.. Air.NoDelays, ("Tell:Post:Url", gateway.Url)]);
        await service.AddPlaceAsync(Air.CuringRoom, "Curing room", "curing");
        await service.AddContactAsync("post", "+15550142");
        await service.CoolDownAsync();
        var copy = System.IO.Path.Combine(service.Data, "setup-copy.json");
        await Eventually.HoldsAsync(
            () => File.Exists(copy) && File.ReadAllText(copy) is var text && text.Contains("+15550142", StringComparison.Ordinal)
                && text.Contains(Air.CuringRoom + "/door", StringComparison.Ordinal),
            "the set-up is copied",
            details: () => service.Everything);
        (await BuiltProgram.RunAsync("backup", Backup, "--data", service.Data)).Exit.Should().Be(0);
        service.Kill();
        Directory.CreateDirectory(Path);
        foreach (var file in Directory.GetFiles(service.Data))
            File.Copy(file, System.IO.Path.Combine(Path, System.IO.Path.GetFileName(file)));
        Directory.CreateDirectory(System.IO.Path.Combine(Path, "keys"));
        foreach (var file in Directory.GetFiles(System.IO.Path.Combine(service.Data, "keys")))
            File.Copy(file, System.IO.Path.Combine(Path, "keys", System.IO.Path.GetFileName(file)));
        new FileInfo(System.IO.Path.Combine(Path, "rootcellar.db-wal")).Length.Should().BeGreaterThan(50_000);
    }

    public ValueTask DisposeAsync()
    {
        scratch.Dispose();
        return ValueTask.CompletedTask;
    }
}

/// <summary>A record that is gone or empty while its folder says that there was one is no first start.</summary>
public sealed class LostRecordTests(LeftFolder left) : IClassFixture<LeftFolder>
{
    [Theory]
    [InlineData("missing", "rootcellar.db-wal")]
    [InlineData("missing", "setup-copy.json")]
    [InlineData("missing", "keys")]
    [InlineData("missing", "entry-copy.json")]
    [InlineData("missing", "rootcellar.db.20261128-060000")]
    [InlineData("missing", "rootcellar.db-wal, rootcellar.db-shm, setup-copy.json, keys")]
    [InlineData("empty", "rootcellar.db-wal")]
    [InlineData("empty", "setup-copy.json")]
    [InlineData("empty", "keys")]
    [InlineData("empty", "rootcellar.db-wal, rootcellar.db-shm, setup-copy.json, keys")]
    public async Task It_is_said_nothing_is_touched_and_alarms_go_on_by_the_copy_of_the_set_up(string record, string beside)
    {
        await using var gateway = await Gateway.StartAsync();
        await using var service = new RunningService(null, [.. Air.NoDelays, ("Tell:Post:Url", gateway.Url)]);
        Lay(service, record, beside);
        var before = Prints(service.Data);

        await service.StartAsync();

        service.Process.Output.Should()
            .Contain(l => l.Contains($"is {(record == "empty" ? "empty (0 bytes)" : "missing")}, but there was one",
                StringComparison.Ordinal)
            && l.Contains("restore FILE", StringComparison.Ordinal) && l.Contains("begin again on purpose", StringComparison.Ordinal));
        service.Everything.Should().NotContain("shown this once").And.NotContain("Open the pages and give the passphrase");
        var (status, text) = await service.ReadinessAsync();
        status.Should().Be(503);
        text.Should().Contain("\"record\":\"unhealthy\"");
        if (beside.Contains("setup-copy", StringComparison.Ordinal))
        {
            // At QoS 0: without a record no receipt is given. Such a message may be lost, so it is said again, as a sensor does.
            for (var tries = 0; tries < 10 && gateway.Accepted.Count == 0; tries++)
            {
                await MosquittoClients.PublishAsync(service.MqttPort, $"rootcellar/{Air.CuringRoom}/door", Air.TooWarm);
                for (var waits = 0; waits < 20 && gateway.Accepted.Count == 0; waits++)
                    await Task.Delay(100, TestContext.Current.CancellationToken);
            }

            gateway.Accepted.Should().ContainSingle("the text is told without the record, and once\n{0}", service.Everything);
        }

        await service.StopAsync();
        Prints(service.Data).Should().Contain(before, "every file is as it was");
        File.Exists(service.RecordPath).Should().Be(record == "empty");
    }

    [Fact]
    public async Task No_command_opens_it_either()
    {
        await using var service = new RunningService();
        Lay(service, "empty", "rootcellar.db-wal, rootcellar.db-shm");
        var before = Prints(service.Data);
        using var scratch = new Scratch();
        var csv = scratch.File("ledger.csv");
        await File.WriteAllTextAsync(csv, "id\n", TestContext.Current.CancellationToken);
        string[][] commands =
        [
            ["token", "add", "kitchen"], ["token", "list"], ["helper", "list"], ["export", "--what", "ledger"],
            ["export", "--what", "readings"],
            ["backup", scratch.File("copy.db")], ["replay"], ["report"], ["import", "--what", "ledger", csv],
        ];
        foreach (var command in commands)
        {
            var said = await BuiltProgram.RunAsync([.. command, "--data", service.Data]);
            said.Exit.Should().Be(2, $"{string.Join(' ', command)}: {said}");
            said.Error.Should().Contain("is empty (0 bytes), but there was one: rootcellar.db-shm, rootcellar.db-wal still in its folder");
            said.Error.Trim().Should().NotContain("\n");
            Prints(service.Data).Should().Contain(before, string.Join(' ', command));
        }
    }

    [Theory]
    [InlineData("missing")]
    [InlineData("empty")]
    public async Task A_backup_is_put_in_its_place_and_the_log_is_kept_under_another_name(string record)
    {
        await using var service = new RunningService();
        Lay(service, record, "rootcellar.db-wal, rootcellar.db-shm, setup-copy.json, keys");
        var log = Print(service.RecordPath + "-wal");

        var said = await BuiltProgram.RunAsync("restore", left.Backup, "--data", service.Data);

        said.Exit.Should().Be(0, said.ToString());
        var kept = Directory.GetFiles(service.Data, "rootcellar.db.2*-wal").Should().ContainSingle().Which;
        Print(kept).Should().Be(log);
        await service.StartAsync();
        (await service.ReadinessAsync()).Status.Should().Be(200);
        await service.StopAsync();
        service.Query("PRAGMA integrity_check", row => row.GetString(0)).Should().Equal("ok");
    }

    [Theory]
    [InlineData(false)]
    [InlineData(true)]
    public async Task A_first_start_is_one_also_after_a_first_start_that_was_cut_off(bool cutOff)
    {
        await using var service = new RunningService();
        await File.WriteAllTextAsync(Path.Combine(service.Data, "rootcellar.json"), "{}", TestContext.Current.CancellationToken);
        if (cutOff)
        {
            foreach (var name in (string[])["rootcellar.db", "rootcellar.lock"])
                await File.WriteAllTextAsync(Path.Combine(service.Data, name), "", TestContext.Current.CancellationToken);
            Directory.CreateDirectory(Path.Combine(service.Data, "keys"));
        }

        await service.StartAsync();

        service.Everything.Should().Contain("shown this once");
        (await service.ReadinessAsync()).Status.Should().Be(200);
    }

    private void Lay(RunningService service, string record, string beside)
    {
        foreach (var name in beside.Split(", "))
        {
            var from = Path.Combine(left.Path, name.StartsWith("rootcellar.db.", StringComparison.Ordinal) ? "rootcellar.db" : name);
            var to = Path.Combine(service.Data, name);
            if (!Directory.Exists(from))
            {
                File.Copy(from, to);
                continue;
            }

            Directory.CreateDirectory(to);
            foreach (var key in Directory.GetFiles(from)) File.Copy(key, Path.Combine(to, Path.GetFileName(key)));
        }

        if (record == "empty") File.WriteAllBytes(service.RecordPath, []);
    }

    /// <summary>Every file with what is in it, but the lock, which says who is there.</summary>
    private static Dictionary<string, string> Prints(string folder) => Directory.GetFiles(folder, "*", SearchOption.AllDirectories)
        .Where(f => Path.GetFileName(f) != "rootcellar.lock")
        .ToDictionary(f => Path.GetRelativePath(folder, f), Print, StringComparer.Ordinal);

    private static string Print(string file) => Convert.ToHexString(SHA256.HashData(File.ReadAllBytes(file)));
}
