using System.Globalization;
using System.Net.Http.Headers;
using MimeKit;
using RootCellar.Household;

namespace RootCellar.Tell;

/// <summary>What a way out may be set up as; used by page and API alike.</summary>
internal static class ChannelRules
{
    private const int LongestText = 500;
    private const int LongestBody = 5_000;
    private const int MostHeaders = 20;

    /// <summary>How the connection to a mail server is kept from being read, as <see cref="MailOptions.Tls"/>.</summary>
    public static readonly IReadOnlyList<string> Securities = ["auto", "starttls", "on", "off"];

    public static readonly IReadOnlyList<string> Methods = ["POST", "PUT"];

    /// <summary>Kinds of body with the body that is sent where none is given.</summary>
    public static readonly IReadOnlyDictionary<string, string> Bodies = new Dictionary<string, string>(StringComparer.Ordinal)
    {
        ["application/json"] = new PostOptions().BodyTemplate,
        ["application/x-www-form-urlencoded"] = "to={{ to | html.url_encode }}&text={{ text | html.url_encode }}",
        ["text/plain"] = "{{ text }}",
    };

    /// <param name="password">Null: as it was.</param>
    public static Refused? Mail(
        string? host, int? port, string? tls, string? user, string? password, string? from, MailSetUp? before, out MailSetUp? mail)
    {
        mail = null;
        (host, user, from) = (host?.Trim(), Blank(user), from?.Trim() ?? "");
        tls = Blank(tls)?.ToLowerInvariant() ?? "auto";
        if (string.IsNullOrEmpty(host) || Uri.CheckHostName(host) == UriHostNameType.Unknown)
            return new Refused(RefusedFor.MailServer, $"host: '{host}' is not the name of a server. Right: mail.example.org.");
        if (port is < 1 or > 65535) return new Refused(RefusedFor.Port, $"port: {port} is not between 1 and 65535. Most take 587.");
        if (!Securities.Contains(tls, StringComparer.Ordinal))
            return new Refused(RefusedFor.Choice, $"tls: '{tls}' is not one of {string.Join(", ", Securities)}.");
        if (!MailboxAddress.TryParse(from, out _) || !from.Contains('@', StringComparison.Ordinal))
            return new Refused(RefusedFor.MailAddress, $"from: '{from}' is not a mail address. Right: cellar@example.org.");
        if (user?.Length > LongestText || password?.Length > LongestText)
            return new Refused(RefusedFor.TooLong, $"user, password: at most {LongestText} letters each.");
        // A password goes to the server it was given for, and to no other.
        var kept = before is not null && string.Equals(before.Host, host, StringComparison.OrdinalIgnoreCase) ? before.Password : null;
        mail = new MailSetUp(host, port ?? 587, tls, user, user is null ? null : password ?? kept, from);
        return null;
    }

    /// <param name="headers">Null: as they were.</param>
    public static Refused? Post(
        string? url, string? method, IReadOnlyDictionary<string, string>? headers, string? contentType, string? body, PostSetUp? before,
        out PostSetUp? post)
    {
        post = null;
        url = url?.Trim() ?? "";
        method = Blank(method)?.ToUpperInvariant() ?? Methods[0];
        contentType = Blank(contentType) ?? Bodies.Keys.First();
        if (!Uri.TryCreate(url, UriKind.Absolute, out var address) || address.Scheme is not ("http" or "https") || url.Length > LongestText)
            return new Refused(RefusedFor.WebAddress, $"url: '{url}' is not a web address. Right: https://gateway.example/send.");
        if (!Methods.Contains(method, StringComparer.Ordinal))
            return new Refused(RefusedFor.Choice, $"method: '{method}' is not one of {string.Join(", ", Methods)}.");
        if (!MediaTypeHeaderValue.TryParse(contentType, out var type) || type.MediaType is null)
            return new Refused(RefusedFor.Choice, $"contentType: '{contentType}' is none. Right: {string.Join(" or ", Bodies.Keys)}.");
        body = Blank(body) ?? Bodies.GetValueOrDefault(type.MediaType, Bodies["text/plain"]);
        if (body.Length > LongestBody) return new Refused(RefusedFor.TooLong, $"body: at most {LongestBody} letters.");
        if (PostChannel.TemplateProblem(body) is { } fault) return new Refused(RefusedFor.Body, $"body: {fault}");
        if (headers is not null && Wrong(headers) is { } wrong) return wrong;
        // A key goes to the gateway it was given for, and to no other.
        var kept = before is not null && Uri.TryCreate(before.Url, UriKind.Absolute, out var old) && old.Authority == address.Authority
            && old.Scheme == address.Scheme ? before.Headers : null;
        post = new PostSetUp(url, method, headers ?? kept ?? new Dictionary<string, string>(StringComparer.OrdinalIgnoreCase), contentType, body);
        return null;
    }

    /// <param name="url">Empty: none.</param>
    /// <param name="everySeconds">Null: as it was, or every five minutes.</param>
    public static Refused? Ping(string? url, int? everySeconds, PingSetUp? before, out PingSetUp? ping)
    {
        ping = null;
        url = Blank(url);
        if (url is null) return null;
        var every = everySeconds ?? before?.EverySeconds ?? new PingOptions().EverySeconds;
        if (!Uri.TryCreate(url, UriKind.Absolute, out var address) || address.Scheme is not ("http" or "https") || url.Length > LongestText)
            return new Refused(RefusedFor.WebAddress, $"url: '{url}' is not a web address. Right: https://watcher.example/my-key.");
        if (every is < 10 or > 86_400) return new Refused(RefusedFor.Wait, $"everySeconds: {every} is not between 10 and 86400.");
        ping = new PingSetUp(url, every);
        return null;
    }

    /// <summary>Headers as a form has them: one a line, name and value apart by a colon. Null where a line is none.</summary>
    public static IReadOnlyDictionary<string, string>? Headers(string text)
    {
        var headers = new Dictionary<string, string>(StringComparer.OrdinalIgnoreCase);
        foreach (var line in text.Split('\n', StringSplitOptions.RemoveEmptyEntries | StringSplitOptions.TrimEntries))
        {
            var colon = line.IndexOf(':', StringComparison.Ordinal);
            if (colon < 1) return null;
            headers[line[..colon].Trim()] = line[(colon + 1)..].Trim();
        }

        return headers;
    }

    private static Refused? Wrong(IReadOnlyDictionary<string, string> headers)
    {
        if (headers.Count > MostHeaders) return new Refused(RefusedFor.TooLong, $"headers: at most {MostHeaders}.");
        using var request = new HttpRequestMessage();
        foreach (var (name, value) in headers)
        {
            if (value.Length > LongestBody || value.Any(char.IsControl) || !request.Headers.TryAddWithoutValidation(name, value))
                return new Refused(RefusedFor.Header, string.Create(CultureInfo.InvariantCulture, $"headers: '{name}' is not a header that can be sent."));
        }

        return null;
    }

    private static string? Blank(string? text) => string.IsNullOrWhiteSpace(text) ? null : text.Trim();
}
