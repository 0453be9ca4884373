using System.Net;
using System.Net.Security;
using System.Security.Cryptography.X509Certificates;
using MQTTnet;
using MQTTnet.Protocol;
using RootCellar.Tests.Entry;
using RootCellar.Tests.Pages;
using RootCellar.Tests.Storage;

namespace RootCellar.Tests.Tls;

/// <summary>A house with a certificate of its own, made out for the loopback address and cellar.test.</summary>
internal sealed class TlsHouse : IAsyncDisposable
{
    private readonly TempFolder files = new();

    private TlsHouse()
    {
    }

    public Site Site { get; private set; } = null!;

    public OwnAuthority Authority { get; } = new();

    public string Certificate => Path.Combine(files.Path, "certificate.pem");

    public string Key => Path.Combine(files.Path, "key.pem");

    /// <param name="before">Done to the files before the start.</param>
    public static async Task<TlsHouse> OpenAsync(DateTimeOffset? until = null, Action<TlsHouse>? before = null, Action<Settings>? change = null)
    {
        var house = new TlsHouse();
        house.Issue(until);
        before?.Invoke(house);
        house.Site = await Site.OpenAsync(change: s =>
        {
            (s.Tls.Certificate, s.Tls.Key, s.Tls.HttpListen, s.Tls.MqttListen) = (house.Certificate, house.Key, "127.0.0.1:0", "127.0.0.1:0");
            s.Http.OpenMetrics = true;
            change?.Invoke(s);
        });
        return house;
    }

    /// <summary>Puts a fresh certificate in place of the one before.</summary>
    public string Issue(DateTimeOffset? until = null, DateTimeOffset? from = null) =>
        Authority.Issue(Certificate, Key, until, from, "127.0.0.1", "cellar.test");

    /// <summary>A visitor over https; of each request it is asked anew which certificate there is.</summary>
    public Visitor Visitor() => new(Site, trusts: Authority);

    /// <summary>The serial number of the certificate shown now; null where none is, or none that is trusted.</summary>
    public async Task<string?> ShownAsync()
    {
        using var visitor = Visitor();
        try
        {
            (await visitor.GetAsync("/health/live")).Status.Should().Be(HttpStatusCode.OK);
            return visitor.Shown;
        }
        catch (HttpRequestException)
        {
            return null;
        }
    }

    /// <summary>A minute goes by, in which the files are looked at.</summary>
    public async Task LookAsync(Func<bool> seen)
    {
        await Sample.UntilAsync(() =>
        {
            Site.Time.Advance(TimeSpan.FromMinutes(1));
            return seen();
        });
    }

    /// <param name="port">Of the broker, with TLS or without.</param>
    public async Task PublishAsync(int port, bool tls, string topic, string payload)
    {
        using var client = new MqttClientFactory().CreateMqttClient();
        var options = new MqttClientOptionsBuilder().WithTcpServer("127.0.0.1", port).WithTimeout(TimeSpan.FromSeconds(10));
        if (tls)
        {
            options.WithTlsOptions(o => o.UseTls().WithApplicationProtocols([new SslApplicationProtocol("mqtt")])
                .WithRevocationMode(X509RevocationMode.NoCheck).WithTrustChain(Authority.Trust.CustomTrustStore));
        }

        await client.ConnectAsync(options.Build(), TestContext.Current.CancellationToken);
        var message = new MqttApplicationMessageBuilder().WithTopic(topic).WithPayload(payload)
            .WithQualityOfServiceLevel(MqttQualityOfServiceLevel.AtLeastOnce).Build();
        (await client.PublishAsync(message, TestContext.Current.CancellationToken)).IsSuccess.Should().BeTrue();
        await client.DisconnectAsync();
    }

    public async ValueTask DisposeAsync()
    {
        await Site.DisposeAsync();
        Authority.Dispose();
        files.Dispose();
    }
}
