using System.Net;
using System.Net.NetworkInformation;
using System.Net.Sockets;
using Microsoft.AspNetCore.Connections.Features;
using Microsoft.Data.Sqlite;
using RootCellar.Diagnostics;
using RootCellar.Household;
using RootCellar.Storage;
using RootCellar.Tls;

namespace RootCellar.Entry;

/// <summary>
/// Where the pages are opened in the house, for what leads there from a mail: what the installer set, else what the household's own phones
/// last opened them by, else the address this machine has in the network. By https of our own only where a phone of the household came by
/// it, and so trusts the certificate, and while that is good; plain visits beside it do not change it.
/// </summary>
internal sealed class HouseAddress
{
    private readonly Uri? given;
    private readonly IPEndPoint? listen;
    private readonly Store store;
    private readonly FailedWork failed;
    private readonly HouseCertificate certificate;
    private volatile Uri? seen;
    private volatile Uri? seenSecure;

    public HouseAddress(HttpOptions http, Store store, FailedWork failed, HouseCertificate certificate)
    {
        (this.store, this.failed, this.certificate) = (store, failed, certificate);
        given = Web(http.PublicUrl);
        listen = ListenAddress.Of(http.Listen);
        try
        {
            seen = Web(store.Read(c => Meta.Get(c, Meta.HouseAddress)));
            seenSecure = Web(store.Read(c => Meta.Get(c, Meta.SecureHouseAddress)));
        }
        catch (SqliteException)
        {
            // The next visit says it again.
        }
    }

    /// <summary>Null where nobody but this machine itself gets here, as far as is known.</summary>
    public Uri? Now => given ?? (certificate.Now.IsGood ? seenSecure : null) ?? seen ?? Found();

    /// <summary>Somebody of the household opened a page; what only this machine can open is no help to a phone.</summary>
    public void Note(HttpRequest request)
    {
        if (given is not null || IsLoopback(request.Host.Host) || Web($"{request.Scheme}://{request.Host.Value}") is not { } address
            || address == seen || address == seenSecure) return;
        // Our own, and not that of a proxy in front.
        var secure = request.HttpContext.Features.Get<ITlsHandshakeFeature>() is not null;
        if (secure) seenSecure = address;
        else seen = address;
        failed.Run("entry", "keeping the address of the pages",
            _ => store.WriteAsync(c => Meta.Set(c, secure ? Meta.SecureHouseAddress : Meta.HouseAddress, address.ToString())));
    }

    private static bool IsLoopback(string host) => host.TrimEnd('.') is var name
        && (name.Equals("localhost", StringComparison.OrdinalIgnoreCase) || name.EndsWith(".localhost", StringComparison.OrdinalIgnoreCase)
            || (IPAddress.TryParse(name.Trim('[', ']'), out var address) && (IPAddress.IsLoopback(address) || IPAddress.Any.Equals(address))));

    private static Uri? Web(string? text) =>
        Uri.TryCreate(text, UriKind.Absolute, out var address) && address.Scheme is "http" or "https" ? address : null;

    private Uri? Found()
    {
        if (listen is null || IPAddress.IsLoopback(listen.Address)) return null;
        if (!IPAddress.Any.Equals(listen.Address) && !IPAddress.IPv6Any.Equals(listen.Address)) return Web($"http://{listen}");
        var best = NetworkInterface.GetAllNetworkInterfaces()
            .Where(n => n.OperationalStatus == OperationalStatus.Up && n.NetworkInterfaceType != NetworkInterfaceType.Loopback)
            .Select(n => n.GetIPProperties())
            // One that leads on to elsewhere is the house's; a bridge between containers does not.
            .OrderByDescending(p => p.GatewayAddresses.Any(g => !IPAddress.Any.Equals(g.Address)))
            .SelectMany(p => p.UnicastAddresses)
            .Select(a => a.Address)
            // 169.254.0.0/16 is what a machine gives itself where nobody gives it one (RFC 3927).
            .FirstOrDefault(a => a.AddressFamily == AddressFamily.InterNetwork && a.GetAddressBytes() is not [169, 254, ..]);
        return best is null ? null : Web($"http://{best}:{listen.Port}");
    }
}
