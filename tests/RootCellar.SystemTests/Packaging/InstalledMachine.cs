using System.Net.Http.Headers;
using System.Text;
using RootCellar.SystemTests.Running;

namespace RootCellar.SystemTests.Packaging;

/// <summary>
/// A machine of the test's own to install on: a copy of this one that is thrown away, under a systemd of its own, with the packages in /root.
/// The service there listens on ports that are free here, and nothing else about it is changed.
/// </summary>
internal sealed class InstalledMachine(OwnSystemd systemd, ITestOutputHelper output) : IAsyncDisposable
{
    public HttpClient Api { get; } = new();

    public int Mqtt { get; private init; }

    /// <summary>Where the pages are by the socket that stands for port 80.</summary>
    public Uri ByTheSocket { get; private init; } = null!;

    /// <param name="output">Where what a failed command says goes.</param>
    /// <param name="settings">Lines of the unit that say settings as the environment has them.</param>
    /// <param name="folders">Folders with packages, laid open in /root.</param>
    public static async Task<InstalledMachine> StartAsync(ITestOutputHelper output, string settings, params string[] folders)
    {
        await Needs.PackagesAsync("adduser", "ca-certificates", "fonts-dejavu-core", "init-system-helpers", "libssl3", "libstdc++6", "tzdata");
        int http = Ports.Free(), mqtt = Ports.Free(), socket = Ports.Free();
        // No policy-rc.d: it keeps daemons from being started at all. No index of the manual pages: it would be made anew each time.
        var systemd = await OwnSystemd.StartAsync(
            $"""
            rm -f $ROOT/usr/sbin/policy-rc.d $ROOT/var/lib/man-db/auto-update
            units=$ROOT/etc/systemd/system
            mkdir -p $units/rootcellar.service.d $units/rootcellar.socket.d
            printf '[Service]\nEnvironment=ROOTCELLAR__Http__Listen=127.0.0.1:{http} ROOTCELLAR__Mqtt__Listen=127.0.0.1:{mqtt} {settings}\n' > $units/rootcellar.service.d/test.conf
            printf '[Socket]\nListenStream=\nListenStream=127.0.0.1:{socket}\n' > $units/rootcellar.socket.d/test.conf
            cp {string.Join(' ', folders.Select(f => $"'{f}'/*"))} '{Repository.File("tests/RootCellar.Tests/Storage/first-version.db")}' $ROOT/root/
            """);
        var machine = new InstalledMachine(systemd, output) { Mqtt = mqtt, ByTheSocket = new Uri($"http://127.0.0.1:{socket}") };
        machine.Api.BaseAddress = new Uri($"http://127.0.0.1:{http}");
        return machine;
    }

    public Task<Said> RunAsync(string command) => systemd.RunAsync("sh", "-c", $"cd /root && {command}");

    /// <summary>A command of root's shell there that must go well.</summary>
    public async Task<string> DoneAsync(string command)
    {
        var said = await RunAsync(command);
        if (said.Exit != 0) output.WriteLine((await systemd.RunAsync("systemctl", "status", "--no-pager", "-n", "40", "rootcellar")).Out);
        said.Exit.Should().Be(0, $"{command}: {said}");
        return said.Out.Trim();
    }

    public Task<string> StateAsync() => DoneAsync("systemctl show rootcellar -p ActiveState --value");

    public async Task KnowAsync()
    {
        var token = await DoneAsync("rootcellar token add test");
        Api.DefaultRequestHeaders.Authorization = new AuthenticationHeaderValue("Bearer", token);
    }

    public async Task PostAsync(string path, string body)
    {
        using var content = new StringContent(body, Encoding.UTF8, "application/json");
        using var answer = await Api.PostAsync(new Uri(path, UriKind.Relative), content, TestContext.Current.CancellationToken);
        answer.IsSuccessStatusCode.Should()
            .BeTrue($"{path}: {await answer.Content.ReadAsStringAsync(TestContext.Current.CancellationToken)}");
    }

    public Task<string> GetAsync(string path) => Api.GetStringAsync(new Uri(path, UriKind.Relative), TestContext.Current.CancellationToken);

    public ValueTask DisposeAsync()
    {
        Api.Dispose();
        return systemd.DisposeAsync();
    }
}
