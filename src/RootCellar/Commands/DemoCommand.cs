using System.CommandLine;
using System.Globalization;
using System.Net;
using System.Net.Sockets;
using RootCellar.Demo;
using RootCellar.Household;
using RootCellar.Monitoring;
using RootCellar.Storage;
using RootCellar.Tell;

namespace RootCellar.Commands;

/// <summary>
/// An invented homestead on the real service: simulated sensors publish over real MQTT, and the service runs on a clock
/// that first hurries through the history and then flows at a chosen speed.
/// </summary>
internal static class DemoCommand
{
    public static Command Build()
    {
        var http = new Option<string>("--http")
        { Description = "where the pages are served, HOST:PORT", HelpName = "HOST:PORT", DefaultValueFactory = _ => "127.0.0.1:8080" };
        var days = new Option<int>("--days")
        { Description = "days of history that are there at once, 1 to 14", HelpName = "N", DefaultValueFactory = _ => 12 };
        var speed = new Option<double>("--speed")
        { Description = "how fast time then runs on: 600 makes a day of 2.4 minutes", HelpName = "X", DefaultValueFactory = _ => 600 };
        var command = new CommandWithExamples(
            "demo",
            "An invented homestead: simulated sensors, two weeks of weather, a book of bins, the real service.",
            "rootcellar demo",
            "rootcellar demo --http 0.0.0.0:8080 --days 14 --speed 60")
        { http, days, speed };
        command.SetAction((p, ct) => RunAsync(p.GetValue(http)!, p.GetValue(days), p.GetValue(speed), ct));
        return command;
    }

    private static async Task<int> RunAsync(string http, int days, double speed, CancellationToken cancellationToken)
    {
        if (days is < 1 or > 14) throw new UsageException($"--days {days}: the homestead has 1 to 14 days of history.");
        if (!(speed > 0 && speed <= 100_000))
            throw new UsageException($"--speed {speed}: right is a number from 0.1 to 100000; 1 is real time.");
        if (ListenAddress.Of(http) is null) throw new UsageException($"--http {http}: right is HOST:PORT, for instance 127.0.0.1:8080.");

        var folder = Directory.CreateTempSubdirectory("rootcellar-demo-");
        try
        {
            await TellAsync(Settings(http), folder.FullName, TimeSpan.FromDays(days), speed, cancellationToken);
        }
        catch (OperationCanceledException) when (cancellationToken.IsCancellationRequested)
        {
            // Ended by hand: the way a demo ends.
        }
        finally
        {
            folder.Delete(recursive: true);
        }

        return 0;
    }

    private static async Task TellAsync(Settings settings, string folder, TimeSpan history, double speed,
        CancellationToken cancellationToken)
    {
        using var clock = new StoryClock(Homestead.HistoryEnd - history, Homestead.Zone);
        await using var app = ServiceHost.Build(settings, folder, clock, services =>
        {
            // The console is for the texts.
            services.AddLogging(l => l.SetMinimumLevel(LogLevel.Warning));
            services.AddSingleton<IChannel, ConsoleChannel>();
            services.AddSingleton(new AlwaysTold([ConsoleChannel.ChannelName]));
        }, DataFolderHolder.Demo);
        Console.WriteLine($"{Homestead.Name}: a curing room, a cellar, six sensors, a season in bins. Everything here is invented.");
        await app.StartServiceAsync(settings, cancellationToken);
        var pipeline = app.Services.GetRequiredService<Pipeline>();
        foreach (var place in Homestead.Places) await pipeline.AskAsync((house, _, _) => Save(house, place), cancellationToken);

        var writer = new Writer(app.Services.GetRequiredService<Ledger.LedgerDoor>());
        await writer.UpToAsync(clock.GetUtcNow());
        var outbox = app.Services.GetRequiredService<Outbox>();
        async Task AllIsToldAsync(CancellationToken ct)
        {
            // A text belongs to its hour; the clock waits until it is out.
            while (outbox.Underway > 0) await Task.Delay(TimeSpan.FromMilliseconds(1), TimeProvider.System, ct);
            await writer.UpToAsync(clock.GetUtcNow());
        }

        var mqtt = ListenAddress.Of(settings.Mqtt.Listen)!;
        await using var network = new SimulatedNetwork(
            mqtt.Address.ToString(), mqtt.Port, clock.GetUtcNow(), app.Services.GetRequiredService<ILogger<SimulatedNetwork>>());
        Console.WriteLine($"Telling {history.TotalDays:0} days of history ...");
        var messages = await network.FastForwardAsync(clock, history, settle: AllIsToldAsync, cancel: cancellationToken);
        Console.WriteLine($"{messages} messages told. Time now runs on at {speed:0.#} times the real one; watch it on http://{settings.Http.Listen}. Ctrl+C ends it.");
        var pages = $"http://{ServiceStart.Shown(settings.Http.Listen)}";
        Console.WriteLine($"  {pages}/          Now: the rooms, their air and their alarms");
        Console.WriteLine($"  {pages}/bins      Bins: where each stands and what it weighs by the book; the Yukon Gold (Y1 to Y5) moves to the cellar in the evening");
        Console.WriteLine($"  {pages}/bins/K7   a weigh-in that cannot be: to be checked");
        Console.WriteLine($"  {pages}/bins/K4   a misread weigh-in, put right");
        Console.WriteLine($"  {pages}/bins/N3   dug before anything measured: the hours without readings are said");
        clock.RunAt(speed);
        await Task.WhenAll(network.RunAsync(clock, cancellationToken), writer.RunAsync(clock, Console.WriteLine, cancellationToken));
    }

    private static bool Save(LiveState house, Places.Place place)
    {
        house.SavePlace(place);
        return true;
    }

    private static Settings Settings(string http) => new()
    {
        Http = { Listen = http },
        Mqtt = { Listen = $"127.0.0.1:{FreePort()}" },
        Household = { TimeZone = Homestead.Zone.Id },
    };

    private static int FreePort()
    {
        using var listener = new TcpListener(IPAddress.Loopback, 0);
        listener.Start();
        return ((IPEndPoint)listener.LocalEndpoint).Port;
    }

    /// <summary>Writes each text where the demo runs, with the story's hour.</summary>
    private sealed class ConsoleChannel : IChannel
    {
        public const string ChannelName = "console";

        public string Name => ChannelName;

        public Task<string> SendAsync(Outgoing message, CancellationToken cancellationToken)
        {
            var at = TimeZoneInfo.ConvertTime(message.CreatedAt, Homestead.Zone);
            Console.WriteLine($"{at.ToString("ddd d MMM HH:mm", CultureInfo.InvariantCulture)}  TEXT  {message.Sms}");
            return Task.FromResult("");
        }
    }
}
