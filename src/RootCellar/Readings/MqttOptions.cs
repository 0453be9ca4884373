using System.ComponentModel.DataAnnotations;

namespace RootCellar.Readings;

/// <summary>Key <c>Mqtt</c>.</summary>
internal sealed class MqttOptions
{
    /// <summary>HOST:PORT where the built-in broker listens.</summary>
    public string Listen { get; set; } = "0.0.0.0:1883";

    /// <summary>
    /// Built-in broker: whether sensors may connect without the sensor password. Empty: from this machine always,
    /// from elsewhere until the grower says on the Set-up page that set-up is finished.
    /// </summary>
    public bool? AllowAnonymous { get; set; }

    /// <summary>With a Host here, that broker is used and the built-in one is not started.</summary>
    public OutsideBrokerOptions Broker { get; set; } = new();

    public IList<Mapping> Mappings { get; set; } = [];
}

/// <summary>Key <c>Mqtt:Broker</c>.</summary>
internal sealed class OutsideBrokerOptions
{
    public string? Host { get; set; }

    [Range(1, 65535)]
    public int Port { get; set; } = 1883;

    public bool Tls { get; set; }

    public string? User { get; set; }

    /// <summary>A file that holds the password and nothing else.</summary>
    public string? PasswordFile { get; set; }

    /// <summary>Fixed, so that the broker keeps what came while the service was down.</summary>
    public string ClientId { get; set; } = "rootcellar";

    /// <summary>How long the broker keeps the session for a service that is away, seconds.</summary>
    [Range(0, uint.MaxValue)]
    public long SessionExpirySeconds { get; set; } = 7 * 24 * 3600;
}
