using System.Diagnostics;
using System.Text.Json;
using System.Threading.Channels;
using MQTTnet;

namespace RootCellar.Benchmarks.Load;

/// <summary>The time from a reading that crosses the limit, published, to the alarm, received by a subscriber.</summary>
internal static class AlarmTime
{
    public const string Place = "probe-room";
    private const string Topic = $"rootcellar/{Place}/probe/temperature_c";

    // Curing of potatoes ends at 60 F = 15.56 C; the deadband is 0.5 C. The step is one that cellar air can make.
    private const double Over = 16.5;
    private const double Inside = 15.0;
    private static readonly TimeSpan Patience = TimeSpan.FromSeconds(10);

    /// <summary>Milliseconds, sorted; as many raised as ended.</summary>
    public static async Task<double[]> RunAsync(int port, int times, CancellationToken cancellationToken)
    {
        var seen = Channel.CreateUnbounded<(bool Active, long At)>();
        using var client = new MqttClientFactory().CreateMqttClient();
        client.ApplicationMessageReceivedAsync += e =>
        {
            var now = Stopwatch.GetTimestamp();
            if (e.ApplicationMessage.Payload.Length == 0 || !e.ApplicationMessage.Topic.Contains(Place, StringComparison.Ordinal))
                return Task.CompletedTask;
            using var alarm = JsonDocument.Parse(e.ApplicationMessage.Payload);
            if (alarm.RootElement.GetProperty("rule").GetString() == "too-warm")
                seen.Writer.TryWrite((alarm.RootElement.GetProperty("active").GetBoolean(), now));
            return Task.CompletedTask;
        };
        await client.ConnectAsync(new MqttClientOptionsBuilder().WithTcpServer("127.0.0.1", port).WithClientId("load-watcher").Build(),
            cancellationToken);
        await client.SubscribeAsync("rootcellar/out/alarms/#", cancellationToken: cancellationToken);
        using var probe = await Connection.OpenAsync(port, "load-probe", cancellationToken);
        await probe.SendAsync(Publish.Packet(Topic, Inside, null), cancellationToken);

        var took = new List<double>();
        for (var i = 0; i < times * 2; i++)
        {
            var active = i % 2 == 0;
            // A pause that does not run in step with the service's own ticks.
            await Task.Delay(20 + (i * 7 % 40), cancellationToken);
            var start = Stopwatch.GetTimestamp();
            await probe.SendAsync(Publish.Packet(Topic, active ? Over : Inside, null), cancellationToken);
            using var limit = CancellationTokenSource.CreateLinkedTokenSource(cancellationToken);
            limit.CancelAfter(Patience);
            (bool Active, long At) answer;
            do answer = await seen.Reader.ReadAsync(limit.Token);
            while (answer.Active != active);
            took.Add(Stopwatch.GetElapsedTime(start, answer.At).TotalMilliseconds);
        }

        await client.DisconnectAsync(cancellationToken: cancellationToken);
        return [.. took.Order()];
    }

    public static int Sent(int times) => 1 + (2 * times);
}
