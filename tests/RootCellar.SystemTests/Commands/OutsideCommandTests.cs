using System.Text.Json.Nodes;
using RootCellar.SystemTests.Running;

namespace RootCellar.SystemTests.Commands;

/// <summary>The commands as a person or a script runs them: exit codes, stdout and stderr of the real program.</summary>
public sealed class OutsideCommandTests
{
    [Theory]
    [InlineData("""{ /* comments and trailing commas are fine */ "Watch": { "OnDelaySeconds": 600, }, "Keep": { "RawDays": 60 }, }""")]
    [InlineData("{}")]
    [InlineData(null)]
    public async Task A_good_configuration_is_well(string? file)
    {
        var said = await CheckAsync(file);

        said.Exit.Should().Be(0, said.ToString());
        said.Out.Should().StartWith("All well.");
        said.Error.Should().BeEmpty();
    }

    [Theory]
    [InlineData("""{ "Watch": { "OnDelaySecond": 5 } }""", "Watch:OnDelaySecond: no such key. Did you mean Watch:OnDelaySeconds?")]
    [InlineData("""{ "Wach": { "OnDelaySeconds": 5 } }""", "Did you mean Watch?")]
    [InlineData("""{ "Watch": { "OnDelaySeconds": -5 } }""", "Watch:OnDelaySeconds")]
    [InlineData("""{ "Watch": { "OnDelaySeconds": "soon" } }""", "Watch:OnDelaySeconds")]
    [InlineData("""{ "Keep": { "BatchSeconds": 60 } }""", "Keep:BatchSeconds")]
    [InlineData("""{ "Household": { "Temperature": "K" } }""", "F or C")]
    [InlineData("""{ "Http": { "Listen": "8080" } }""", "Http:Listen: '8080' is not HOST:PORT")]
    [InlineData("""{ "Tell": { "Post": { "Url": "gateway" } } }""", "Tell:Post:Url")]
    [InlineData("""{ "Mqtt": { "Mappings": [ { "Topic": "zigbee/+/x", "Quantity": "temprature_c" } ] } }""", "Mqtt:Mappings:0")]
    [InlineData("""{ "Watch": { "OnDelaySeconds": 5 """, "not readable as JSON")]
    public async Task A_bad_configuration_says_what_is_wrong_and_where(string file, string expected)
    {
        var said = await CheckAsync(file);

        said.Exit.Should().Be(1, said.ToString());
        said.Error.Should().Contain(expected);
        said.Error.Should().NotContain("   at ", "a stack trace helps nobody here");
        said.Out.Should().BeEmpty();
    }

    [Fact]
    public async Task Everything_wrong_is_said_at_once_also_as_json()
    {
        const string file = """{ "Watch": { "OnDelaySecond": 5, "RemindHours": 1000 }, "Keep": { "RawDays": 0 } }""";

        var said = await CheckAsync(file, "--json");

        said.Exit.Should().Be(1);
        var json = JsonNode.Parse(said.Out)!;
        ((bool)json["ok"]!).Should().BeFalse();
        json["problems"]!.AsArray().Should().HaveCount(3);
    }

    [Fact]
    public async Task Run_refuses_a_bad_configuration()
    {
        using var scratch = new Scratch();
        await File.WriteAllTextAsync(scratch.File("rootcellar.json"), """{ "Keep": { "RawDay": 3 } }""",
            TestContext.Current.CancellationToken);

        var said = await BuiltProgram.RunAsync("run", "--data", scratch.Path);

        said.Exit.Should().Be(2, said.ToString());
        said.Error.Should().Contain("Did you mean Keep:RawDays?");
    }

    [Fact]
    public async Task A_wrong_key_in_the_environment_is_as_wrong_as_in_the_file()
    {
        using var scratch = new Scratch();

        var said = await BuiltProgram.RunAsync(new Dictionary<string,
            string>(StringComparer.Ordinal)
        { ["ROOTCELLAR__Keep__RawDay"] = "3" }, ["check", "--data", scratch.Path]);

        said.Exit.Should().Be(1, said.ToString());
        said.Error.Should().Contain("Did you mean Keep:RawDays?");
    }

    [Fact]
    public async Task Tokens_open_and_close_while_the_service_runs()
    {
        await using var service = await RunningService.StartAsync();
        using var http = new HttpClient { BaseAddress = new Uri($"http://127.0.0.1:{service.HttpPort}") };
        (await StatusAsync(http, "no such token")).Should().Be(401);

        var added = await BuiltProgram.RunAsync("token", "add", "kitchen", "--data", service.Data);
        added.Exit.Should().Be(0, added.ToString());
        var token = added.Out.Trim();
        token.Length.Should().BeGreaterThan(20);
        (await StatusAsync(http, token)).Should().Be(200);
        (await BuiltProgram.RunAsync("token", "list", "--data", service.Data)).Out.Should().Contain("kitchen").And.NotContain(token);
        var again = await BuiltProgram.RunAsync("token", "add", "kitchen", "--data", service.Data);
        again.Exit.Should().Be(2);
        again.Error.Should().Contain("token remove kitchen");

        (await BuiltProgram.RunAsync("token", "remove", "kitchen", "--data", service.Data)).Exit.Should().Be(0);
        (await StatusAsync(http, token)).Should().Be(401);
        (await BuiltProgram.RunAsync("token", "remove", "kitchen", "--data", service.Data)).Exit.Should().Be(1);
    }

    [Theory]
    [InlineData("run")]
    [InlineData("check")]
    [InlineData("token")]
    [InlineData("token add")]
    [InlineData("token list")]
    [InlineData("token remove")]
    [InlineData("air")]
    [InlineData("salts")]
    [InlineData("crops")]
    public async Task Help_of_every_command_shows_an_example(string command)
    {
        var said = await BuiltProgram.RunAsync([.. command.Split(' '), "--help"]);

        said.Exit.Should().Be(0, said.ToString());
        said.Out.Should().Contain("Examples:").And.Contain($"  rootcellar {command}");
        said.Error.Should().BeEmpty();
    }

    [Theory]
    [InlineData("")]
    [InlineData("fly")]
    [InlineData("run --color blue")]
    [InlineData("token")]
    [InlineData("token add")]
    [InlineData("air --temp 12 --rh 90%")]
    [InlineData("air --rh 90%")]
    [InlineData("crops mango-tree")]
    public async Task Wrong_usage_exits_2_with_one_line_on_stderr(string command)
    {
        var said = await BuiltProgram.RunAsync(command.Split(' ', StringSplitOptions.RemoveEmptyEntries));

        said.Exit.Should().Be(2, said.ToString());
        said.Out.Should().BeEmpty();
        said.Error.TrimEnd('\n').Should().NotBeEmpty().And.NotContain("\n");
    }

    [Fact]
    public async Task A_port_that_is_taken_is_said_in_one_line()
    {
        await using var first = await RunningService.StartAsync();
        using var scratch = new Scratch();

        var pages = await BuiltProgram.RunAsync("run", "--data", scratch.Path, "--http", $"127.0.0.1:{first.HttpPort}", "--mqtt",
            $"127.0.0.1:{Ports.Free()}");
        var broker = await BuiltProgram.RunAsync("run", "--data", scratch.Path, "--http", $"127.0.0.1:{Ports.Free()}", "--mqtt",
            $"127.0.0.1:{first.MqttPort}");

        pages.Exit.Should().Be(2, pages.ToString());
        pages.Error.Should().Contain("--http").And.NotContain("   at ");
        broker.Exit.Should().Be(2, broker.ToString());
        broker.Error.Should().Contain("--mqtt").And.NotContain("   at ");
    }

    private static async Task<Said> CheckAsync(string? file, params string[] more)
    {
        using var scratch = new Scratch();
        if (file is not null) await File.WriteAllTextAsync(scratch.File("rootcellar.json"), file);
        return await BuiltProgram.RunAsync(["check", "--data", scratch.Path, .. more]);
    }

    private static async Task<int> StatusAsync(HttpClient http, string token)
    {
        using var request = new HttpRequestMessage(HttpMethod.Get, "/api/places");
        request.Headers.TryAddWithoutValidation("Authorization", $"Bearer {token}");
        using var response = await http.SendAsync(request);
        return (int)response.StatusCode;
    }
}
