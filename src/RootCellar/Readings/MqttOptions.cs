using System.ComponentModel.DataAnnotations;

namespace RootCellar.Readings;

/// <summary>Key <c>Mqtt</c>.</summary>
internal sealed class MqttOptions
{
    /// <summary>HOST:PORT where the built-in broker listens.</summary>
    public string Listen { get; set; } = "0.0.0.0:1883";

    /// <summary>
    /// Built-in broker: whether clients may connect without a password. True: from this machine always, from elsewhere
    /// until the grower says on the Set-up page that set-up is finished. False: never.
    /// </summary>
    public bool AllowAnonymous { get; set; } = true;

    /// <summary>What one client, and all together, may take of the built-in broker.</summary>
    public MqttLimits Limits { get; set; } = new();

    /// <summary>With a Host here, that broker is used and the built-in one is not started.</summary>
    public OutsideBrokerOptions Broker { get; set; } = new();

    public IList<Mapping> Mappings { get; set; } = [];
}

/// <summary>
/// Key <c>Mqtt:Limits</c>: bounds of the built-in broker. Reaching one is counted, logged in summary and shown on the Sensors page.
/// </summary>
internal sealed class MqttLimits
{
    /// <summary>
    /// One MQTT packet, bytes after its fixed header. A longer one is refused before it is read, and its connection closed.
    /// </summary>
    [Range(1_024, 16 * 1024 * 1024)]
    public int PacketBytes { get; set; } = 128 * 1024;

    /// <summary>
    /// What may wait for one reader, bytes. A reader who falls behind further is cut off; it comes back to the newest of everything.
    /// </summary>
    [Range(16 * 1024, 256 * 1024 * 1024)]
    public int PendingBytes { get; set; } = 1024 * 1024;

    /// <summary>The same in messages, and in answers that a client does not fetch.</summary>
    [Range(100, 100_000)]
    public int PendingMessages { get; set; } = 5_000;

    /// <summary>Messages the broker keeps for readers to come. Only the service's own are kept.</summary>
    [Range(100, 100_000)]
    public int RetainedMessages { get; set; } = 4_000;

    /// <summary>The same in bytes, topics included.</summary>
    [Range(64 * 1024, 256 * 1024 * 1024)]
    public int RetainedBytes { get; set; } = 8 * 1024 * 1024;

    [Range(1, 10_000)]
    public int ConnectionsPerAddress { get; set; } = 50;

    [Range(1, 10_000)]
    public int Connections { get; set; } = 300;

    /// <summary>Topic filters one client may subscribe to.</summary>
    [Range(1, 1_000)]
    public int Subscriptions { get; set; } = 50;
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
