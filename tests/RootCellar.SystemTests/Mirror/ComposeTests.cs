using System.Diagnostics;
using System.Text.Json.Nodes;
using RootCellar.Monitoring;
using RootCellar.SystemTests.Running;
using YamlDotNet.RepresentationModel;

namespace RootCellar.SystemTests.Mirror;

/// <summary>
/// docker-compose.yml as Docker Compose itself reads it, and the whole of it running: the image built by the Dockerfile, Mosquitto, and
/// victoria-metrics in the place of InfluxDB, made ready by the very commands in the file's head. Base images are of this machine's own
/// programs: no registry of images is reached.
/// </summary>
[Collection(OneAtATime.Name)]
public sealed class ComposeTests(ITestOutputHelper output)
{
    private static readonly (string, string) Zone = ("HOUSE_TIMEZONE", "America/New_York");

    /// <summary>What the head of the file says to give where the long memory is wanted.</summary>
    private static IEnumerable<(string, string)> WithInflux => Head(File.ReadAllText(Repository.File("docker-compose.yml")))
        .Single(l => l.Contains("COMPOSE_PROFILES", StringComparison.Ordinal)).Split(' ').Skip(1).Select(v => (v.Split('=')[0], v.Split('=')[1]))
        .Prepend(Zone);

    [Fact]
    public async Task Without_the_zone_of_the_house_it_does_not_start_and_says_so()
    {
        using var folder = Copy();
        var said = await ConfigAsync(folder, WithInflux.Where(v => v != Zone));
        said.Exit.Should().NotBe(0);
        said.Error.Should().Contain("say the zone of the house");
    }

    [Fact]
    public async Task As_compose_reads_it_every_service_is_checked_without_root_and_read_only()
    {
        using var folder = Copy();
        var said = await ConfigAsync(folder, WithInflux);
        said.Exit.Should().Be(0, said.ToString());
        said.Error.Should().BeEmpty("nothing is left to guess");

        var yaml = new YamlStream();
        yaml.Load(new StringReader(said.Out));
        var file = (YamlMappingNode)yaml.Documents[0].RootNode;
        var services = Map(file["services"]);
        services.Keys.Should().BeEquivalentTo(["rootcellar", "mosquitto", "influxdb"]);
        Map(file["volumes"]).Keys.Should().BeEquivalentTo(["rootcellar", "mosquitto", "influxdb-data", "influxdb-config"]);
        foreach (var (name, node) in services)
        {
            var service = Map(node);
            service["user"].ToString().Should().MatchRegex(@"^[1-9]\d*:[1-9]\d*$", name);
            service["read_only"].ToString().Should().Be("true", name);
            Texts(service["cap_drop"]).Should().Equal(["ALL"], name);
            Texts(service["security_opt"]).Should().Equal(["no-new-privileges:true"], name);
            Texts(Map(service["healthcheck"])["test"]).Should().HaveCountGreaterThan(1, name);
            // Written only where a named volume is; what is of the host is read.
            foreach (var mount in Texts(service["volumes"])) mount.Should().MatchRegex("^([a-z-]+:/.*:rw|/.*:ro)$", name);
            if (!service.TryGetValue("environment", out var environment)) continue;
            foreach (var (key, value) in Map(environment)
                .Where(e => e.Key.Contains("PASSWORD", StringComparison.OrdinalIgnoreCase)
                    || e.Key.Contains("TOKEN", StringComparison.OrdinalIgnoreCase)))
                value.ToString().Should().StartWith("/run/secrets/", $"{name}: {key}");
        }

        foreach (var (name, secret) in Map(file["secrets"])) Map(secret)["file"].ToString().Should().Be(folder.File($"secrets/{name}"));
        // Only the long memory waits to be asked for.
        services.Where(s => Map(s.Value).ContainsKey("profiles")).Select(s => s.Key).Should().Equal("influxdb");
        Map(services["rootcellar"])["depends_on"]["mosquitto"]["condition"].ToString().Should().Be("service_healthy");
        Map(Map(services["rootcellar"])["environment"])["ROOTCELLAR__Household__TimeZone"].ToString().Should().Be("America/New_York");
    }

    [Fact]
    public async Task Built_and_started_as_its_head_says_all_three_are_well_without_root_and_a_reading_goes_through()
    {
        var compose = await Needs.DockerComposeAsync();
        await Needs.OpenSslAsync();
        await using var docker = await DockerDaemon.StartAsync();
        var watch = Stopwatch.StartNew();
        await docker.PackAsync(
            "rootcellar-test/mosquitto:1",
            [await Needs.MosquittoAsync(), await Needs.MosquittoSubAsync(), await Needs.MosquittoPasswdAsync(), "/bin/sh", "/bin/cat"],
            "1883:1883", "/mosquitto/data", "/mosquitto/config");
        await docker.PackAsync("rootcellar-test/victoria-metrics:1", [await Needs.VictoriaMetricsAsync()], "1000:1000",
            "/var/lib/influxdb2", "/etc/influxdb2");
        await DotnetImages.PackAsync(docker, Repository.Root);
        output.WriteLine($"Base images: {watch.Elapsed.TotalSeconds:0.0} s");
        await BuildAsync(docker);
        output.WriteLine($"Built: {watch.Elapsed.TotalSeconds:0.0} s");

        using var folder = Copy();
        var (http, mqtt, influx) = (Ports.Free(), Ports.Free(), Ports.Free());
        var text = await File.ReadAllTextAsync(folder.File("docker-compose.yml"), TestContext.Current.CancellationToken);
        await File.WriteAllTextAsync(
            folder.File("docker-compose.yml"),
            text.Replace("- \"8080:8080\"", $"- \"127.0.0.1:{http}:8080\"", StringComparison.Ordinal)
                .Replace("- \"1883:1883\"", $"- \"127.0.0.1:{mqtt}:1883\"", StringComparison.Ordinal)
                .Replace("- \"127.0.0.1:8086:8086\"", $"- \"127.0.0.1:{influx}:8086\"", StringComparison.Ordinal),
            TestContext.Current.CancellationToken);
        await File.WriteAllTextAsync(folder.File("test.yml"), StandIns, TestContext.Current.CancellationToken);
        var speaking = docker.Speaking([.. WithInflux, ("COMPOSE_FILE", "docker-compose.yml:test.yml"), ("COMPOSE_PROJECT_NAME", "rct")]);
        try
        {
            foreach (var line in Head(text)
                .Where(l => !l.StartsWith("export ", StringComparison.Ordinal) && !l.Contains(" up ", StringComparison.Ordinal)
                    && !l.Contains(" logs ", StringComparison.Ordinal)))
            {
                var said = await ShellAsync(folder, speaking, line.Replace("docker compose", compose, StringComparison.Ordinal));
                said.Exit.Should().Be(0, $"{line}: {said}");
            }

            var up = await ShellAsync(folder, speaking, $"{compose} up -d --no-build");
            up.Exit.Should().Be(0, up.ToString());
            foreach (var name in (string[])["rootcellar", "mosquitto", "influxdb"])
                await Eventually.HoldsAsync(async () => await InspectAsync(docker, name, "{{.State.Health.Status}}") == "healthy",
                    $"{name} is well", TimeSpan.FromMinutes(3));
            output.WriteLine($"All well: {watch.Elapsed.TotalSeconds:0.0} s");

            var status = (await InsideAsync(docker, "cat", "/proc/1/status")).Out;
            status.Should().MatchRegex(@"(?m)^Uid:\t1654\t1654").And.MatchRegex(@"(?m)^CapEff:\t0+$").And.MatchRegex(
                @"(?m)^NoNewPrivs:\t1$");
            (await InsideAsync(docker, "sh", "-c", ": > /app/anything")).Error.Should().Contain("Read-only file system");
            // What the page about containers says to type, as it stands there.
            foreach (var line in Typed())
            {
                var said = await ShellAsync(folder, speaking, line.Replace("docker compose", compose, StringComparison.Ordinal));
                said.Exit.Should().Be(0, $"{line}: {said}");
            }

            new FileInfo(folder.File("copy.db")).Length.Should().BeGreaterThan(4096);
            (await Tool.RunAsync("docker", ["image", "inspect", "-f", "{{json .Config.Labels}}", "rootcellar:latest"], docker.Speaking())).Out
                .Should().Contain("\"org.opencontainers.image.version\":\"0.1.0-test\"").And.Contain("\"org.opencontainers.image.revision\":\"c0ffee\"");
            (await InsideAsync(docker, "rootcellar", "--version")).Out.Trim().Should().Be("0.1.0-test+c0ffee");
            await Eventually.HoldsAsync(async () => await InspectAsync(docker, "rootcellar", "{{.State.Health.Status}}") == "healthy",
                "rootcellar is well again", TimeSpan.FromMinutes(3));
            (await ShellAsync(folder, speaking, $"{compose} logs rootcellar")).Out.Should()
                .Contain("The household passphrase, shown this once:");

            var password = await File.ReadAllTextAsync(folder.File("secrets/door"), TestContext.Current.CancellationToken);
            await MosquittoClients.PublishAsync(mqtt, "rootcellar/cellar/door", """{"temperature_c":13.25}""", "-q", "1", "-u",
                "cellar/door", "-P", password);
            using var client = new HttpClient();
            IReadOnlyList<Sample> there = [];
            await Eventually.HoldsAsync(
                async () => (there = await VictoriaMetrics.ExportAsync(
                    client, $"http://127.0.0.1:{influx}", "{__name__=~\"reading_.*\"}")).Count > 0, "the reading is there",
                        TimeSpan.FromMinutes(3));
            there.Should().ContainSingle().Which.Value.Should().Be(13.25);
            output.WriteLine($"All: {watch.Elapsed.TotalSeconds:0.0} s");
        }
        finally
        {
            await ShellAsync(folder, speaking, $"{compose} down -v -t 5");
        }
    }

    /// <summary>
    /// Other programs in the place of those of the registry, asked for their health more often; everything else is the file's.
    /// </summary>
    private const string StandIns = """
        version: "3.9"
        services:
          rootcellar:
            environment: {ROOTCELLAR__Mirror__EverySeconds: "1"}
            healthcheck: {interval: 2s}
          mosquitto:
            image: rootcellar-test/mosquitto:1
            command: ["-c", "/mosquitto/config/mosquitto.conf"]
            healthcheck: {interval: 1s}
          influxdb:
            image: rootcellar-test/victoria-metrics:1
            command: ["-httpListenAddr=:8086", "-storageDataPath=/var/lib/influxdb2/data", "-retentionPeriod=100y", "-memory.allowedPercent=10"]
            healthcheck: {test: ["CMD", "/usr/bin/victoria-metrics", "-version"], interval: 2s}
        """;

    /// <summary>Other base images, which bring the font and the zones along, and the version a release gives.</summary>
    private static IEnumerable<string> BuildArguments => new[]
    {
        $"SDK_IMAGE={DotnetImages.Sdk}", $"RUNTIME_IMAGE={DotnetImages.Runtime}", "SYSTEM_PACKAGES=", "VERSION=0.1.0-test", "REVISION=c0ffee",
    }.SelectMany(a => new[] { "--build-arg", a });

    private static async Task BuildAsync(DockerDaemon docker)
    {
        // Debian's own client has BuildKit in it; a newer one needs a plugin that may not be there.
        var program = File.Exists("/usr/bin/docker") ? "/usr/bin/docker" : "docker";
        var said = await Tool.RunAsync(
            program, ["build", "--network", "none", "--progress", "plain", .. BuildArguments, "-f", Repository.File("src/RootCellar/Packaging/Dockerfile"), "-t",
                "rootcellar:latest", Repository.Root], docker.Speaking(("DOCKER_BUILDKIT", "1")), TimeSpan.FromMinutes(8));
        if (said.Error.Contains("buildx", StringComparison.Ordinal)) Skips.Because($"No BuildKit here: {said.Error.Trim()}");
        said.Exit.Should().Be(0, said.ToString());
    }

    /// <summary>The commands of docs/containers.md, but for those that start all of it, which this test has done.</summary>
    private static IEnumerable<string> Typed() => File.ReadAllLines(Repository.File("docs/containers.md"))
        .Where(l => l.StartsWith("    ", StringComparison.Ordinal)).Select(l => l.Trim());

    /// <summary>The commands in the head of the file.</summary>
    private static IEnumerable<string> Head(string text) =>
        text.Split('\n').TakeWhile(l => l.StartsWith('#')).Where(l => l.StartsWith("#   ", StringComparison.Ordinal)).Select(l => l[4..]);

    private static Task<Said> ShellAsync(Scratch folder, IReadOnlyDictionary<string, string> speaking, string command) =>
        Tool.RunAsync("sh", ["-c", $"cd '{folder.Path}' && {command}"], speaking, TimeSpan.FromMinutes(8));

    private static Task<Said> InsideAsync(DockerDaemon docker, params string[] command) =>
        Tool.RunAsync("docker", ["exec", "rct_rootcellar_1", .. command], docker.Speaking());

    private static async Task<string> InspectAsync(DockerDaemon docker, string service, string format) =>
        (await Tool.RunAsync("docker", ["inspect", "-f", format, $"rct_{service}_1"], docker.Speaking())).Out.Trim();

    private static async Task<Said> ConfigAsync(Scratch folder, IEnumerable<(string Key, string Value)> variables) =>
        await Tool.RunAsync(await Needs.DockerComposeAsync(), ["-f", folder.File("docker-compose.yml"), "config"],
        variables.ToDictionary(v => v.Key, v => v.Value, StringComparer.Ordinal));

    private static Scratch Copy()
    {
        var folder = new Scratch();
        const string packaging = "src/RootCellar/Packaging";
        Directory.CreateDirectory(folder.File(packaging));
        foreach (var file in (string[])["docker-compose.yml", $"{packaging}/mosquitto.conf", $"{packaging}/mosquitto.acl",
            $"{packaging}/mosquitto-health.acl"])
            File.Copy(Repository.File(file), folder.File(file));
        return folder;
    }

    private static Dictionary<string, YamlNode> Map(YamlNode node) => ((YamlMappingNode)node).Children.ToDictionary(
        c => c.Key.ToString(), c => c.Value, StringComparer.Ordinal);

    private static List<string> Texts(YamlNode node) => [.. ((YamlSequenceNode)node).Select(n => n.ToString())];
}
