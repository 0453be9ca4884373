using System.Net;
using RootCellar.Household;

namespace RootCellar.Tls;

/// <summary>Key <c>Tls</c>: a certificate that the household brings, for https and for MQTT over TLS.</summary>
internal sealed class TlsOptions
{
    /// <summary>The file of the certificate in PEM, the chain after it. Empty: neither https nor MQTT over TLS.</summary>
    public string? Certificate { get; set; }

    /// <summary>The file of its private key in PEM, without a passphrase; empty where the key stands in the file of the certificate.</summary>
    public string? Key { get; set; }

    /// <summary>HOST:PORT of pages and API over https, beside <c>Http:Listen</c>; empty: none.</summary>
    public string HttpListen { get; set; } = "0.0.0.0:8443";

    /// <summary>HOST:PORT of the built-in broker over TLS, beside <c>Mqtt:Listen</c>; empty: none.</summary>
    public string MqttListen { get; set; } = "0.0.0.0:8883";

    internal bool IsSet => !string.IsNullOrEmpty(Certificate);

    internal string CertificateFile => Path.GetFullPath(Certificate!);

    internal string KeyFile => string.IsNullOrEmpty(Key) ? CertificateFile : Path.GetFullPath(Key);

    /// <summary>Where https is served; null: nowhere.</summary>
    internal IPEndPoint? Http => IsSet ? ListenAddress.Of(HttpListen) : null;

    /// <summary>Where the built-in broker listens over TLS; null: nowhere.</summary>
    internal IPEndPoint? Mqtt => IsSet ? ListenAddress.Of(MqttListen) : null;

    /// <summary>What is wrong with the keys themselves. What is wrong with the files does not keep the service from starting.</summary>
    internal IEnumerable<string> Problems()
    {
        if (!IsSet && !string.IsNullOrEmpty(Key))
            yield return "Tls:Key is set, but Tls:Certificate is not. Right: /etc/rootcellar/certificate.pem, with the chain after it.";
        foreach (var (key, listen, port) in new[] { (nameof(HttpListen), HttpListen, 8443), (nameof(MqttListen), MqttListen, 8883) })
        {
            if (listen.Length > 0 && ListenAddress.Of(listen) is null)
                yield return $"Tls:{key}: '{listen}' is not HOST:PORT. Right: 0.0.0.0:{port} (every address of this machine), or nothing at all for none.";
        }
    }
}
