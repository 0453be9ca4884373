using RootCellar.Household;
using RootCellar.Tests.Storage;

namespace RootCellar.Tests;

public sealed class SettingsFileTests : IDisposable
{
    private readonly TempFolder folder = new();

    public void Dispose() => folder.Dispose();

    [Fact]
    public void Every_default_passes()
    {
        var (settings, problems) = Load(null);
        problems.Should().BeEmpty();
        settings.Watch.OnDelaySeconds.Should().Be(1200);
        settings.Keep.RawDays.Should().Be(30);
        settings.Keep.BatchSeconds.Should().Be(10);
        settings.Household.Temperature.Should().Be("F");
    }

    [Fact]
    public void Comments_and_trailing_commas_are_allowed_and_the_case_of_a_key_does_not_matter()
    {
        var (settings, problems) = Load("""
            {
              // The room is slow.
              "watch": { "OnDelaySeconds": 600, "Temperature": { "DeadbandC": 0.3 }, /* so there */ },
            }
            """);
        problems.Should().BeEmpty();
        settings.Watch.OnDelaySeconds.Should().Be(600);
        settings.Watch.Temperature.DeadbandC.Should().Be(0.3);
    }

    [Theory]
    [InlineData("""{"Wach":{"OnDelaySeconds":1}}""", "Wach: no such key. Did you mean Watch?")]
    [InlineData("""{"Watch":{"OnDelay":1}}""", "Watch:OnDelay: no such key.")]
    [InlineData("""{"Watch":{"OnDelaySecond":1}}""", "Watch:OnDelaySecond: no such key. Did you mean Watch:OnDelaySeconds?")]
    [InlineData("""{"Mqtt":{"Broker":{"Hots":"x"}}}""", "Mqtt:Broker:Hots: no such key. Did you mean Mqtt:Broker:Host?")]
    [InlineData("""{"Mqtt":{"Mappings":[{"Topic":"a","Quantity":"light_lx","Poniter":"/x"}]}}""",
        "Mqtt:Mappings:0:Poniter: no such key. Did you mean Mqtt:Mappings:0:Pointer?")]
    [InlineData("""{"Zzzzzzzz":1}""", "Zzzzzzzz: no such key. Known here: Http, Mqtt")]
    [InlineData("""{"Watch":{"OnDelaySeconds":"soon"}}""", "Watch:OnDelaySeconds: 'soon' is not a whole number, such as 30.")]
    [InlineData("""{"Tell":{"Mail":{"To":["a@b"]}}}""", "Tell:Mail:To: a list is given, 'a@b'. Right: a single value: \"a@b\".")]
    [InlineData("""{"Tell":{"Mail":{"To":["a@b","c@d"]}}}""",
        "Tell:Mail:To: a list is given, 'a@b', 'c@d'. Right: a single value, a text in quotation marks.")]
    [InlineData("""{"Tell":{"Mail":{"To":{"Nell":"a@b"}}}}""",
        "Tell:Mail:To: keys are given, Nell. Right: a single value, a text in quotation marks.")]
    [InlineData("""{"Tell":{"Mail":{"Port":"smtp"}}}""", "Tell:Mail:Port: 'smtp' is not a whole number, such as 30.")]
    [InlineData("""{"Tell":{"Mail":{"Port":5870000000000}}}""", "Tell:Mail:Port: '5870000000000' is not a whole number")]
    [InlineData("""{"Tell":{"Mail":{"Port":[587]}}}""", "Tell:Mail:Port: a list is given, '587'. Right: a single value: 587.")]
    [InlineData("""{"Tell":{"Mail":{"Port":null}}}""", "Tell:Mail:Port: null is not a whole number, such as 30.")]
    [InlineData("""{"Tell":{"Post":{"Headers":["X: y"]}}}""", "Tell:Post:Headers: a list is given. Right: keys in braces")]
    [InlineData("""{"Tell":{"Post":{"Headers":{"X":["y"]}}}}""",
        "Tell:Post:Headers:X: a list is given, 'y'. Right: a single value: \"y\".")]
    [InlineData("""{"Http":{"OpenMetrics":"yes"}}""", "Http:OpenMetrics: 'yes' is not true or false.")]
    [InlineData("""{"Watch":{"Temperature":{"DeadbandC":"half"}}}""", "Watch:Temperature:DeadbandC: 'half' is not a number, such as 0.5.")]
    [InlineData("""{"Watch":"on"}""", "Watch: 'on' is a single value. Right: keys in braces, { ... }.")]
    [InlineData("""{"Watch":[{"OnDelaySeconds":1}]}""", "Watch: a list is given. Right: keys in braces, { ... }.")]
    [InlineData("""{"Mqtt":{"Mappings":{"Topic":"a","Quantity":"light_lx"}}}""",
        "Mqtt:Mappings: keys are given. Right: a list in brackets")]
    [InlineData("""{"Mqtt":{"Mappings":["a"]}}""", "Mqtt:Mappings:0: 'a' is a single value. Right: keys in braces, { ... }.")]
    [InlineData("""{"Mqtt":{"Mappings":[{"Topic":"a","Quantity":"light_lx","Scale":"x"}]}}""",
        "Mqtt:Mappings:0:Scale: 'x' is not a number, such as 0.5.")]
    [InlineData("""{"Watch":{"OnDelaySeconds":-1}}""", "it must be 0 to 86400 seconds")]
    [InlineData("""{"Keep":{"RawDays":0}}""", "Keep:RawDays: '0' must be from 1 to 3650.")]
    [InlineData("""{"Keep":{"BatchSeconds":11}}""", "Keep:BatchSeconds: '11' must be from 0 to 10.")]
    [InlineData("""{"Http":{"Listen":"8080"}}""", "Http:Listen: '8080' is not HOST:PORT. Right: 0.0.0.0:8080")]
    [InlineData("""{"Mqtt":{"Listen":"0.0.0.0:99999"}}""", "Mqtt:Listen: '0.0.0.0:99999' is not HOST:PORT")]
    [InlineData("""{"Mqtt":{"Broker":{"Port":0}}}""", "Mqtt:Broker:Port: '0' must be from 1 to 65535.")]
    [InlineData("""{"Household":{"Temperature":"K"}}""", "Household:Temperature: 'K' must be F or C.")]
    [InlineData("""{"Household":{"TimeZone":"Mars/North"}}""", "Right: America/New_York")]
    [InlineData("""{"Tell":{"Mail":{"Tls":"maybe"}}}""", "must be auto, on, starttls or off")]
    [InlineData("""{"Tell":{"Mail":{"PasswordFile":"/nowhere/at/all"}}}""", "there is no file '/nowhere/at/all'")]
    [InlineData("""{"Tell":{"Post":{"Url":"ftp://x"}}}""", "Tell:Post:Url: 'ftp://x' is not a web address")]
    [InlineData("""{"Tell":{"Post":{"BodyTemplate":"{{ if to }}x"}}}""", "Tell:Post:BodyTemplate")]
    [InlineData("""{"Mqtt":{"Mappings":[{"Topic":"a","Quantity":"temp"}]}}""",
        "Mqtt:Mappings:0: Quantity: 'temp' is not one of temperature_c")]
    [InlineData("""{"Watch":{"OnDelaySeconds":1}""", "not readable as JSON")]
    public void What_is_wrong_is_said_with_its_key_and_what_would_be_right(string json, string expected)
    {
        var (_, problems) = Load(json);
        problems.Should().ContainSingle().Which.Should().Contain(expected);
    }

    [Fact]
    public void Everything_that_is_wrong_is_said_at_once()
    {
        var (_, problems) = Load(
            """{"Watch":{"OnDelaySeconds":"soon","OffDelay":1},"Tell":{"Mail":{"To":["a@b"]}},"Household":{"TimeZone":"Mars/North"}}""");
        problems.Should().HaveCount(4).And.NotContain(
            p => p.Contains("System.", StringComparison.Ordinal) || p.Contains("Failed to convert", StringComparison.Ordinal));
    }

    [Fact]
    public void Null_is_a_key_that_is_not_there()
    {
        var (settings, problems) = Load("""{"Tell":{"Mail":{"To":null,"From":null}},"Http":{"PublicUrl":null}}""");
        problems.Should().BeEmpty();
        settings.Tell.Mail.From.Should().Be("rootcellar@localhost");
    }

    [Fact]
    public void The_environment_goes_before_the_file_and_the_command_line_before_both()
    {
        Dictionary<string, string> environment = new(StringComparer.Ordinal)
        {
            ["ROOTCELLAR__Watch__OnDelaySeconds"] = "0",
            ["ROOTCELLAR__Mqtt__Mappings__1__Topic"] = "b/#",
            ["ROOTCELLAR__Mqtt__Mappings__1__Quantity"] = "temperature_f",
            ["ROOTCELLAR__Mqtt__Mappings__1__Scale"] = "0.1",
        };
        try
        {
            foreach (var (key, value) in environment) Environment.SetEnvironmentVariable(key, value);
            var (settings, problems) = Load(
                """{"Watch":{"OnDelaySeconds":600},"Http":{"Listen":"127.0.0.1:1"},"Mqtt":{"Mappings":[{"Topic":"a","Pointer":"/x~1y","Quantity":"light_lx"}]}}""",
                ("Http:Listen", "127.0.0.1:2"));
            problems.Should().BeEmpty();
            settings.Watch.OnDelaySeconds.Should().Be(0);
            settings.Http.Listen.Should().Be("127.0.0.1:2");
            settings.Mqtt.Mappings.Select(m => $"{m.Topic} {m.Pointer} {m.Quantity} {m.Scale}").Should()
                .Equal("a /x~1y light_lx ", "b/#  temperature_f 0.1");
        }
        finally
        {
            foreach (var key in environment.Keys) Environment.SetEnvironmentVariable(key, null);
        }
    }

    [Theory]
    [InlineData("0.0.0.0:8080", "0.0.0.0:8080")]
    [InlineData("*:80", "0.0.0.0:80")]
    [InlineData("localhost:80", "127.0.0.1:80")]
    [InlineData("[::1]:80", "[::1]:80")]
    [InlineData("127.0.0.1:0", "127.0.0.1:0")]
    [InlineData("cellar.local:80", null)]
    [InlineData(":80", null)]
    [InlineData("127.0.0.1:", null)]
    public void Where_to_listen(string given, string? expected) => ListenAddress.Of(given)?.ToString().Should().Be(expected);

    private (Settings Settings, List<string> Problems) Load(string? json, params (string Key, string Value)[] commandLine)
    {
        if (json is not null) File.WriteAllText(Path.Combine(folder.Path, SettingsFile.Name), json);
        var problems = new List<string>();
        var configuration = SettingsFile.Load(folder.Path, commandLine.Select(c => KeyValuePair.Create(c.Key, (string?)c.Value)), problems);
        return (SettingsFile.Bind(configuration, problems), problems);
    }
}
