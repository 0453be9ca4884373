using System.ComponentModel.DataAnnotations;
using System.Net;
using RootCellar.Entry;
using RootCellar.Household;
using RootCellar.Mirror;
using RootCellar.Readings;
using RootCellar.Report;
using RootCellar.Storage;
using RootCellar.Tell;
using RootCellar.Tls;
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

    public TlsOptions Tls { get; set; } = new();

    public SensorLimits Sensors { get; set; } = new();

    public WatchOptions Watch { get; set; } = new();

    public KeepOptions Keep { get; set; } = new();

    public BackupOptions Backup { get; set; } = new();

    public TellOptions Tell { get; set; } = new();

    public MirrorOptions Mirror { get; set; } = new();

    public HouseholdOptions Household { get; set; } = new();

    public ReportOptions Report { get; set; } = new();

    public LimitOptions Limits { get; set; } = new();

    /// <summary>Goes by what the household set up itself on the page, where the installer left it free.</summary>
    /// <param name="folder">Where the record is.</param>
    internal void TakeSetUp(string folder) => Household.Take(new KeptFile<HouseholdSetUp>(folder, DataFolder.Household).Read().Content);
}
