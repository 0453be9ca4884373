using System.Text.Json.Nodes;

namespace RootCellar.SystemTests.Running;

/// <summary>One figure of one series at one moment, ms.</summary>
public sealed record Sample(string Name, string Labels, long AtMs, double Value);

/// <summary>Debian's victoria-metrics on a port and a folder of its own: a real server that takes writes of the InfluxDB v2 API.</summary>
public sealed class VictoriaMetrics : IAsyncDisposable
{
    private readonly Scratch scratch = new();
    private readonly HttpClient http = new() { Timeout = TimeSpan.FromSeconds(20) };
    private readonly string program;
    private Child? child;

    private VictoriaMetrics(string program) => this.program = program;

    public int Port { get; } = Ports.Free();

    public string Url => $"http://127.0.0.1:{Port}";

    public static async Task<VictoriaMetrics> StartAsync(params string[] more)
    {
        var server = new VictoriaMetrics(await Needs.VictoriaMetricsAsync());
        await server.RunAsync(more);
        return server;
    }

    /// <summary>Settings of the service for it.</summary>
    public (string, string)[] Settings(params (string, string)[] more) => SettingsFor(Url, more);

    public static (string, string)[] SettingsFor(string url, params (string, string)[] more) =>
        [("Mirror:Influx:Url", url), ("Mirror:Influx:Org", "house"), ("Mirror:Influx:Bucket", "cellar"), ("Mirror:EverySeconds", "1"),
            ("Mirror:Influx:TimeoutSeconds", "2"), .. more];

    public async Task RunAsync(params string[] more)
    {
        child?.Dispose();
        // Without the first of these a point that is sent twice is two points there.
        child = new Child(program,
            ["-dedup.minScrapeInterval=1ms", "-retentionPeriod=100y", $"-httpListenAddr=127.0.0.1:{Port}",
                $"-storageDataPath={scratch.File("data")}", "-memory.allowedPercent=10", .. more]);
        await Eventually.HoldsAsync(
            async () =>
            {
                if (child.HasExited) throw new InvalidOperationException(child.Everything);
                try
                {
                    return (await http.GetStringAsync(new Uri($"{Url}/health"))) == "OK";
                }
                catch (HttpRequestException)
                {
                    return false;
                }
            },
            "victoria-metrics answers",
            details: () => child.Everything);
    }

    /// <summary>Ends it the ordinary way: what it took is then on its disk, which is not so after a kill.</summary>
    public Task StopAsync() => child!.TerminateAsync(TimeSpan.FromSeconds(20));

    public Task FreezeAsync() => Tool.RunAsync("kill", ["-STOP", child!.Id.ToString()]);

    public Task ThawAsync() => Tool.RunAsync("kill", ["-CONT", child!.Id.ToString()]);

    public Task<IReadOnlyList<Sample>> ExportAsync(string match = "{__name__=~\".+\"}") => ExportAsync(http, Url, match);

    /// <summary>All samples, each series in the order of time.</summary>
    public static async Task<IReadOnlyList<Sample>> ExportAsync(HttpClient http, string url, string match)
    {
        await http.GetStringAsync(new Uri($"{url}/internal/force_flush"));
        var text = await http.GetStringAsync(new Uri($"{url}/api/v1/export?match[]={Uri.EscapeDataString(match)}"));
        var samples = new List<Sample>();
        foreach (var line in text.Split('\n', StringSplitOptions.RemoveEmptyEntries))
        {
            var series = JsonNode.Parse(line)!;
            var metric = series["metric"]!.AsObject();
            var labels = string.Join(',', metric.Where(l => l.Key != "__name__").OrderBy(l => l.Key, StringComparer.Ordinal)
                .Select(l => $"{l.Key}={l.Value}"));
            samples.AddRange(series["timestamps"]!.AsArray()
                .Zip(series["values"]!.AsArray(), (at, value) => new Sample(
                    (string)metric["__name__"]!, labels, (long)at!, (double)value!)));
        }

        return samples;
    }

    public ValueTask DisposeAsync()
    {
        child?.Dispose();
        http.Dispose();
        scratch.Dispose();
        return ValueTask.CompletedTask;
    }
}
