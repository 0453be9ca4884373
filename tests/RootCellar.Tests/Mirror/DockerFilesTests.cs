using System.Text.RegularExpressions;
using YamlDotNet.Core;
using YamlDotNet.RepresentationModel;

namespace RootCellar.Tests.Mirror;

/// <summary>
/// docker-compose.yml against the main rules of the Compose Specification (compose-spec, "spec.md": services, volumes, secrets,
/// healthcheck, depends_on, interpolation), for machines that have no Docker Compose; and against what the file promises about itself.
/// </summary>
public sealed partial class DockerFilesTests
{
    private static readonly string[] TopLevel = ["name", "services", "networks", "volumes", "configs", "secrets", "include", "models"];

    private static readonly string[] ServiceKeys =
    [
        "build", "image", "restart", "command", "entrypoint", "environment", "env_file", "ports", "expose", "volumes", "secrets", "configs",
        "user", "read_only", "tmpfs", "cap_drop", "cap_add",
        "security_opt", "healthcheck", "depends_on", "networks", "profiles", "init", "stop_grace_period", "working_dir", "labels", "mem_limit", "logging",
    ];

    private static readonly string[] HealthKeys = ["test", "interval", "timeout", "retries", "start_period", "start_interval", "disable"];

    private readonly YamlMappingNode file = Load("docker-compose.yml");

    private IEnumerable<(string Name, YamlMappingNode Service)> Services => Map(file, "services")
        .Select(s => (s.Key, (YamlMappingNode)s.Value));

    [Fact]
    public void Every_key_is_one_of_the_specification()
    {
        // What begins with x- is the file's own (extension.md).
        Keys(file).Where(k => !k.StartsWith("x-", StringComparison.Ordinal)).Should().BeSubsetOf(TopLevel);
        foreach (var (name, service) in Services)
        {
            Keys(service).Should().BeSubsetOf(ServiceKeys, name);
            (service.Children.ContainsKey("image") || service.Children.ContainsKey("build")).Should().BeTrue($"{name} needs an image");
            var health = (YamlMappingNode)service["healthcheck"];
            Keys(health).Should().BeSubsetOf(HealthKeys, name);
            Texts(health["test"])[0].Should().BeOneOf("CMD", "CMD-SHELL");
            foreach (var key in new[] { "interval", "timeout", "start_period" })
                Text(health[key]).Should().MatchRegex(@"^(\d+h)?(\d+m)?(\d+s)?$", name);
            Text(service["restart"]).Should().BeOneOf("no", "always", "on-failure", "unless-stopped");
        }
    }

    [Fact]
    public void What_is_referred_to_is_there()
    {
        var volumes = Map(file, "volumes").Select(v => v.Key).ToList();
        var secrets = Map(file, "secrets").Select(s => s.Key).ToList();
        var names = Services.Select(s => s.Name).ToList();
        foreach (var (name, service) in Services)
        {
            foreach (var mount in Texts(service["volumes"]))
            {
                var source = mount.Split(':')[0];
                if (source.StartsWith('.')) File.Exists(Repository.File(source)).Should().BeTrue($"{name} mounts {source}");
                else volumes.Should().Contain(source, name);
            }

            if (service.Children.ContainsKey("secrets")) Texts(service["secrets"]).Should().BeSubsetOf(secrets, name);
            if (service.Children.TryGetValue("depends_on", out var on)) Keys((YamlMappingNode)on).Should().BeSubsetOf(names, name);
            foreach (var port in Texts(service["ports"])) port.Should().MatchRegex(@"^(127\.0\.0\.1:)?\d+:\d+$", name);
        }
    }

    [Fact]
    public void Every_container_is_without_root_on_a_read_only_file_system()
    {
        foreach (var (name, service) in Services)
        {
            Text(service["user"]).Should().MatchRegex(@"^[1-9]\d*:[1-9]\d*$", name);
            Text(service["read_only"]).Should().Be("true", name);
            Texts(service["tmpfs"]).Should().Contain("/tmp", name);
            Texts(service["cap_drop"]).Should().Equal(["ALL"], name);
            Texts(service["security_opt"]).Should().Contain("no-new-privileges:true", name);
        }
    }

    [Fact]
    public void No_container_takes_all_the_memory_or_fills_the_disk_with_its_log()
    {
        foreach (var (name, service) in Services)
        {
            Text(service["mem_limit"]).Should().MatchRegex(@"^\d+[mg]$", name);
            var log = (YamlMappingNode)service["logging"];
            Text(log["driver"]).Should().Be("json-file", name);
            Keys((YamlMappingNode)log["options"]).Should().BeEquivalentTo(["max-size", "max-file"], name);
        }
    }

    [Fact]
    public void What_a_house_may_do_without_is_started_only_where_it_is_asked_for()
    {
        var asked = Services.Where(s => s.Service.Children.ContainsKey("profiles")).Select(s => s.Name);
        asked.Should().Equal("influxdb");
        var rootcellar = Services.Single(s => s.Name == "rootcellar").Service;
        Keys((YamlMappingNode)rootcellar["depends_on"]).Should().NotContain("influxdb");
        Map(rootcellar, "environment").Where(e => e.Key.Contains("Mirror", StringComparison.Ordinal)).Select(e => Text(e.Value))
            .Should().OnlyContain(v => v.EndsWith(":-}", StringComparison.Ordinal));
    }

    /// <summary>A short name leads nowhere on a machine that has no search list, and elsewhere to whoever took it there.</summary>
    [Fact]
    public void Every_image_is_named_in_full_with_its_registry_and_its_tag()
    {
        var images = Services.Where(s => !s.Service.Children.ContainsKey("build")).Select(s => Text(s.Service["image"]))
            .Concat(Dockerfile.Where(l => ImageArgument().IsMatch(l)).Select(l => l[(l.IndexOf('=', StringComparison.Ordinal) + 1)..])).ToList();
        images.Should().HaveCount(4).And.OnlyContain(i => FullName().IsMatch(i));
        images.Where(i => i.StartsWith("mcr.microsoft.com/dotnet/", StringComparison.Ordinal)).Should().HaveCount(2)
            .And.OnlyContain(i => i.Contains("@sha256:", StringComparison.Ordinal));
    }

    [Fact]
    public void The_image_says_what_it_is_in_the_names_of_the_OCI_and_has_a_font_and_the_time_zones()
    {
        var text = string.Join('\n', Dockerfile);
        foreach (var name in new[] { "title", "description", "licenses", "version", "revision", "base.name" })
            text.Should().Contain($"org.opencontainers.image.{name}=");
        text.Should().Contain("COPY --from=build /usr/share/zoneinfo/ ").And.Contain("COPY --from=build /usr/share/fonts/");
    }

    [Fact]
    public void There_is_no_default_password()
    {
        var text = File.ReadAllText(Repository.File("docker-compose.yml"));
        foreach (Match variable in Variable().Matches(text))
            variable.Value.Should().MatchRegex(@":(\?[^}]+|-)\}$", "a variable without a value stops the start, or is nothing");
        foreach (var (name, service) in Services)
        {
            if (!service.Children.TryGetValue("environment", out var environment)) continue;
            foreach (var (key, value) in ((YamlMappingNode)environment).Children)
                if (Text(key).Contains("PASSWORD", StringComparison.OrdinalIgnoreCase) || Text(key)
                    .Contains("TOKEN", StringComparison.OrdinalIgnoreCase))
                    Text(value).Should().MatchRegex(@"^(/run/secrets/.+|\$\{[A-Z_]+:-\})$", $"{name}: {key}: a file, or nothing");
        }

        foreach (var (secret, from) in Map(file, "secrets")) Text(((YamlMappingNode)from)["file"]).Should().StartWith("./secrets/", secret);
        File.ReadAllText(Repository.File(".gitignore")).Should().Contain("/secrets/");
    }

    [Theory]
    [InlineData(false)]
    [InlineData(true)]
    public void The_settings_it_gives_pass_the_check(bool mirror)
    {
        var settings = (YamlMappingNode)Services.Single(s => s.Name == "rootcellar").Service["environment"];
        var given = settings.Children.ToDictionary(e => Text(e.Key)[SettingsFile.EnvironmentPrefix.Length..]
            .Replace("__", ":", StringComparison.Ordinal), e => (string?)Text(e.Value));
        given["Household:TimeZone"] = "America/New_York";
        // As the head of the file says it for the mirror; without, each is empty.
        foreach (var (key, value) in new[] { ("Url", "http://influxdb:8086"), ("Org", "house"), ("Bucket", "cellar"),
            ("TokenFile", "/run/secrets/influx-token") })
        {
            given[$"Mirror:Influx:{key}"].Should().EndWith(":-}");
            given[$"Mirror:Influx:{key}"] = mirror ? value : "";
        }

        var problems = new List<string>();
        SettingsFile.Bind(SettingsFile.Load("/nowhere", given), problems);
        problems.Should().OnlyContain(p => p.Contains("there is no file '/run/secrets/", StringComparison.Ordinal),
            "the files are there in the container only");
    }

    [Fact]
    public void The_image_is_for_both_processors_without_root_and_asks_the_program_itself_for_its_health()
    {
        var last = string.Join('\n', Dockerfile[Array.FindLastIndex(Dockerfile, l => l.StartsWith("FROM ", StringComparison.Ordinal))..]);
        last.Should().MatchRegex(@"(?m)^USER [1-9]\d*$").And.Contain("\"health\"").And.Contain("HEALTHCHECK");
        string.Join('\n', Dockerfile).Should().Contain("arm64").And.Contain("$BUILDPLATFORM");
    }

    private static string[] Dockerfile => File.ReadAllLines(Repository.File("src/RootCellar/Packaging/Dockerfile"));

    private static IEnumerable<(string Key, YamlNode Value)> Map(YamlMappingNode node, string key) =>
        ((YamlMappingNode)node[key]).Children.Select(c => (Text(c.Key), c.Value));

    private static IEnumerable<string> Keys(YamlMappingNode node) => node.Children.Keys.Select(Text);

    private static string Text(YamlNode node) => ((YamlScalarNode)node).Value ?? "";

    private static IReadOnlyList<string> Texts(YamlNode node) => [.. ((YamlSequenceNode)node).Select(Text)];

    private static YamlMappingNode Load(string name)
    {
        using var reader = new StreamReader(Repository.File(name));
        var yaml = new YamlStream();
        // What is said once for several services (<<) counts for each.
        yaml.Load(new MergingParser(new Parser(reader)));
        return (YamlMappingNode)yaml.Documents.Single().RootNode;
    }


    [GeneratedRegex(@"\$\{[^}]*\}", RegexOptions.NonBacktracking)]
    private static partial Regex Variable();

    [GeneratedRegex("^ARG [A-Z]+_IMAGE=", RegexOptions.NonBacktracking)]
    private static partial Regex ImageArgument();

    [GeneratedRegex("^[a-z]+([.][a-z]+)+(/[a-z-]+)+:[0-9]+([.][0-9]+)+(-[a-z]+)?(@sha256:[0-9a-f]{64})?$",
        RegexOptions.ExplicitCapture | RegexOptions.NonBacktracking)]
    private static partial Regex FullName();
}
