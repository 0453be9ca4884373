using System.ComponentModel.DataAnnotations;

namespace RootCellar.Tell;

/// <summary>Key <c>Tell</c>: how a text leaves the house.</summary>
internal sealed class TellOptions
{
    public MailOptions Mail { get; set; } = new();

    public PostOptions Post { get; set; } = new();

    public ModemOptions Modem { get; set; } = new();

    public PingOptions Ping { get; set; } = new();
}

/// <summary>
/// Key <c>Tell:Ping</c>: an address of the household's choosing that is asked for every few minutes while all is alive, so that somebody outside
/// notices when it is not. Off while Url is empty.
/// </summary>
internal sealed class PingOptions
{
    public string? Url { get; set; }

    /// <summary>Seconds from one to the next.</summary>
    [Range(10, 86_400)]
    public int EverySeconds { get; set; } = 300;
}

/// <summary>Key <c>Tell:Mail</c>. Off while Host is empty.</summary>
internal sealed class MailOptions
{
    public string? Host { get; set; }

    [Range(1, 65535)]
    public int Port { get; set; } = 587;

    /// <summary>auto (STARTTLS where offered), on (TLS from the first byte), starttls (insist on it), off.</summary>
    [RegularExpression("^(auto|on|starttls|off|true|false|True|False)$", ErrorMessage = "auto, on, starttls or off")]
    public string Tls { get; set; } = "auto";

    public string? User { get; set; }

    /// <summary>A file that holds the password and nothing else.</summary>
    public string? PasswordFile { get; set; }

    public string From { get; set; } = "rootcellar@localhost";

    /// <summary>Who gets every text, beside the contacts of the Set-up page.</summary>
    public string? To { get; set; }

    /// <summary>One attempt may take this long, seconds.</summary>
    [Range(1, 600)]
    public int TimeoutSeconds { get; set; } = 30;
}

/// <summary>
/// Key <c>Tell:Post</c>: one HTTP request for each text, to an SMS gateway, a push service or a hook. Off while Url is empty.
/// </summary>
internal sealed class PostOptions
{
    public string? Url { get; set; }

    public string Method { get; set; } = "POST";

    public IDictionary<string, string> Headers { get; set; } = new Dictionary<string, string>(StringComparer.OrdinalIgnoreCase);

    /// <summary>Scriban; knows to, text, alarm, priority, subject, id. Values are written as JSON by the function json.</summary>
    public string BodyTemplate { get; set; } =
        """{"to":{{ to | json }},"text":{{ text | json }},"alarm":{{ alarm | json }},"priority":{{ priority | json }}}""";

    public string ContentType { get; set; } = "application/json";

    /// <summary>Who gets every text when no contact of the Set-up page uses this channel; may stay empty for a hook.</summary>
    public string? To { get; set; }

    /// <summary>One attempt may take this long, seconds.</summary>
    [Range(1, 600)]
    public int TimeoutSeconds { get; set; } = 30;
}

/// <summary>Key <c>Tell:Modem</c>: a GSM modem by gammu-smsd. Off unless On, or switched on on the page.</summary>
internal sealed class ModemOptions
{
    public bool On { get; set; }

    /// <summary>What hands a text to the daemon.</summary>
    public string Program { get; set; } = "gammu-smsd-inject";

    /// <summary>The daemon's configuration; empty: where the daemon itself looks.</summary>
    public string? Config { get; set; }

    /// <summary>Whether texts may be answered by text.</summary>
    public bool Answers { get; set; } = true;

    /// <summary>Where the daemon puts what it received; empty: its inboxpath, as its configuration says.</summary>
    public string? Inbox { get; set; }

    /// <summary>One attempt may take this long, seconds.</summary>
    [Range(1, 600)]
    public int TimeoutSeconds { get; set; } = 30;
}
