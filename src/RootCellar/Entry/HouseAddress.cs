using System.Net;
using System.Net.NetworkInformation;
using System.Net.Sockets;
using Microsoft.Data.Sqlite;
using RootCellar.Diagnostics;
using RootCellar.Household;
using RootCellar.Storage;

namespace RootCellar.Entry;

/// <summary>
/// Where the pages are opened in the house, for what leads there from a mail: what the installer set, else what the household's own phones
/// last opened them by, else the address this machine has in the network.
/// </summary>
internal sealed class HouseAddress
{
    private readonly Uri? given;
    private readonly IPEndPoint? listen;
    private readonly Store store;
    private readonly FailedWork failed;
    private volatile Uri? seen;

    public HouseAddress(HttpOptions http, Store store, FailedWork failed)
    {
        (this.store, this.failed) = (store, failed);
        given = Web(http.PublicUrl);
        listen = ListenAddress.Of(http.Listen);
        try
        {
            seen = Web(store.Read(c => Meta.Get(c, Meta.HouseAddress)));
        }
        catch (SqliteException)
        {
            // The next visit says it again.
        }
    }

    /// <summary>Null where nobody but this machine itself gets here, as far as is known.</summary>
    public Uri? Now => given ?? seen ?? Found();

    /// <summary>Somebody of the household opened a page; what only this machine can open is no help to a phone.</summary>
    public void Note(HttpRequest request)
    {
        if (given is not null || IsLoopback(request.Host.Host) || Web($"{request.Scheme}://{request.Host.Value}") is not { } address
            || address == seen) return;
        seen = address;
        failed.Run("entry", "keeping the address of the pages", _ => store.WriteAsync(c => Meta.Set(c, Meta.HouseAddress, address.ToString())));
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
