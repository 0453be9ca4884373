using System.Collections.Concurrent;

namespace RootCellar.SystemTests.Running;

/// <summary>
/// Programs of the system that some tests need. On Debian, as root, what is missing is installed once; elsewhere the test
/// is skipped and says what was missing and how to get it.
/// </summary>
public static class Needs
{
    private static readonly ConcurrentDictionary<string, Lazy<Task<string?>>> Found = new(StringComparer.Ordinal);

    public static Task<string> MosquittoAsync() => FindAsync("mosquitto", "mosquitto", "mosquitto-clients");

    public static Task<string> MosquittoPubAsync() => FindAsync("mosquitto_pub", "mosquitto", "mosquitto-clients");

    public static Task<string> MosquittoSubAsync() => FindAsync("mosquitto_sub", "mosquitto", "mosquitto-clients");

    public static Task<string> MosquittoPasswdAsync() => FindAsync("mosquitto_passwd", "mosquitto", "mosquitto-clients");

    public static Task<string> ChromiumAsync() => FindAsync("chromium", "chromium");

    /// <summary>Reads QR codes out of pictures, as a phone's camera does.</summary>
    public static Task<string> QrReaderAsync() => FindAsync("zbarimg", "zbar-tools");

    public static Task<string> VictoriaMetricsAsync() => FindAsync("victoria-metrics", "victoria-metrics");

    public static Task<string> DockerDaemonAsync() => FindAsync("dockerd", "docker.io", "iproute2");

    public static Task<string> DockerComposeAsync() => FindAsync("docker-compose", "docker-compose");

    /// <summary>Looks through figures as Prometheus does.</summary>
    public static Task<string> PromtoolAsync() => FindAsync("promtool", "prometheus");

    /// <summary>Sends texts by a GSM modem; it comes with a dummy one.</summary>
    public static Task<string> ModemDaemonAsync() => FindAsync("gammu-smsd", "gammu-smsd");

    /// <summary>Reaches into a phone by hand, also into the dummy one.</summary>
    public static Task<string> ModemToolAsync() => FindAsync("gammu", "gammu");

    public static Task<string> SystemdAnalyzeAsync() => FindAsync("systemd-analyze", "systemd");

    public static Task<string> OpenSslAsync() => FindAsync("openssl", "openssl");

    public static Task<string> CompilerAsync() => FindAsync("gcc", "gcc", "libc6-dev");

    /// <summary>Looks through a Debian package for what its users would trip over.</summary>
    public static Task<string> LintianAsync() => FindAsync("lintian", "lintian", "man-db");

    public static Task<string> DpkgDebAsync() => FindAsync("dpkg-deb", "dpkg");

    /// <summary>Packages that ours depends on: without them dpkg would not set it up.</summary>
    public static async Task PackagesAsync(params string[] packages)
    {
        var missing = new List<string>();
        foreach (var package in packages)
            if (!(await Tool.RunAsync("dpkg-query", ["-W", "-f", "${Status}", package])).Out.EndsWith(" installed", StringComparison.Ordinal))
                missing.Add(package);
        if (missing.Count == 0) return;
        var trouble = MayInstall ? await InstallAsync(null, [.. missing]) : "only root may";
        if (trouble is not null)
            Skips.Because($"{string.Join(", ", missing)} is missing. On Debian: apt-get install {string.Join(' ', missing)}. Here: {trouble}");
    }

    private static bool MayInstall => Environment.UserName == "root" && File.Exists("/etc/debian_version")
        && Tool.Find("apt-get") is not null;

    private static async Task<string> FindAsync(string program, params string[] packages)
    {
        if (Tool.Find(program) is { } there) return there;
        var trouble = MayInstall ? await Found.GetOrAdd(
            string.Join(' ', packages), _ => new Lazy<Task<string?>>(() => InstallAsync(program, packages))).Value : null;
        if (Tool.Find(program) is { } installed) return installed;
        Skips.Because($"{program} is missing. On Debian: apt-get install {string.Join(' ', packages)}.{(trouble is null ? "" : $" Installing it here failed: {trouble}")}");
        return "";
    }

    /// <summary>Null when it went well. One at a time on this machine: several test projects may run at once.</summary>
    private static async Task<string?> InstallAsync(string? program, string[] packages)
    {
        await using var turn = await TurnAsync();
        if (program is not null && Tool.Find(program) is not null) return null;
        // RUNLEVEL=1 keeps the packages' scripts from starting a broker of the system's own.
        var environment = new Dictionary<string, string>(
            StringComparer.Ordinal)
        { ["DEBIAN_FRONTEND"] = "noninteractive", ["RUNLEVEL"] = "1" };
        await Tool.RunAsync("apt-get", ["update", "-q"], environment, TimeSpan.FromMinutes(3));
        var said = await Tool.RunAsync("apt-get", ["install", "-y", "-q", "--no-install-recommends", .. packages], environment,
            TimeSpan.FromMinutes(8));
        return said.Exit == 0 ? null : said.Error.Trim().Split('\n')[^1];
    }

    private static async Task<FileStream> TurnAsync()
    {
        var path = Path.Combine(Path.GetTempPath(), "rootcellar-tests-apt.lock");
        FileStream? turn = null;
        await Eventually.HoldsAsync(
            () =>
            {
                try
                {
                    turn = new FileStream(path, FileMode.OpenOrCreate, FileAccess.ReadWrite, FileShare.None);
                    return true;
                }
                catch (IOException)
                {
                    return false;
                }
            },
            "another test run has finished installing",
            TimeSpan.FromMinutes(10));
        return turn!;
    }
}
