using System.Text.Json.Nodes;
using RootCellar.SystemTests.Running;

namespace RootCellar.SystemTests.Faults;

/// <summary>One data folder, one writer: whoever comes second is told, and what only reads goes on.</summary>
public sealed class TwoOnOneFolderTests
{
    [Fact]
    public async Task A_second_service_on_the_folder_is_refused_with_one_line_that_says_whose_it_is()
    {
        await using var first = await RunningService.StartAsync();
        await using var second = new RunningService(first.Data);

        second.Launch();
        (await second.Process.EndAsync(RunningService.StartWithin)).Should().Be(2, second.Everything);

        second.Process.Output.Should().BeEmpty();
        second.Process.Error.Should().ContainSingle().Which.Should()
            .Match($"rootcellar run: the data folder {first.Data} is in use by 'rootcellar run' (process {first.Process.Id} on {Environment.MachineName}, since 20*Z). "
                + "Stop the service first (systemctl stop rootcellar), or give another folder with --data DIR; nothing was changed.");
        (await first.ReadinessAsync()).Status.Should().Be(200);
        var held = JsonNode.Parse(await ReadAsync(first))!;
        ((int)held["process"]!, (string)held["http"]!).Should().Be((first.Process.Id, $"http://127.0.0.1:{first.HttpPort}"));
    }

    [Fact]
    public async Task A_second_service_in_another_container_that_shares_the_folder_is_refused()
    {
        Skips.Unless(Environment.UserName == "root" && Tool.Find("unshare") is not null,
            "Namespaces of its own are made by root with unshare.");
        await using var first = await RunningService.StartAsync();
        using var elsewhere = new Scratch();
        // Mounts, process numbers and name of its own; the same folder under another path: what two containers with one volume have.
        var said = await Tool.RunAsync(
            "unshare",
            ["--mount", "--pid", "--uts", "--ipc", "--fork", "--mount-proc", "sh", "-c",
             $"hostname other-box && mount --bind '{first.Data}' '{elsewhere.Path}' && exec dotnet '{BuiltProgram.Path}' run --data '{elsewhere.Path}' --http 127.0.0.1:{Ports.Free()} --mqtt 127.0.0.1:{Ports.Free()}"],
            longest: RunningService.StartWithin);
        Skips.Unless(!said.Error.Contains("unshare:", StringComparison.Ordinal), $"unshare does not work here: {said.Error.Trim()}");

        said.Exit.Should().Be(2, said.ToString());
        said.Error.Should().Contain($"is in use by 'rootcellar run' (process {first.Process.Id} on {Environment.MachineName}");
    }

    [Fact]
    public async Task After_a_kill_the_folder_is_free_at_once()
    {
        await using var service = await RunningService.StartAsync();
        service.Kill();
        (await ReadAsync(service)).Should().NotBeEmpty("a killed process leaves its words behind, and they mean nothing");

        await service.StartAsync();
        await service.StopAsync();
        (await ReadAsync(service)).Should().BeEmpty();
    }

    [Theory]
    [InlineData("restore", "{copy}")]
    [InlineData("import", "--what", "ledger", "{csv}")]
    [InlineData("import", "--what", "readings", "{csv}")]
    public async Task What_would_write_beside_the_service_is_refused(params string[] command)
    {
        await using var service = await RunningService.StartAsync();
        using var scratch = new Scratch();
        var copy = scratch.File("copy.db");
        (await BuiltProgram.RunAsync("backup", copy, "--data", service.Data)).Exit.Should().Be(0);
        var csv = scratch.File("file.csv");
        var what = command.Contains("readings") ? "readings" : "ledger";
        await File.WriteAllTextAsync(csv, (await BuiltProgram.RunAsync("export", "--what", what, "--data", service.Data)).Out,
            TestContext.Current.CancellationToken);

        var said = await BuiltProgram.RunAsync(
            [.. command.Select(c => c.Replace("{copy}", copy, StringComparison.Ordinal).Replace("{csv}", csv, StringComparison.Ordinal)),
                "--data", service.Data]);

        said.Exit.Should().Be(2, said.ToString());
        said.Error.Should().Contain($"(process {service.Process.Id} on ").And.Contain("Stop the service first").And.Contain(
            "nothing was changed");
        (await service.ReadinessAsync()).Status.Should().Be(200);
    }

    [Fact]
    public async Task What_only_reads_works_beside_the_service_and_so_do_tokens_and_helpers()
    {
        await using var service = await RunningService.StartAsync();
        using var scratch = new Scratch();
        string[][] commands =
        [
            ["backup", scratch.File("copy.db")], ["export", "--what", "ledger"], ["export", "--what", "readings"],
            ["report", "--out", scratch.File("week.html")],
            ["check"], ["replay"], ["token", "add", "kitchen"], ["token", "list"], ["token", "remove", "kitchen"],
            ["helper", "add", "Sam"], ["helper", "list"], ["helper", "remove", "Sam"],
        ];
        foreach (var command in commands)
        {
            var said = await BuiltProgram.RunAsync([.. command, "--data", service.Data]);
            said.Exit.Should().Be(0, $"{string.Join(' ', command)}: {said}");
        }
    }

    /// <summary>With cat: .NET reads no file that is locked.</summary>
    private static async Task<string> ReadAsync(RunningService service) =>
        (await Tool.RunAsync("cat", [Path.Combine(service.Data, "rootcellar.lock")])).Out;
}
