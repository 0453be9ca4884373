using System.Collections.Concurrent;
using System.Net;
using System.Net.Sockets;
using System.Text;
using MQTTnet;
using MQTTnet.Server;
using RootCellar.Demo;
using RootCellar.Monitoring;
using RootCellar.Readings;

namespace RootCellar.Tests.Demo;

public class SimulatedNetworkTests(ITestOutputHelper output)
{
    private static readonly TimeSpan Patience = TimeSpan.FromSeconds(30);

    private static CancellationToken Cancel => TestContext.Current.CancellationToken;

    [Fact]
    public async Task A_day_of_history_arrives_whole_in_order_and_at_the_storys_time()
    {
        await using var broker = await Broker.StartAsync(FreePort());
        using var clock = new StoryClock(Homestead.HistoryEnd - TimeSpan.FromDays(1), Homestead.Zone);
        broker.Clock = clock;
        await using var network = new SimulatedNetwork("127.0.0.1", broker.Port, clock.GetUtcNow());
        var progress = new List<double>();

        var settled = 0;
        var sent = await network.FastForwardAsync(
            clock,
            TimeSpan.FromDays(1),
            new Listed(progress),
            _ =>
            {
                settled++;
                return Task.CompletedTask;
            },
            Cancel);
        output.WriteLine($"{sent} messages in {settled} steps");

        clock.GetUtcNow().Should().Be(Homestead.HistoryEnd);
        var readings = broker.Heard.Where(heard => !heard.Topic.EndsWith("/status", StringComparison.Ordinal)).ToList();
        readings.CountBy(heard => heard.Topic).Should().BeEquivalentTo(new Dictionary<string, int>
        {
            ["rootcellar/curing-room/north-shelf"] = 288,
            ["rootcellar/curing-room/bin-probe/pulp_f"] = 144,
            ["rootcellar/curing-room/bin-probe/battery_v"] = 144,
            ["rootcellar/cellar/back-wall"] = 144,
            ["rootcellar/cellar/bin-3"] = 144,
            ["rootcellar/cellar/door"] = 288,
            ["rootcellar/outdoors/porch"] = 144,
        });
        sent.Should().Be(readings.Count);
        readings.Should().OnlyContain(heard => heard.QualityOfService == 1 && !heard.Retain);
        readings.Select(heard => heard.ClientId).Distinct().Should().HaveCount(6);
        readings.Select(heard => heard.At).Should().BeInAscendingOrder();
        readings.Should().OnlyContain(heard => heard.At.Minute % 5 == (heard.Topic.Contains("/cellar/", StringComparison.Ordinal) ? 2 : 0)
            && heard.At.Second == 0);
        progress.Should().BeInAscendingOrder().And.EndWith(1);

        var decoder = new PayloadDecoder([]);
        readings.Select(heard => decoder.Decode(heard.Topic, Encoding.UTF8.GetBytes(heard.Payload), heard.At))
            .Should().AllBeOfType<Decoded.Measurements>();
    }

    [Fact]
    public async Task Every_sensor_is_online_while_connected_and_offline_once_it_has_gone()
    {
        await using var broker = await Broker.StartAsync(FreePort());
        using var clock = new StoryClock(Homestead.HistoryEnd - TimeSpan.FromMinutes(30));
        broker.Clock = clock;
        await using (var network = new SimulatedNetwork("127.0.0.1", broker.Port, clock.GetUtcNow()))
        {
            await network.FastForwardAsync(clock, TimeSpan.FromMinutes(30), cancel: Cancel);
            (await broker.RetainedAsync()).Should().BeEquivalentTo(
                Homestead.Sensors.ToDictionary(sensor => sensor.StatusTopic, _ => "online"));

            await broker.CutAsync(Homestead.Sensors[0].ClientId);
            await broker.UntilAsync(heard => heard.Topic == Homestead.Sensors[0].StatusTopic && heard.Payload == "offline", Cancel);
        }

        (await broker.RetainedAsync()).Should().BeEquivalentTo(
            Homestead.Sensors.ToDictionary(sensor => sensor.StatusTopic, _ => "offline"));
    }

    [Fact]
    public async Task It_goes_on_with_the_clock_and_comes_back_after_the_broker_was_away()
    {
        var port = FreePort();
        using var clock = new StoryClock(Homestead.HistoryEnd, Homestead.Zone);
        using var stop = CancellationTokenSource.CreateLinkedTokenSource(Cancel);
        await using var network = new SimulatedNetwork("127.0.0.1", port, clock.GetUtcNow());
        Task running;
        await using (var broker = await Broker.StartAsync(port))
        {
            broker.Clock = clock;
            running = network.RunAsync(clock, stop.Token);
            clock.RunAt(3000);
            await broker.UntilAsync(heard => heard.Topic == "rootcellar/outdoors/porch" && heard.At >= Homestead.HistoryEnd.AddMinutes(20),
                Cancel);
        }

        await using (var broker = await Broker.StartAsync(port))
        {
            broker.Clock = clock;
            foreach (var sensor in Homestead.Sensors)
                await broker.UntilAsync(heard => heard.Topic.StartsWith(sensor.Topic, StringComparison.Ordinal)
                    && heard.Topic != sensor.StatusTopic, Cancel);
        }

        await stop.CancelAsync();
        await running.WaitAsync(Patience, Cancel);
    }

    private static int FreePort()
    {
        using var listener = new TcpListener(IPAddress.Loopback, 0);
        listener.Start();
        return ((IPEndPoint)listener.LocalEndpoint).Port;
    }

    private sealed record Heard(DateTimeOffset At, string ClientId, string Topic, string Payload, int QualityOfService, bool Retain);

    private sealed class Listed(List<double> values) : IProgress<double>
    {
        public void Report(double value) => values.Add(value);
    }

    private sealed class Broker(MqttServer server, int port) : IAsyncDisposable
    {
        private readonly SemaphoreSlim news = new(0);

        public int Port => port;

        public TimeProvider Clock { get; set; } = TimeProvider.System;

        public ConcurrentQueue<Heard> Heard { get; } = new();

        public static async Task<Broker> StartAsync(int port)
        {
            var factory = new MqttServerFactory();
            var server = factory.CreateMqttServer(factory.CreateServerOptionsBuilder()
                .WithDefaultEndpoint()
                .WithDefaultEndpointBoundIPAddress(IPAddress.Loopback)
                .WithDefaultEndpointBoundIPV6Address(IPAddress.None)
                .WithDefaultEndpointPort(port)
                .WithDefaultEndpointReuseAddress()
                .Build());
            var broker = new Broker(server, port);
            server.InterceptingPublishAsync += broker.TakeAsync;
            await server.StartAsync();
            return broker;
        }

        public async Task UntilAsync(Func<Heard, bool> wanted, CancellationToken cancel)
        {
            while (!Heard.Any(wanted))
            {
                if (!await news.WaitAsync(Patience, cancel))
                    throw new TimeoutException($"Not heard; last: {Heard.LastOrDefault()}");
            }
        }

        public async Task<Dictionary<string, string>> RetainedAsync() =>
            (await server.GetRetainedMessagesAsync()).ToDictionary(
                message => message.Topic, message => message.ConvertPayloadToString(), StringComparer.Ordinal);

        public async Task CutAsync(string clientId)
        {
            var client = (await server.GetClientsAsync()).Single(client => client.Id == clientId);
            await client.DisconnectAsync(new MqttServerClientDisconnectOptions());
        }

        public async ValueTask DisposeAsync()
        {
            if (server.IsStarted)
                await server.StopAsync(new MqttServerStopOptions());
            server.Dispose();
            news.Dispose();
        }

        private Task TakeAsync(InterceptingPublishEventArgs args)
        {
            var message = args.ApplicationMessage;
            Heard.Enqueue(new Heard(Clock.GetUtcNow(), args.ClientId, message.Topic, message.ConvertPayloadToString(),
                (int)message.QualityOfServiceLevel, message.Retain));
            news.Release();
            return Task.CompletedTask;
        }
    }
}
