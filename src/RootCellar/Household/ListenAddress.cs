using System.Globalization;
using System.Net;

namespace RootCellar.Household;

/// <summary>Where a server of ours listens.</summary>
internal static class ListenAddress
{
    /// <summary>HOST:PORT, with [::] forms; null when it is neither.</summary>
    public static IPEndPoint? Of(string listen)
    {
        var colon = listen.LastIndexOf(':');
        if (colon <= 0 || !int.TryParse(listen.AsSpan(colon + 1), NumberStyles.None, CultureInfo.InvariantCulture, out var port)
            || port > 65535)
            return null;
        var host = listen[..colon].Trim('[', ']');
        if (host is "*" or "+") return new IPEndPoint(IPAddress.Any, port);
        if (host.Equals("localhost", StringComparison.OrdinalIgnoreCase)) return new IPEndPoint(IPAddress.Loopback, port);
        return IPAddress.TryParse(host, out var address) ? new IPEndPoint(address, port) : null;
    }
}
