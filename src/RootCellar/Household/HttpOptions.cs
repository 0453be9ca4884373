using System.Net;

namespace RootCellar.Household;

/// <summary>Key <c>Http</c>.</summary>
internal sealed class HttpOptions
{
    /// <summary>HOST:PORT where the pages and the API are served.</summary>
    public string Listen { get; set; } = "0.0.0.0:8080";

    /// <summary>The address the grower's phone uses, put into mails, e.g. http://cellar.local:8080.</summary>
    public string? PublicUrl { get; set; }

    /// <summary>Whether /metrics answers without a token.</summary>
    public bool OpenMetrics { get; set; }

    /// <summary>
    /// Names under which the pages are opened, separated by commas, e.g. cellar.example, farm.lan. Addresses, localhost, the machine's own
    /// name, .local names and <see cref="PublicUrl"/>'s are known without it.
    /// </summary>
    public string? Hosts { get; set; }

    /// <summary>
    /// Addresses or networks of reverse proxies in front of the service, separated by commas, e.g. 127.0.0.1, 172.18.0.0/16. Only from
    /// there X-Forwarded-For, -Proto and -Host are believed; without it everybody behind a proxy has the proxy's address.
    /// </summary>
    public string? TrustedProxies { get; set; }

    internal IReadOnlyList<string> HostList => Parts(Hosts);

    /// <summary>
    /// The trusted networks; an address is a network of one. What cannot be read is left out: see <see cref="Problems"/>.
    /// </summary>
    internal IReadOnlyList<IPNetwork> ProxyList => [.. Parts(TrustedProxies).Select(Network).OfType<IPNetwork>()];

    internal IEnumerable<string> Problems()
    {
        foreach (var host in HostList.Where(h => Uri.CheckHostName(h) == UriHostNameType.Unknown))
            yield return $"Http:Hosts: '{host}' is not a name. Right: cellar.example, without http:// and port; several with commas between.";
        foreach (var proxy in Parts(TrustedProxies).Where(p => Network(p) is null))
            yield return $"Http:TrustedProxies: '{proxy}' is not an address or a network. Right: 192.168.1.5 or 172.18.0.0/16; several with commas between.";
    }

    private static string[] Parts(string? list) => (list ?? "")
        .Split(',', StringSplitOptions.RemoveEmptyEntries | StringSplitOptions.TrimEntries);

    private static IPNetwork? Network(string text) => IPNetwork.TryParse(text, out var network) ? network
        : IPAddress.TryParse(text, out var address) ? new IPNetwork(address, address.GetAddressBytes().Length * 8)
        : null;
}
