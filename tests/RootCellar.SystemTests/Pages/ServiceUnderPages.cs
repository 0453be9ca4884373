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
    private readonly Process process;
    private readonly string folder;

    private ServiceUnderPages(Process process, string folder, int http, int mqtt, string passphrase)
    {
        this.process = process;
        this.folder = folder;
        Address = new Uri($"http://127.0.0.1:{http}");
        MqttPort = mqtt;
        Passphrase = passphrase;
    }

    public Uri Address { get; }

    public int MqttPort { get; }

    public string Passphrase { get; }

    /// <param name="before">Puts into the record what the service shall find there.</param>
    public static async Task<ServiceUnderPages> StartAsync(Action<Store>? before = null)
    {
        var data = Directory.CreateTempSubdirectory("rootcellar-pages-").FullName;
        if (before is not null)
        {
            await using var store = Store.Open(data, new KeepOptions(), TimeProvider.System, NullLogger<Store>.Instance);
            before(store);
        }

        var (http, mqtt) = (Ports.Free(), Ports.Free());
        var start = new ProcessStartInfo("dotnet")
        {
            ArgumentList = { typeof(Settings).Assembly.Location, "run", "--data", data, "--http", $"127.0.0.1:{http}", "--mqtt", $"127.0.0.1:{mqtt}" },
            UseShellExecute = false,
            RedirectStandardOutput = true,
            RedirectStandardError = true,
            // Not the build's own folder: assets must be found from anywhere.
            WorkingDirectory = data,
        };
        start.Environment["ROOTCELLAR__Watch__OnDelaySeconds"] = "0";
        start.Environment["ROOTCELLAR__Watch__OffDelaySeconds"] = "0";
        start.Environment["ROOTCELLAR__Household__TimeZone"] = "America/New_York";
        var running = Process.Start(start)!;
        running.ErrorDataReceived += (_, _) => { };
        running.BeginErrorReadLine();
        var passphrase = "";
        using var patience = new CancellationTokenSource(TimeSpan.FromSeconds(60));
        while (await running.StandardOutput.ReadLineAsync(patience.Token) is { } line && line != "Ready.")
        {
            if (line.StartsWith("The household passphrase", StringComparison.Ordinal)) passphrase = line[(line.LastIndexOf(' ') + 1)..];
        }

        return new ServiceUnderPages(running, data, http, mqtt, passphrase);
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
            PlaceRows.SaveAir(c, new PlaceAir(place, now - TimeSpan.FromMinutes(5 * i), 12.5 + (2.4 * wave), 90 - (4 * wave), 10.9, 150, null, null, null, null, AirQuality.Good));
        }
    }).GetAwaiter().GetResult();

    public async Task PublishAsync(params (string Topic, string Payload)[] messages)
    {
        using var client = new MqttClientFactory().CreateMqttClient();
        await client.ConnectAsync(new MqttClientOptionsBuilder().WithTcpServer("127.0.0.1", MqttPort).Build());
        foreach (var (topic, payload) in messages)
        {
            await client.PublishAsync(new MqttApplicationMessageBuilder().WithTopic(topic).WithPayload(payload).WithQualityOfServiceLevel(MQTTnet.Protocol.MqttQualityOfServiceLevel.AtLeastOnce).Build());
        }

        await client.DisconnectAsync();
    }

    public async ValueTask DisposeAsync()
    {
        if (!process.HasExited) process.Kill();
        await process.WaitForExitAsync();
        process.Dispose();
        Directory.Delete(folder, recursive: true);
    }
}
