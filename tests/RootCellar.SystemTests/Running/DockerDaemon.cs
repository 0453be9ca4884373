using System.Globalization;
using System.Text.RegularExpressions;

namespace RootCellar.SystemTests.Running;

/// <summary>
/// A Docker daemon of one test's own: its data in a scratch folder, a bridge and a socket of its own, ports on the loopback address, no
/// firewall rules. Ended by its own pid. Root only.
/// </summary>
public sealed partial class DockerDaemon : IAsyncDisposable
{
    private readonly Scratch scratch = new();
    private readonly string bridge = $"rct{Random.Shared.Next(1_000_000, 9_999_999)}";
    private Child? child;

    private DockerDaemon()
    {
    }

    public string Endpoint => $"unix://{scratch.File("docker.sock")}";

    public static async Task<DockerDaemon> StartAsync()
    {
        Skips.Unless(Environment.UserName == "root", "A Docker daemon can be started by root only.");
        var program = await Needs.DockerDaemonAsync();
        var daemon = new DockerDaemon();
        try
        {
            await daemon.RunAsync(program);
            return daemon;
        }
        catch (InvalidOperationException e)
        {
            await daemon.DisposeAsync();
            Skips.Because($"A Docker daemon does not start here: {e.Message}");
            throw;
        }
    }

    /// <summary>An image of one program of this machine and the libraries it names.</summary>
    /// <param name="folders">Folders to be there, anybody's to write.</param>
    public Task PackAsync(string image, string program, params string[] folders) => PackAsync(image, [program], null, folders);

    /// <summary>The same of several programs; the first is what it runs.</summary>
    /// <param name="owner">Whose the folders are, UID:GID; null where they are anybody's to write.</param>
    public async Task PackAsync(string image, IReadOnlyList<string> programs, string? owner, params string[] folders)
    {
        var root = Directory.CreateDirectory(scratch.File(image.Replace(':', '-'))).FullName;
        await PutAsync(root, programs);
        foreach (var folder in folders)
        {
            var to = Directory.CreateDirectory(Path.Combine(root, folder.TrimStart('/'))).FullName;
            await Succeed("chmod", [owner is null ? "0777" : "0755", to]);
            if (owner is not null) await Succeed("chown", [owner, to]);
        }

        await ImportAsync(image, ["-C", root, "."], $"ENTRYPOINT [\"{programs[0]}\"]");
    }

    /// <summary>Puts programs and the libraries they name under a root of their own, with a folder for what passes.</summary>
    public static async Task PutAsync(string root, IReadOnlyList<string> programs)
    {
        var libraries = new List<string>();
        foreach (var program in programs)
            libraries.AddRange(Library().Matches((await Tool.RunAsync("ldd", [program])).Out).Select(m => m.Value));
        foreach (var file in programs.Concat(libraries).Distinct(StringComparer.Ordinal))
        {
            var to = Path.Combine(root, file.TrimStart('/'));
            Directory.CreateDirectory(Path.GetDirectoryName(to)!);
            // Without the links: what the program asks for by name is there as a file.
            await Succeed("cp", ["-L", file, to]);
        }

        await Succeed("chmod", ["1777", Directory.CreateDirectory(Path.Combine(root, "tmp")).FullName]);
    }

    /// <summary>An image of files of this machine.</summary>
    /// <param name="files">What tar is told to take.</param>
    /// <param name="changes">Lines of a Dockerfile.</param>
    public async Task ImportAsync(string image, IReadOnlyList<string> files, params string[] changes)
    {
        var tar = scratch.File("image.tar");
        await Succeed("tar", ["-cf", tar, "--exclude=*.nupkg", .. files]);
        await Succeed("docker", ["-H", Endpoint, "import", .. changes.SelectMany(c => (string[])["--change", c]), tar, image]);
        File.Delete(tar);
    }

    /// <summary>What a program that speaks to this daemon needs to know.</summary>
    public IReadOnlyDictionary<string, string> Speaking(params IEnumerable<(string Key, string Value)> more)
    {
        var known = new Dictionary<string, string>(Client, StringComparer.Ordinal) { ["DOCKER_HOST"] = Endpoint };
        foreach (var (key, value) in more) known[key] = value;
        return known;
    }

    /// <summary>Null when the image is there; else why not.</summary>
    public async Task<string?> PullAsync(string image, TimeSpan longest)
    {
        try
        {
            var said = await Tool.RunAsync("docker", ["-H", Endpoint, "pull", "-q", image], Client, longest);
            return said.Exit == 0 ? null : said.Error.Trim().Split('\n')[^1];
        }
        catch (TimeoutException)
        {
            return string.Create(CultureInfo.InvariantCulture, $"nothing came within {longest.TotalSeconds:0} s");
        }
    }

    public async ValueTask DisposeAsync()
    {
        if (child is { HasExited: false }) await child.TerminateAsync(TimeSpan.FromSeconds(20));
        child?.Dispose();
        await Tool.RunAsync("ip", ["link", "delete", bridge]);
        // The daemon's own mounts go with it; what is left over is in the temporary place.
        await Tool.RunAsync("umount", ["-l", scratch.File("data")]);
        scratch.Dispose();
    }

    private static Dictionary<string, string> Client => new(StringComparer.Ordinal) { ["DOCKER_API_VERSION"] = "1.41" };

    private static async Task Succeed(string program, IReadOnlyList<string> arguments)
    {
        var said = await Tool.RunAsync(program, arguments, Client, TimeSpan.FromSeconds(60));
        if (said.Exit != 0) throw new InvalidOperationException($"{program}: {said}");
    }

    private async Task RunAsync(string program)
    {
        await Succeed("ip", ["link", "add", bridge, "type", "bridge"]);
        await Succeed("ip", ["addr", "add", $"172.31.{Random.Shared.Next(1, 250)}.1/24", "dev", bridge]);
        await Succeed("ip", ["link", "set", bridge, "up"]);
        child = new Child(
            program,
            [
                "--data-root", scratch.File("data"), "--exec-root", scratch.File("exec"), "-H", Endpoint, "--pidfile", scratch.File("pid"),
                "--bridge", bridge,
                "--iptables=false", "--ip6tables=false", "--ip-forward=false", "--ip-masq=false", "--ip", "127.0.0.1",
            ]);
        await Eventually.HoldsAsync(
            async () => child.HasExited
                ? throw new InvalidOperationException(child.Error is [.., var last] ? last : "it ended at once")
                : File.Exists(scratch.File("docker.sock")) && (await Tool.RunAsync("docker", ["-H", Endpoint, "info"], Client)).Exit == 0,
            "the Docker daemon answers",
            details: () => child.Everything);
        // Testcontainers reads these once, at its first use.
        foreach (var (key, value) in new[]
        {
            ("DOCKER_HOST", Endpoint), ("DOCKER_API_VERSION", "1.41"), ("TESTCONTAINERS_RYUK_DISABLED", "true"),
                ("TESTCONTAINERS_HOST_OVERRIDE", "127.0.0.1"),
        })
        {
            Environment.SetEnvironmentVariable(key, value);
        }
    }

    [GeneratedRegex(@"/\S+\.so\S*", RegexOptions.NonBacktracking)]
    private static partial Regex Library();
}
