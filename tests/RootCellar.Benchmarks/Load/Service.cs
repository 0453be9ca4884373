using System.Diagnostics;
using System.Globalization;
using System.Net;
using System.Net.Http.Headers;
using System.Net.Http.Json;
using System.Net.Sockets;
using Microsoft.Data.Sqlite;

namespace RootCellar.Benchmarks.Load;

/// <summary>The built service in a process of its own, on free loopback ports and a fresh folder; ended by its own id.</summary>
internal sealed class Service : IAsyncDisposable
{
    private readonly Process process;
    private readonly string folder;
    private readonly int http;
    private readonly Task errors;
    private readonly List<string> said = [];

    private Service(Process process, string folder, int http, int mqtt)
    {
        this.process = process;
        this.folder = folder;
        this.http = http;
        Mqtt = mqtt;
        errors = Task.Run(async () =>
        {
            while (await process.StandardError.ReadLineAsync() is { } line) said.Add(line);
        });
    }

    public int Mqtt { get; }

    public string Folder => folder;

    public long FileBytes => new DirectoryInfo(folder).EnumerateFiles("rootcellar.db*").Sum(f => f.Length);

    public TimeSpan Cpu
    {
        get
        {
            process.Refresh();
            return process.TotalProcessorTime;
        }
    }

    public static async Task<Service> StartAsync(CancellationToken cancellationToken)
    {
        var data = Directory.CreateTempSubdirectory("rootcellar-load-").FullName;
        int pages = FreePort(), mqtt = FreePort();
        var start = new ProcessStartInfo(Path.Combine(AppContext.BaseDirectory, "rootcellar"))
        {
            UseShellExecute = false,
            RedirectStandardOutput = true,
            RedirectStandardError = true,
            ArgumentList = { "run", "--data", data, "--http", $"127.0.0.1:{pages}", "--mqtt", $"127.0.0.1:{mqtt}" },
            Environment = { ["ROOTCELLAR__Watch__OnDelaySeconds"] = "0", ["ROOTCELLAR__Watch__OffDelaySeconds"] = "0" },
        };
        var service = new Service(Process.Start(start)!, data, pages, mqtt);
        while (await service.process.StandardOutput.ReadLineAsync(cancellationToken) is { } line)
        {
            if (line == "Ready.") return service;
        }

        await service.DisposeAsync();
        throw new InvalidOperationException("The service did not start.");
    }

    /// <summary>Sets up a place as a script would: a token by the command, the place by the API.</summary>
    public async Task AddPlacesAsync(IReadOnlyDictionary<string, string> places, CancellationToken cancellationToken)
    {
        var ask = new ProcessStartInfo(process.StartInfo.FileName)
        { UseShellExecute = false, RedirectStandardOutput = true, ArgumentList = { "token", "add", "load", "--data", folder } };
        using var command = Process.Start(ask)!;
        var token = (await command.StandardOutput.ReadToEndAsync(cancellationToken)).Trim();
        await command.WaitForExitAsync(cancellationToken);
        using var client = new HttpClient { BaseAddress = new Uri($"http://127.0.0.1:{http}/") };
        client.DefaultRequestHeaders.Authorization = new AuthenticationHeaderValue("Bearer", token);
        foreach (var (place, purpose) in places)
        {
            using var answer = await client.PostAsJsonAsync(
                "api/places", new { place, purpose, crops = new[] { "potato" } }, cancellationToken);
            answer.EnsureSuccessStatusCode();
        }
    }

    /// <summary>Rows in the record and how many of them were believed, read from the file itself.</summary>
    public (long Rows, long Good) Rows()
    {
        using var connection = new SqliteConnection($"Data Source={Path.Combine(folder, "rootcellar.db")};Mode=ReadOnly;Pooling=False");
        connection.Open();
        using var command = connection.CreateCommand();
        command.CommandText = "SELECT count(*), sum(quality = 0) FROM reading";
        using var row = command.ExecuteReader();
        row.Read();
        return (row.GetInt64(0), row.IsDBNull(1) ? 0 : row.GetInt64(1));
    }

    /// <summary>What the kernel says is resident, in MB.</summary>
    public (double Resident, double Anonymous, double Peak) Memory()
    {
        var lines = File.ReadAllLines($"/proc/{process.Id}/status");
        return (Mb("VmRSS:"), Mb("RssAnon:"), Mb("VmHWM:"));

        double Mb(string name) =>
            long.Parse(lines.First(l => l.StartsWith(name, StringComparison.Ordinal)).Split(' ', StringSplitOptions.RemoveEmptyEntries)[^2],
                CultureInfo.InvariantCulture) / 1024.0;
    }

    /// <summary>Ends it as a system would, so that what is still in a batch is written.</summary>
    public async Task StopAsync()
    {
        if (process.HasExited) return;
        using var kill = Process.Start("kill", ["-TERM", process.Id.ToString(CultureInfo.InvariantCulture)]);
        using var patience = new CancellationTokenSource(TimeSpan.FromSeconds(30));
        try
        {
            await process.WaitForExitAsync(patience.Token);
        }
        catch (OperationCanceledException)
        {
            process.Kill();
            await process.WaitForExitAsync(CancellationToken.None);
            said.Add("The service did not stop within 30 s and was killed.");
        }
    }

    public async ValueTask DisposeAsync()
    {
        await StopAsync();
        await errors;
        // New sensors and the start are said once each; anything else is worth seeing.
        foreach (var line in said.Where(l => !l.Contains("A new sensor", StringComparison.Ordinal)).Take(20))
            Console.WriteLine($"  service: {line}");
        process.Dispose();
        Directory.Delete(folder, recursive: true);
    }

    private static int FreePort()
    {
        using var listener = new TcpListener(IPAddress.Loopback, 0);
        listener.Start();
        return ((IPEndPoint)listener.LocalEndpoint).Port;
    }
}
