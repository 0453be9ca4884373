using System.Net;
using System.Net.Sockets;
using System.Text;
using MQTTnet;
using MQTTnet.Protocol;

namespace RootCellar.Tests.Households;

/// <summary>A sensor as it is: a real MQTT client that publishes at QoS 1 and has each message acknowledged.</summary>
internal sealed class Radio : IAsyncDisposable
{
    private readonly IMqttClient client = new MqttClientFactory().CreateMqttClient();

    /// <summary>A port nobody listens on now.</summary>
    public static int FreePort()
    {
        using var listener = new TcpListener(IPAddress.Loopback, 0);
        listener.Start();
        return ((IPEndPoint)listener.LocalEndpoint).Port;
    }

    public static async Task<Radio> OnAsync(int port)
    {
        var radio = new Radio();
        var options = new MqttClientOptionsBuilder().WithTcpServer("127.0.0.1", port).WithClientId($"radio-{Guid.NewGuid():N}")
            .WithTimeout(TimeSpan.FromMinutes(1)).Build();
        await radio.client.ConnectAsync(options, TestContext.Current.CancellationToken);
        return radio;
    }

    /// <summary>Ends when the broker has acknowledged it.</summary>
    public async Task SayAsync(string topic, FormattableString payload)
    {
        var message = new MqttApplicationMessage
        {
            Topic = topic,
            PayloadSegment = Encoding.UTF8.GetBytes(FormattableString.Invariant(payload)),
            QualityOfServiceLevel = MqttQualityOfServiceLevel.AtLeastOnce,
        };
        (await client.PublishAsync(message, TestContext.Current.CancellationToken)).IsSuccess.Should().BeTrue();
    }

    public async ValueTask DisposeAsync()
    {
        if (client.IsConnected) await client.DisconnectAsync();
        client.Dispose();
    }
}
