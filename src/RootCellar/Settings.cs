using System.ComponentModel.DataAnnotations;
using System.Net;
using RootCellar.Advice;
using RootCellar.Entry;
using RootCellar.Household;
using RootCellar.Mirror;
using RootCellar.Readings;
using RootCellar.Report;
using RootCellar.Storage;
using RootCellar.Tell;
using RootCellar.Watch;

namespace RootCellar;

/// <summary>
/// Everything the installer decides: <c>rootcellar.json</c> in the data folder, then the environment
/// (<c>ROOTCELLAR__Watch__OnDelaySeconds=0</c>), then the command line. Places, sensors and contacts are not here:
/// they are set up on pages. Property names are the keys.
/// </summary>
internal sealed class Settings
{
    public HttpOptions Http { get; set; } = new();

    public MqttOptions Mqtt { get; set; } = new();

    public SensorLimits Sensors { get; set; } = new();

    public WatchOptions Watch { get; set; } = new();

    public KeepOptions Keep { get; set; } = new();

    public TellOptions Tell { get; set; } = new();

    public MirrorOptions Mirror { get; set; } = new();

    public HouseholdOptions Household { get; set; } = new();

    public ReportOptions Report { get; set; } = new();

    public LimitOptions Limits { get; set; } = new();
}

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
    /// Names under which the pages are opened, separated by commas, e.g. cellar.example, farm.lan. Addresses, localhost, the machine's own name,
    /// .local names and <see cref="PublicUrl"/>'s are known without it.
    /// </summary>
    public string? Hosts { get; set; }

    /// <summary>
    /// Addresses or networks of reverse proxies in front of the service, separated by commas, e.g. 127.0.0.1, 172.18.0.0/16. Only from there
    /// X-Forwarded-For, -Proto and -Host are believed; without it everybody behind a proxy has the proxy's address.
    /// </summary>
    public string? TrustedProxies { get; set; }

    internal IReadOnlyList<string> HostList => Parts(Hosts);

    /// <summary>The trusted networks; an address is a network of one. What cannot be read is left out: see <see cref="Problems"/>.</summary>
    internal IReadOnlyList<IPNetwork> ProxyList => [.. Parts(TrustedProxies).Select(Network).OfType<IPNetwork>()];

    internal IEnumerable<string> Problems()
    {
        foreach (var host in HostList.Where(h => Uri.CheckHostName(h) == UriHostNameType.Unknown))
            yield return $"Http:Hosts: '{host}' is not a name. Right: cellar.example, without http:// and port; several with commas between.";
        foreach (var proxy in Parts(TrustedProxies).Where(p => Network(p) is null))
            yield return $"Http:TrustedProxies: '{proxy}' is not an address or a network. Right: 192.168.1.5 or 172.18.0.0/16; several with commas between.";
    }

    private static string[] Parts(string? list) => (list ?? "").Split(',', StringSplitOptions.RemoveEmptyEntries | StringSplitOptions.TrimEntries);

    private static IPNetwork? Network(string text) => IPNetwork.TryParse(text, out var network) ? network
        : IPAddress.TryParse(text, out var address) ? new IPNetwork(address, address.GetAddressBytes().Length * 8)
        : null;
}

/// <summary>Key <c>Household</c>: how pages and texts speak.</summary>
internal sealed class HouseholdOptions
{
    /// <summary>IANA zone, e.g. America/New_York; the machine's own when empty.</summary>
    public string? TimeZone { get; set; }

    /// <summary>F or C.</summary>
    [RegularExpression("^[FC]$", ErrorMessage = "F or C")]
    public string Temperature { get; set; } = "F";

    /// <summary>The household's zone: what pages and texts show, and whose days are counted.</summary>
    public TimeZoneInfo Zone() => TimeZone is { Length: > 0 } zone ? TimeZoneInfo.FindSystemTimeZoneById(zone) : TimeZoneInfo.Local;

    /// <summary>The household's days.</summary>
    public HouseholdCalendar Calendar() => HouseholdCalendar.Of(Zone());

    /// <summary>lb or kg.</summary>
    [RegularExpression("^(lb|kg)$", ErrorMessage = "lb or kg")]
    public string Weight { get; set; } = "lb";

    /// <summary>How texts are worded; the grower's own templates are in the folder "templates" beside the record.</summary>
    public TextRenderer Words(string folder, string? publicUrl) => new(
        new TemplateSet(Path.Combine(folder, "templates")),
        Temperature == "C" ? TemperatureScale.Celsius : TemperatureScale.Fahrenheit,
        Zone(),
        Uri.TryCreate(publicUrl, UriKind.Absolute, out var page) ? page : null,
        EmergencyNumber);

    /// <summary>Whom to call where carbon dioxide could kill.</summary>
    [RegularExpression("^[0-9 ]{2,20}$", ErrorMessage = "a telephone number: digits and spaces")]
    public string EmergencyNumber { get; set; } = "911";

    /// <summary>What is wrong and what to do, in the household's units and zone.</summary>
    public JudgementWords Judgement() => new(Temperature == "C" ? TemperatureScale.Celsius : TemperatureScale.Fahrenheit, Calendar(), EmergencyNumber);
}
