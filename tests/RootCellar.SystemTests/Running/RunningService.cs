using System.Net.Http.Headers;
using System.Net.Http.Json;
using System.Text.Json.Nodes;
using Microsoft.Data.Sqlite;

namespace RootCellar.SystemTests.Running;

/// <summary>
/// The built program in its own process on the loopback address, with a data folder of its own. May be killed, stopped
/// and started again on the same data; ended with the test.
/// </summary>
public sealed class RunningService : IAsyncDisposable
{
    public static readonly TimeSpan StartWithin = TimeSpan.FromSeconds(60);
    private static readonly TimeSpan StopWithin = TimeSpan.FromSeconds(40);

    private readonly Scratch scratch = new();
    private readonly Dictionary<string, string> settings = new(StringComparer.Ordinal);
    private readonly HttpClient http;
    private Child? child;
    private bool hasToken;

    /// <param name="data">The data folder; one of its own when null.</param>
    public RunningService(string? data = null, params IEnumerable<(string Key, string Value)> settings)
    {
        Data = data ?? Directory.CreateDirectory(scratch.File("data")).FullName;
        foreach (var (key, value) in settings) Set(key, value);
        HttpPort = Ports.Free();
        MqttPort = Ports.Free();
        http = new HttpClient { BaseAddress = new Uri($"http://127.0.0.1:{HttpPort}"), Timeout = TimeSpan.FromSeconds(20) };
    }

    public string Data { get; }

    public string RecordPath => Path.Combine(Data, "rootcellar.db");

    public int HttpPort { get; }

    public int MqttPort { get; }

    public Child Process => child ?? throw new InvalidOperationException("It was not started.");

    public string Everything => child?.Everything ?? "(not started)";

    public static async Task<RunningService> StartAsync(params (string Key, string Value)[] settings)
    {
        var service = new RunningService(null, settings);
        await service.StartAsync();
        return service;
    }

    /// <summary>A key of the configuration, given by the environment at the next start.</summary>
    public void Set(string key, string value) => settings[$"ROOTCELLAR__{key.Replace(":", "__", StringComparison.Ordinal)}"] = value;

    /// <summary>A variable of the environment as it is, at the next start.</summary>
    public void SetEnvironment(string name, string value) => settings[name] = value;

    /// <summary>Starts it, and does not wait.</summary>
    public void Launch()
    {
        child?.Dispose();
        child = new Child(
            "dotnet",
            [BuiltProgram.Path, "run", "--data", Data, "--http", $"127.0.0.1:{HttpPort}", "--mqtt", $"127.0.0.1:{MqttPort}"],
            settings);
    }

    public async Task StartAsync()
    {
        Launch();
        await ReadyAsync();
    }

    public Task ReadyAsync() => Eventually.HoldsAsync(
        () => Process.HasExited ? throw new InvalidOperationException(
            $"It ended with {Process.ExitCode}.{Environment.NewLine}{Everything}") : Process.Output.Contains("Ready."),
        "the service says Ready.",
        StartWithin,
        () => Everything);

    /// <summary>kill -9.</summary>
    public void Kill() => Process.Kill();

    /// <summary>SIGTERM, and it must end well.</summary>
    public async Task StopAsync() => (await Process.TerminateAsync(StopWithin)).Should().Be(0, Everything);

    public async Task<HttpClient> ApiAsync()
    {
        if (hasToken) return http;
        var said = await BuiltProgram.RunAsync("token", "add", $"test-{Guid.NewGuid():N}", "--data", Data);
        said.Exit.Should().Be(0, said.ToString());
        http.DefaultRequestHeaders.Authorization = new AuthenticationHeaderValue("Bearer", said.Out.Trim());
        hasToken = true;
        return http;
    }

    public async Task<JsonNode> GetAsync(string path)
    {
        var api = await ApiAsync();
        using var response = await api.GetAsync(new Uri(path, UriKind.Relative));
        var text = await response.Content.ReadAsStringAsync();
        response.IsSuccessStatusCode.Should().BeTrue($"{path} answered {response.StatusCode}: {text}");
        return JsonNode.Parse(text)!;
    }

    public async Task PostAsync(string path, object body)
    {
        var api = await ApiAsync();
        using var response = await api.PostAsJsonAsync(new Uri(path, UriKind.Relative), body);
        response.IsSuccessStatusCode.Should().BeTrue(
            $"{path} answered {response.StatusCode}: {await response.Content.ReadAsStringAsync()}");
    }

    public Task AddPlaceAsync(string place, string name, string purpose) => PostAsync("/api/places", new { place, name, purpose });

    public Task AddContactAsync(string channel, string address) => PostAsync("/api/contacts", new { name = "Nell", channel, address });

    /// <summary>The sensor as the API shows it, once it does.</summary>
    public Task<JsonNode> SensorAsync(string key) =>
        Eventually.GivesAsync(() => FindSensorAsync(key), $"the sensor {key} is known", details: () => Everything);

    public async Task<JsonNode?> FindSensorAsync(string key) => (await GetAsync("/api/sensors")).AsArray()
        .FirstOrDefault(s => (string?)s!["sensor"] == key);

    /// <summary>The last value a sensor said, in SI, once it has said it.</summary>
    public Task<JsonNode> LastAsync(string key, string quantity) => Eventually.GivesAsync(
        async () => (await FindSensorAsync(key))?["last"]?.AsArray().FirstOrDefault(r => (string?)r!["quantity"] == quantity),
        $"{key} has said {quantity}",
        details: () => Everything);

    /// <param name="metric">By its name; one that has labels with them, as it stands in the text.</param>
    public async Task<double> CountAsync(string metric)
    {
        if (!metric.EndsWith('}')) metric += "{}";
        return (await MetricsAsync()).Split('\n').Where(l => l.StartsWith(metric + " ", StringComparison.Ordinal))
            .Select(l => double.Parse(l.Split(' ')[^1])).Single();
    }

    /// <summary>All figures, as Prometheus reads them.</summary>
    public async Task<string> MetricsAsync() => await (await ApiAsync()).GetStringAsync(new Uri("/metrics", UriKind.Relative));

    public async Task<(int Status, string Text)> ReadinessAsync()
    {
        using var response = await http.GetAsync(new Uri("/health/ready", UriKind.Relative));
        return ((int)response.StatusCode, await response.Content.ReadAsStringAsync());
    }

    /// <summary>Reads the file itself, without the program.</summary>
    public IReadOnlyList<T> Query<T>(string sql, Func<SqliteDataReader, T> row)
    {
        using var connection =
            new SqliteConnection(new SqliteConnectionStringBuilder { DataSource = RecordPath, Pooling = false }.ToString());
        connection.Open();
        using var command = connection.CreateCommand();
#pragma warning disable CA2100 // The tests' own text.
        command.CommandText = sql;
#pragma warning restore CA2100
        using var reader = command.ExecuteReader();
        var rows = new List<T>();
        while (reader.Read()) rows.Add(row(reader));
        return rows;
    }

    public ValueTask DisposeAsync()
    {
        child?.Dispose();
        http.Dispose();
        scratch.Dispose();
        return ValueTask.CompletedTask;
    }
}
