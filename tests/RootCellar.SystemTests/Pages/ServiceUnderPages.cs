using System.Diagnostics;
using Microsoft.Extensions.Logging.Abstractions;
using MQTTnet;
using RootCellar.Places;
using RootCellar.Storage;
using RootCellar.SystemTests.Running;

namespace RootCellar.SystemTests.Pages;

/// <summary>The built program as a process of its own, on free ports and an empty folder.</summary>
internal sealed class ServiceUnderPages : IAsyncDisposable
{
    /// <summary>The household's clock, on which forms are filled in.</summary>
    public const string TimeZone = "America/New_York";

    private readonly string folder;
    private readonly string? tells;
    private readonly IReadOnlyDictionary<string, string> settings;
    private Process? process;

    private ServiceUnderPages(string folder, int http, int mqtt, string? tells, IReadOnlyDictionary<string, string>? settings)
    {
        this.settings = settings ?? new Dictionary<string, string>();
        this.tells = tells;
        this.folder = folder;
        Address = new Uri($"http://127.0.0.1:{http}");
        MqttPort = mqtt;
    }

    public Uri Address { get; }

    public int MqttPort { get; }

    public string Passphrase { get; private set; } = "";

    /// <param name="before">Puts into the record what the service shall find there.</param>
    /// <param name="readings">A file of readings that the import command brings in before the start.</param>
    /// <param name="tells">Where it posts what it has to tell, so that nothing is left of set-up.</param>
    /// <param name="settings">Keys of its settings file, with their values.</param>
    public static async Task<ServiceUnderPages> StartAsync(Action<Store>? before = null, string? readings = null, string? tells = null,
        IReadOnlyDictionary<string, string>? settings = null)
    {
        var data = Directory.CreateTempSubdirectory("rootcellar-pages-").FullName;
        if (before is not null)
        {
            await using var store = Store.Open(data, new KeepOptions(), TimeProvider.System, NullLogger<Store>.Instance);
            before(store);
        }

        if (readings is not null)
        {
            var file = Path.Combine(data, "readings.csv");
            await File.WriteAllTextAsync(file, readings);
            var said = await BuiltProgram.RunAsync("import", "--what", "readings", file, "--data", data);
            (said.Exit, said.Error).Should().Be((0, ""), said.ToString());
        }

        var service = new ServiceUnderPages(data, Ports.Free(), Ports.Free(), tells, settings);
        await service.BeginAsync();
        return service;
    }

    /// <summary>Pulls the plug (SIGKILL).</summary>
    public async Task PullThePlugAsync()
    {
        process!.Kill();
        await process.WaitForExitAsync();
    }

    /// <summary>It is there, and answers nothing (SIGSTOP).</summary>
    public void Freeze() => Send("STOP");

    /// <summary>It goes on where it was.</summary>
    public void Thaw() => Send("CONT");

    private void Send(string signal)
    {
        using var kill = Process.Start("kill", [$"-{signal}", process!.Id.ToString()]);
        kill.WaitForExit();
        kill.ExitCode.Should().Be(0);
    }

    /// <summary>Starts it on its folder and its ports; again, after the plug was pulled.</summary>
    public async Task BeginAsync()
    {
        var start = new ProcessStartInfo("dotnet")
        {
            ArgumentList = { typeof(Settings).Assembly.Location, "run", "--data", folder, "--http", Address.Authority, "--mqtt",
                $"127.0.0.1:{MqttPort}" },
            UseShellExecute = false,
            RedirectStandardOutput = true,
            RedirectStandardError = true,
            // Not the build's own folder: assets must be found from anywhere.
            WorkingDirectory = folder,
        };
        start.Environment["ROOTCELLAR__Watch__OnDelaySeconds"] = "0";
        start.Environment["ROOTCELLAR__Watch__OffDelaySeconds"] = "0";
        start.Environment["ROOTCELLAR__Household__TimeZone"] = TimeZone;
        if (tells is not null) start.Environment["ROOTCELLAR__Tell__Post__Url"] = tells;
        foreach (var (key, value) in settings) start.Environment["ROOTCELLAR__" + key.Replace(":", "__", StringComparison.Ordinal)] = value;
        process?.Dispose();
        process = Process.Start(start)!;
        process.ErrorDataReceived += (_, _) => { };
        process.BeginErrorReadLine();
        using var patience = new CancellationTokenSource(TimeSpan.FromSeconds(60));
        while (await process.StandardOutput.ReadLineAsync(patience.Token) is { } line && line != "Ready.")
        {
            if (line.StartsWith("The household passphrase", StringComparison.Ordinal)) Passphrase = line[(line.LastIndexOf(' ') + 1)..];
        }
    }

    /// <summary>Two days of a place's air, every five minutes: a warm afternoon each day.</summary>
    public static void TwoDaysOf(Store store, string place) => store.WriteAsync(c =>
    {
        var now = DateTimeOffset.UtcNow;
        for (var i = 1; i < 576; i++)
        {
            var hours = i / 12.0;
            if (hours is > 20 and < 22) continue;
            var wave = Math.Sin(2 * Math.PI * hours / 24);
            PlaceRows.SaveAir(c, new PlaceAir(place, now - TimeSpan.FromMinutes(5 * i), 12.5 + (2.4 * wave), 90 - (4 * wave), 10.9, 150,
                null, null, null, null, AirQuality.Good));
        }
    }).GetAwaiter().GetResult();

    public async Task PublishAsync(params (string Topic, string Payload)[] messages)
    {
        using var client = new MqttClientFactory().CreateMqttClient();
        await client.ConnectAsync(new MqttClientOptionsBuilder().WithTcpServer("127.0.0.1", MqttPort).Build());
        foreach (var (topic, payload) in messages)
        {
            await client.PublishAsync(new MqttApplicationMessageBuilder().WithTopic(topic).WithPayload(payload)
                .WithQualityOfServiceLevel(MQTTnet.Protocol.MqttQualityOfServiceLevel.AtLeastOnce).Build());
        }

        await client.DisconnectAsync();
    }

    public async ValueTask DisposeAsync()
    {
        if (!process!.HasExited) process.Kill();
        await process.WaitForExitAsync();
        process.Dispose();
        Directory.Delete(folder, recursive: true);
    }
}
