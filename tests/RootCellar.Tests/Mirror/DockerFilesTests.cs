using System.Text.RegularExpressions;
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
        "security_opt", "healthcheck", "depends_on", "networks", "profiles", "init", "stop_grace_period", "working_dir", "labels",
    ];

    private static readonly string[] HealthKeys = ["test", "interval", "timeout", "retries", "start_period", "start_interval", "disable"];

    private readonly YamlMappingNode file = Load("docker-compose.yml");

    private IEnumerable<(string Name, YamlMappingNode Service)> Services => Map(file, "services")
        .Select(s => (s.Key, (YamlMappingNode)s.Value));

    [Fact]
    public void Every_key_is_one_of_the_specification()
    {
        Keys(file).Should().BeSubsetOf(TopLevel);
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
                if (source.StartsWith('.')) File.Exists(Repository(source)).Should().BeTrue($"{name} mounts {source}");
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
    public void There_is_no_default_password()
    {
        var text = File.ReadAllText(Repository("docker-compose.yml"));
        foreach (Match variable in Variable().Matches(text))
            variable.Value.Should().Contain(":?", "a variable without a value stops the start");
        foreach (var (name, service) in Services)
        {
            if (!service.Children.TryGetValue("environment", out var environment)) continue;
            foreach (var (key, value) in ((YamlMappingNode)environment).Children)
                if (Text(key).Contains("PASSWORD", StringComparison.OrdinalIgnoreCase) || Text(key)
                    .Contains("TOKEN", StringComparison.OrdinalIgnoreCase))
                    Text(value).Should().StartWith("/run/secrets/", $"{name}: {key}");
        }

        foreach (var (secret, from) in Map(file, "secrets")) Text(((YamlMappingNode)from)["file"]).Should().StartWith("./secrets/", secret);
        File.ReadAllText(Repository(".gitignore")).Should().Contain("/secrets/");
    }

    [Fact]
    public void The_settings_it_gives_pass_the_check()
    {
        var settings = (YamlMappingNode)Services.Single(s => s.Name == "rootcellar").Service["environment"];
        var given = settings.Children.ToDictionary(e => Text(e.Key)[SettingsFile.EnvironmentPrefix.Length..]
            .Replace("__", ":", StringComparison.Ordinal), e => (string?)Text(e.Value));
        given["Household:TimeZone"] = "America/New_York";
        var problems = new List<string>();
        SettingsFile.Bind(SettingsFile.Load("/nowhere", given), problems);
        problems.Should().OnlyContain(p => p.Contains("there is no file '/run/secrets/", StringComparison.Ordinal),
            "the files are there in the container only");
    }

    [Fact]
    public void The_image_is_for_both_processors_without_root_and_asks_the_program_itself_for_its_health()
    {
        var lines = File.ReadAllLines(Repository("src/RootCellar/Packaging/Dockerfile"));
        var last = string.Join('\n', lines[Array.FindLastIndex(lines, l => l.StartsWith("FROM ", StringComparison.Ordinal))..]);
        last.Should().MatchRegex(@"(?m)^USER [1-9]\d*$").And.Contain("\"health\"").And.Contain("HEALTHCHECK");
        string.Join('\n', lines).Should().Contain("arm64").And.Contain("$BUILDPLATFORM");
        lines.Where(l => l.StartsWith("ARG ", StringComparison.Ordinal) && l.Contains('='))
            .Select(l => l.Split('=').Last().Split('/').First())
            .Should().OnlyContain(first => !first.Contains('.'), "where images come from is the installer's choice");
    }

    private static IEnumerable<(string Key, YamlNode Value)> Map(YamlMappingNode node, string key) =>
        ((YamlMappingNode)node[key]).Children.Select(c => (Text(c.Key), c.Value));

    private static IEnumerable<string> Keys(YamlMappingNode node) => node.Children.Keys.Select(Text);

    private static string Text(YamlNode node) => ((YamlScalarNode)node).Value ?? "";

    private static IReadOnlyList<string> Texts(YamlNode node) => [.. ((YamlSequenceNode)node).Select(Text)];

    private static YamlMappingNode Load(string name)
    {
        using var reader = new StreamReader(Repository(name));
        var yaml = new YamlStream();
        yaml.Load(reader);
        return (YamlMappingNode)yaml.Documents.Single().RootNode;
    }

    private static string Repository(string name)
    {
        var folder = new DirectoryInfo(AppContext.BaseDirectory);
        while (!File.Exists(Path.Combine(folder.FullName, "RootCellar.sln")))
            folder = folder.Parent ?? throw new DirectoryNotFoundException("The repository is not above the tests.");
        return Path.Combine(folder.FullName, name);
    }

    [GeneratedRegex(@"\$\{[^}]*\}", RegexOptions.NonBacktracking)]
    private static partial Regex Variable();
}
