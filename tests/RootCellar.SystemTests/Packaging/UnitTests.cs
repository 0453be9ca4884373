using System.Globalization;
using System.Text.RegularExpressions;
using RootCellar.SystemTests.Running;
using RootCellar.SystemTests.Telling;

namespace RootCellar.SystemTests.Packaging;

/// <summary>
/// The unit of docs/install.md: how little it may, by systemd's own figure, and that the service lives under exactly that.
/// </summary>
[Collection(OneAtATime.Name)]
public sealed partial class UnitTests(ITestOutputHelper output)
{
    private const double MostExposure = 2.0;

    [Fact]
    public async Task Its_exposure_is_at_most_two_by_systemd_s_own_figure()
    {
        var analyze = await Needs.SystemdAnalyzeAsync();

        var said = await Tool.RunAsync(analyze, ["security", "--offline=true", "--no-pager", Unit]);

        output.WriteLine(said.Out);
        var figure = Exposure().Match(said.Out);
        figure.Success.Should().BeTrue(said.ToString());
        double.Parse(figure.Groups["figure"].Value, CultureInfo.InvariantCulture).Should().BeLessThanOrEqualTo(MostExposure);
    }

    [Fact]
    public async Task The_service_starts_is_used_and_stops_under_exactly_this_unit()
    {
        await using var gateway = await Gateway.StartAsync();
        int http = Ports.Free(), mqtt = Ports.Free();
        var program = Path.GetDirectoryName(BuiltProgram.Path)!;
        var settings = $$"""{"Http":{"Listen":"127.0.0.1:{{http}}"},"Mqtt":{"Listen":"127.0.0.1:{{mqtt}}"},"Watch":{"OnDelaySeconds":0},"Tell":{"Post":{"Url":"{{gateway.Url}}" } } }""";
        await using var systemd = await OwnSystemd.StartAsync(
            $"""
            mkdir -p $ROOT/opt/rootcellar $ROOT/var/lib/private/rootcellar
            chmod 700 $ROOT/var/lib/private
            mount --bind '{program}' $ROOT/opt/rootcellar
            cp '{Unit}' $ROOT/etc/systemd/system/
            printf '%s' '{settings}' > $ROOT/var/lib/private/rootcellar/rootcellar.json
            """);

        // Type=notify: it comes back when the service has said that it is ready, and not at all when it never can.
        await DoneAsync("systemctl", "start", "rootcellar");

        (await DoneAsync("systemctl", "show", "rootcellar", "-p", "ActiveState")).Out.Trim().Should().Be("ActiveState=active");
        var token = (await DoneAsync("/opt/rootcellar/rootcellar", "token", "add", "test", "--data", "/var/lib/rootcellar")).Out.Trim();
        using var api = new HttpClient { BaseAddress = new Uri($"http://127.0.0.1:{http}") };
        api.DefaultRequestHeaders.Authorization = new("Bearer", token);
        (await api.GetStringAsync(new Uri("/health/ready", UriKind.Relative), TestContext.Current.CancellationToken)).Should()
            .Contain("\"status\":\"healthy\"");
        await PostAsync("/api/places", $$"""{"place":"{{Air.CuringRoom}}","name":"Curing room","purpose":"curing"}""");
        await PostAsync("/api/contacts", """{"name":"Nell","channel":"post","address":"+15550142"}""");
        using var publisher = new Publisher(mqtt, "door");
        await publisher.ConnectAsync(TestContext.Current.CancellationToken);
        (await publisher.PublishAsync($"rootcellar/{Air.CuringRoom}/door", Air.Right, "1",
            TestContext.Current.CancellationToken)).Kept.Should().BeTrue();
        (await publisher.PublishAsync($"rootcellar/{Air.CuringRoom}/door", Air.TooWarm, "2",
            TestContext.Current.CancellationToken)).Kept.Should().BeTrue();
        await Eventually.HoldsAsync(() => gateway.Accepted.Count == 1, "the text is told");
        // Pages, charts and the copy as a person has them.
        (await api.GetStringAsync(new Uri($"/api/places/{Air.CuringRoom}/air", UriKind.Relative), TestContext.Current.CancellationToken))
            .Should().NotBeEmpty();
        await DoneAsync("/opt/rootcellar/rootcellar", "backup", "/run/copy.db", "--data", "/var/lib/rootcellar");
        var modes = (await DoneAsync(
            "sh", "-c", "stat -c '%a %U %n' /var/lib/private/rootcellar /var/lib/private/rootcellar/rootcellar.db* /var/lib/private/rootcellar/rootcellar.lock /var/lib/private/rootcellar/keys")).Out;
        output.WriteLine(modes);
        modes.Trim().Split('\n').Should().OnlyContain(
            l => l.StartsWith("600 rootcellar ", StringComparison.Ordinal) || l.StartsWith("700 rootcellar ", StringComparison.Ordinal));

        await DoneAsync("systemctl", "stop", "rootcellar");
        (await DoneAsync("systemctl", "show", "rootcellar", "-p", "Result", "-p", "NRestarts")).Out.Split(
            '\n', StringSplitOptions.RemoveEmptyEntries).Should().BeEquivalentTo("Result=success", "NRestarts=0");

        async Task<Said> DoneAsync(params string[] command)
        {
            var said = await systemd.RunAsync(command);
            if (said.Exit != 0) output.WriteLine((await systemd.RunAsync("systemctl", "status", "--no-pager", "rootcellar")).Out);
            said.Exit.Should().Be(0, said.ToString());
            return said;
        }

        async Task PostAsync(string path, string body)
        {
            using var answer = await api.PostAsync(new Uri(path, UriKind.Relative),
                new StringContent(body, System.Text.Encoding.UTF8, "application/json"), TestContext.Current.CancellationToken);
            answer.IsSuccessStatusCode.Should()
                .BeTrue($"{path}: {await answer.Content.ReadAsStringAsync(TestContext.Current.CancellationToken)}");
        }
    }

    private static string Unit
    {
        get
        {
            var folder = new DirectoryInfo(AppContext.BaseDirectory);
            while (!File.Exists(Path.Combine(folder.FullName, "RootCellar.sln")))
                folder = folder.Parent ?? throw new DirectoryNotFoundException("The repository is not above the tests.");
            return Path.Combine(folder.FullName, "src", "RootCellar", "Packaging", "rootcellar.service");
        }
    }

    [GeneratedRegex(@"Overall exposure level for rootcellar\.service: (?<figure>\d+\.\d+)",
        RegexOptions.ExplicitCapture | RegexOptions.NonBacktracking)]
    private static partial Regex Exposure();
}
