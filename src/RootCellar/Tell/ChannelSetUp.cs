namespace RootCellar.Tell;

/// <summary>What the household set up itself, on the page or by the API, of the ways texts go out; null: not set up there.</summary>
internal sealed record ChannelSetUp(MailSetUp? Mail, PostSetUp? Post, ModemSetUp? Modem)
{
    public ChannelSetUp()
        : this(null, null, null)
    {
    }

    /// <summary>The address that is told that all is alive; null: none, or not set up there.</summary>
    public PingSetUp? Ping { get; init; }

    /// <summary>The same with a channel turned off.</summary>
    /// <param name="channel">One of <see cref="ChannelDesk.All"/>.</param>
    public ChannelSetUp Without(string channel) => channel switch
    {
        MailChannel.ChannelName => this with { Mail = null },
        PostChannel.ChannelName => this with { Post = null },
        _ => this with { Modem = null },
    };
}

/// <param name="Tls">As <see cref="MailOptions.Tls"/>.</param>
/// <param name="Password">In clear: the mail server wants it so. Never shown again.</param>
internal sealed record MailSetUp(string Host, int Port, string Tls, string? User, string? Password, string From)
{
    public MailOptions Options => new() { Host = Host, Port = Port, Tls = Tls, User = User, From = From };
}

/// <param name="Headers">Often with a key of the gateway's: their values are never shown again.</param>
/// <param name="Body">What is sent, as <see cref="PostOptions.BodyTemplate"/>.</param>
internal sealed record PostSetUp(
    string Url, string Method, IReadOnlyDictionary<string, string> Headers, string ContentType, string Body)
{
    public PostOptions Options => new()
    {
        Url = Url,
        Method = Method,
        Headers = Headers.ToDictionary(StringComparer.OrdinalIgnoreCase),
        ContentType = ContentType,
        BodyTemplate = Body,
    };
}

/// <summary>Texts go out by the modem that the machine's modem daemon has; which program hands them over is the installer's to say.</summary>
internal sealed record ModemSetUp;

/// <param name="Url">As <see cref="PingOptions.Url"/>; it may have a key in it, and is the household's to see.</param>
internal sealed record PingSetUp(string Url, int EverySeconds);
