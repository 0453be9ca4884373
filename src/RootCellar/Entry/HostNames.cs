using System.Net;
using RootCellar.Household;
using RootCellar.Tls;

namespace RootCellar.Entry;

/// <summary>
/// On an endpoint that tells nothing anybody could want to steal: answers under any host name, as monitors and containers ask.
/// </summary>
internal sealed class AnyHost;

/// <summary>
/// The names the pages answer to. Another site can point a name of its own at this machine (DNS rebinding) and would then be the same site
/// to a browser; under a name that is not ours it gets nothing. Addresses and .local names cannot be pointed anywhere by others.
/// </summary>
internal sealed class HostNames
{
    private const int LongestShown = 80;

    private readonly HashSet<string> known = new(StringComparer.OrdinalIgnoreCase) { "localhost" };

    private readonly HouseCertificate certificate;

    public HostNames(HttpOptions options, HouseCertificate certificate)
    {
        this.certificate = certificate;
        known.Add(Environment.MachineName);
        known.Add(Dns.GetHostName());
        if (Uri.TryCreate(options.PublicUrl, UriKind.Absolute, out var page)) known.Add(page.IdnHost);
        known.UnionWith(options.HostList);
    }

    /// <param name="host">The host of the request, without port.</param>
    public bool Knows(string host)
    {
        var name = host.TrimEnd('.');
        return IPAddress.TryParse(name.Trim('[', ']'), out _) || known.Contains(name)
            || name.EndsWith(".local", StringComparison.OrdinalIgnoreCase)
                || name.EndsWith(".localhost", StringComparison.OrdinalIgnoreCase)
            // Nobody else has one of ours made out for a name of theirs.
            || certificate.IsFor(name);
    }

    /// <summary>Whether a request may be answered: by its host, or because nothing a browser holds opens anything by it.</summary>
    public bool Serves(HttpContext context) =>
        Knows(context.Request.Host.Host)
        || context.GetEndpoint()?.Metadata.GetMetadata<AnyHost>() is not null
        // No browser adds a token of ours by itself.
        || context.Request.Headers.Authorization.Count > 0;

    public static string Refusal(string host) =>
        $"RootCellar does not answer to the name '{(host.Length > LongestShown ? host[..LongestShown] : host)}'. "
        + "Open it by its address (http://192.168.1.20:8080), or, if the name is yours, add it to Http:Hosts in rootcellar.json.";
}
