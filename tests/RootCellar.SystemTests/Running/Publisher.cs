using System.Collections.Concurrent;
using MQTTnet;
using MQTTnet.Formatter;
using MQTTnet.Protocol;

namespace RootCellar.SystemTests.Running;

/// <summary>An MQTT client that knows of each of its messages whether it was acknowledged.</summary>
public sealed class Publisher(int port, string id, MqttProtocolVersion version = MqttProtocolVersion.V500) : IDisposable
{
    private readonly IMqttClient client = new MqttClientFactory().CreateMqttClient();
    private readonly ConcurrentBag<string> acknowledged = [];
    private readonly SemaphoreSlim connecting = new(1);
    private int published;

    public int Published => published;

    public IReadOnlyCollection<string> Acknowledged => acknowledged;

    public bool IsConnected => client.IsConnected;

    /// <summary>Tries until it is in, or until the token ends it.</summary>
    public async Task ConnectAsync(CancellationToken cancellationToken)
    {
        var options = new MqttClientOptionsBuilder().WithTcpServer("127.0.0.1", port).WithClientId(id).WithProtocolVersion(version)
            .WithTimeout(TimeSpan.FromSeconds(10)).Build();
        await connecting.WaitAsync(cancellationToken);
        try
        {
            while (!client.IsConnected)
            {
                try
                {
                    await client.ConnectAsync(options, cancellationToken);
                }
                catch (Exception)
                {
                    // The client says of an attempt that was called off that it failed: whether the token ended it, the token says.
                    await Task.Delay(20, cancellationToken);
                }
            }
        }
        finally
        {
            connecting.Release();
        }
    }

    /// <summary>True when the receipt came; then the label is among <see cref="Acknowledged"/>.</summary>
    public async Task<(bool Kept, string Word)> PublishAsync(
        string topic, string payload, string label, CancellationToken cancellationToken, int qos = 1)
    {
        if (!client.IsConnected) return (false, "not connected");
        Interlocked.Increment(ref published);
        try
        {
            var message = new MqttApplicationMessageBuilder().WithTopic(topic).WithPayload(payload)
                .WithQualityOfServiceLevel((MqttQualityOfServiceLevel)qos).Build();
            var result = await client.PublishAsync(message, cancellationToken);
            if (qos > 0 && result.IsSuccess) acknowledged.Add(label);
            return (result.IsSuccess, $"{result.ReasonCode} {result.ReasonString}");
        }
        catch (Exception e) when (!TestContext.Current.CancellationToken.IsCancellationRequested)
        {
            return (false, e.Message);
        }
    }

    public void Dispose()
    {
        client.Dispose();
        connecting.Dispose();
    }
}
