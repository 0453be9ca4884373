using System.Runtime.Versioning;
using RootCellar.SystemTests.Running;
using RootCellar.SystemTests.Telling;

namespace RootCellar.SystemTests.Faults;

/// <summary>What the service keeps is its user's alone: the record has the sensor password, addresses and tokens in it.</summary>
[UnsupportedOSPlatform("windows")]
public sealed class PrivateFilesTests
{
    private const UnixFileMode ForFile = UnixFileMode.UserRead | UnixFileMode.UserWrite;
    private const UnixFileMode ForFolder = ForFile | UnixFileMode.UserExecute;
    private const UnixFileMode AllRead = ForFile | UnixFileMode.GroupRead | UnixFileMode.OtherRead;
    private const UnixFileMode AllEnter =
        ForFolder | UnixFileMode.GroupRead | UnixFileMode.GroupExecute | UnixFileMode.OtherRead | UnixFileMode.OtherExecute;

    [Fact]
    public async Task Everything_is_made_for_its_user_alone()
    {
        Skips.Unless(!OperatingSystem.IsWindows(), "Windows has other rights.");
        using var scratch = new Scratch();
        var outside = Directory.CreateDirectory(scratch.File("outside")).FullName;
        // Not made yet: the service makes it.
        await using var service = new RunningService(scratch.File("data"));
        await service.StartAsync();
        await service.AddPlaceAsync(Air.CuringRoom, "Curing room", "curing");
        await service.CoolDownAsync();
        await Eventually.HoldsAsync(() => File.Exists(Path.Combine(service.Data, "setup-copy.json")), "the set-up is copied", details: () =>
            service.Everything);
        await DoneAsync("backup", Path.Combine(outside, "copy.db"), "--data", service.Data);
        await DoneAsync("report", "--out", Path.Combine(outside, "week.html"), "--data", service.Data);
        Open(service.Data).Should().BeEmpty();
        foreach (var name in (string[])["rootcellar.db", "rootcellar.db-wal", "rootcellar.db-shm", "rootcellar.lock", "setup-copy.json",
            "keys"])
            Path.Exists(Path.Combine(service.Data, name)).Should().BeTrue(name);

        await service.StopAsync();
        File.SetUnixFileMode(Path.Combine(outside, "copy.db"), AllRead);
        await DoneAsync("restore", Path.Combine(outside, "copy.db"), "--data", service.Data);

        Open(service.Data).Should().BeEmpty("a stick's file brings no rights along, and what was set aside is as private");
        Open(outside, andFolder: false).Should().Equal("copy.db");
    }

    [Fact]
    public async Task What_an_earlier_version_left_open_is_closed_at_the_start_and_the_grower_s_own_file_stays()
    {
        Skips.Unless(!OperatingSystem.IsWindows(), "Windows has other rights.");
        await using var service = await RunningService.StartAsync();
        service.Kill();
        var settings = Path.Combine(service.Data, "rootcellar.json");
        await File.WriteAllTextAsync(settings, "{}", TestContext.Current.CancellationToken);
        await File.WriteAllTextAsync(service.RecordPath + ".20251128-060000", "an older record", TestContext.Current.CancellationToken);
        foreach (var file in Directory.GetFiles(service.Data, "*", SearchOption.AllDirectories)) File.SetUnixFileMode(file, AllRead);
        foreach (var folder in (string[])[service.Data, Path.Combine(service.Data, "keys")]) File.SetUnixFileMode(folder, AllEnter);

        await service.StartAsync();

        Open(service.Data).Should().Equal("rootcellar.json");
        await service.StopAsync();
    }

    [Fact]
    public async Task A_folder_that_holds_other_things_too_keeps_its_mode()
    {
        Skips.Unless(!OperatingSystem.IsWindows(), "Windows has other rights.");
        await using var service = new RunningService();
        File.SetUnixFileMode(service.Data, AllEnter);
        await File.WriteAllTextAsync(Path.Combine(service.Data, "letter.txt"), "dear", TestContext.Current.CancellationToken);
        File.SetUnixFileMode(Path.Combine(service.Data, "letter.txt"), AllRead);

        await service.StartAsync();

        Open(service.Data).Should().BeEquivalentTo(".", "letter.txt");
    }

    private static async Task DoneAsync(params string[] command)
    {
        var said = await BuiltProgram.RunAsync(command);
        said.Exit.Should().Be(0, said.ToString());
    }

    /// <summary>What is more than 0600 or 0700; the folder itself as a dot.</summary>
    private static IEnumerable<string> Open(string folder, bool andFolder = true)
    {
        if (OperatingSystem.IsWindows()) return [];
        var all = new DirectoryInfo(folder).GetFileSystemInfos("*", SearchOption.AllDirectories).AsEnumerable();
        if (andFolder) all = all.Append(new DirectoryInfo(folder));
        return [.. all.Where(f => (f.UnixFileMode & ~(f is DirectoryInfo ? ForFolder : ForFile)) != UnixFileMode.None)
            .Select(f => Path.GetRelativePath(folder, f.FullName)).Order(StringComparer.Ordinal)];
    }
}
