using Microsoft.Extensions.Logging.Abstractions;
using MQTTnet;
using MQTTnet.Exceptions;
using MQTTnet.Formatter;
using MQTTnet.Protocol;
using Polly;
using Polly.Retry;

namespace RootCellar.Demo;

/// <summary>
/// The homestead's sensors on a real network: each has its own MQTT connection, its own last will and QoS 1. First they
/// tell history as fast as the broker takes it, then they go on in the clock's time.
/// </summary>
internal sealed class SimulatedNetwork : IAsyncDisposable
{
    private readonly World world;
    private readonly IReadOnlyList<Node> nodes;
    private readonly Lock worldGate = new();

    /// <param name="from">Where the history to be told begins; the rooms have settled by then.</param>
    public SimulatedNetwork(string host, int port, DateTimeOffset from, ILogger<SimulatedNetwork>? log = null)
    {
        world = new World(from);
        nodes = [.. Homestead.Sensors.Select(sensor => new Node(sensor, host, port, (ILogger?)log ?? NullLogger.Instance))];
    }

    /// <summary>
    /// Steps the clock from report to report to the end of history. Every report of a step is acknowledged by the broker
    /// before the next step, so each arrives at the story's time it belongs to.
    /// </summary>
    /// <param name="clock">Standing at the beginning of history.</param>
    /// <param name="settle">Awaited after every step, for a reader that must have taken everything in before time goes on.</param>
    /// <returns>How many messages were sent.</returns>
    public async Task<int> FastForwardAsync(
        StoryClock clock,
        TimeSpan history,
        IProgress<double>? progress = null,
        Func<CancellationToken, Task>? settle = null,
        CancellationToken cancel = default)
    {
        var begin = clock.GetUtcNow();
        var end = begin + history;
        var sent = 0;
        var queue = new PriorityQueue<Node, DateTimeOffset>(nodes.Select(node => (node, node.Sensor.NextAfter(begin))));
        List<Node> due = [];
        await Task.WhenAll(nodes.Select(node => node.ConnectAsync(cancel).AsTask()));
        while (queue.TryPeek(out _, out var next) && next <= end)
        {
            due.Clear();
            while (queue.TryPeek(out var node, out var at) && at == next)
            {
                due.Add(node);
                queue.DequeueEnqueue(node, node.Sensor.NextAfter(next));
            }

            clock.AdvanceTo(next);
            var scene = world.AdvanceTo(next);
            var counts = await Task.WhenAll(due.Select(node => node.TellAsync(scene, cancel).AsTask()));
            sent += counts.Sum();
            if (settle is not null)
                await settle(cancel);
            progress?.Report((next - begin) / history);
        }

        clock.AdvanceTo(end);
        progress?.Report(1);
        return sent;
    }

    /// <summary>Each sensor speaks when the clock says so, until it is cancelled.</summary>
    public async Task RunAsync(TimeProvider clock, CancellationToken cancel)
    {
        try
        {
            await Task.WhenAll(nodes.Select(node => SpeakAsync(node, clock, cancel)));
        }
        catch (Exception e) when (cancel.IsCancellationRequested && e is OperationCanceledException or MqttCommunicationException)
        {
            // The way it ends: cancelled between reports, or while an acknowledgement was awaited.
        }
    }

    public async ValueTask DisposeAsync()
    {
        foreach (var node in nodes)
            await node.DisposeAsync();
    }

    private async Task SpeakAsync(Node node, TimeProvider clock, CancellationToken cancel)
    {
        while (true)
        {
            var now = clock.GetUtcNow();
            var next = node.Sensor.NextAfter(now);
            await Task.Delay(next - now, clock, cancel);
            Scene scene;
            lock (worldGate)
                scene = world.AdvanceTo(next);
            await node.TellAsync(scene, cancel);
        }
    }

    /// <summary>A sensor and its connection. One caller at a time.</summary>
    private sealed class Node(SimulatedSensor sensor, string host, int port, ILogger log) : IAsyncDisposable
    {
        private static readonly MqttClientFactory Factory = new();

        // A broker that restarts is waited for, in real time: the network knows nothing of the story's. A connection lost
        // between sending and acknowledgement can also show as a cancellation that nobody asked for.
        private readonly ResiliencePipeline patience = new ResiliencePipelineBuilder()
            .AddRetry(new RetryStrategyOptions
            {
                ShouldHandle = static tried => ValueTask.FromResult(
                    tried.Outcome.Exception is not null && !tried.Context.CancellationToken.IsCancellationRequested),
                OnRetry = tried =>
                {
                    log.LogWarning(
                        "The simulated sensor {Sensor} does not reach the broker at {Host}:{Port}: {Reason}; trying again in {Delay}",
                        sensor.ClientId, host, port, tried.Outcome.Exception?.Message, tried.RetryDelay);
                    return ValueTask.CompletedTask;
                },
                MaxRetryAttempts = int.MaxValue,
                BackoffType = DelayBackoffType.Exponential,
                UseJitter = true,
                Delay = TimeSpan.FromMilliseconds(200),
                MaxDelay = TimeSpan.FromSeconds(5),
            })
            .Build();

        private readonly IMqttClient client = Factory.CreateMqttClient();

        // MQTT 3.1.1 is what most small boards speak.
        private readonly MqttClientOptions options = Factory.CreateClientOptionsBuilder()
            .WithTcpServer(host, port)
            .WithProtocolVersion(MqttProtocolVersion.V311)
            .WithClientId(sensor.ClientId)
            .WithCleanSession()
            .WithWillTopic(sensor.StatusTopic)
            .WithWillPayload("offline")
            .WithWillRetain()
            .WithWillQualityOfServiceLevel(MqttQualityOfServiceLevel.AtLeastOnce)
            .Build();

        public SimulatedSensor Sensor { get; } = sensor;

        public ValueTask ConnectAsync(CancellationToken cancel) => patience.ExecuteAsync(EnsureConnectedAsync, cancel);

        public async ValueTask<int> TellAsync(Scene scene, CancellationToken cancel)
        {
            var messages = Sensor.Say(scene);
            foreach (var said in messages)
                await patience.ExecuteAsync(static (work, token) => work.Node.PublishAsync(work.Said, token), (Node: this, Said: said),
                    cancel);
            return messages.Count;
        }

        public async ValueTask DisposeAsync()
        {
            // A goodbye that does not get through is what the last will is for.
            try
            {
                if (client.IsConnected)
                    await client.PublishStringAsync(Sensor.StatusTopic, "offline", MqttQualityOfServiceLevel.AtLeastOnce, retain: true);
                await client.TryDisconnectAsync();
            }
            catch (Exception e) when (e is MqttCommunicationException or OperationCanceledException)
            {
                log.LogDebug(e, "{Sensor} left without a goodbye", Sensor.ClientId);
            }

            client.Dispose();
        }

        private async ValueTask PublishAsync(Said said, CancellationToken cancel)
        {
            await EnsureConnectedAsync(cancel);
            await client.PublishStringAsync(said.Topic, said.Payload, MqttQualityOfServiceLevel.AtLeastOnce, retain: false, cancel);
        }

        private async ValueTask EnsureConnectedAsync(CancellationToken cancel)
        {
            if (client.IsConnected)
                return;

            var answer = await client.ConnectAsync(options, cancel);
            if (answer.ResultCode != MqttClientConnectResultCode.Success)
                throw new InvalidOperationException($"The broker at {host}:{port} refused {Sensor.ClientId}: {answer.ResultCode}.");

            await client.PublishStringAsync(Sensor.StatusTopic, "online", MqttQualityOfServiceLevel.AtLeastOnce, retain: true, cancel);
        }
    }
}
