using System.Security.Cryptography;
using System.Text;
using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.Mvc.RazorPages;
using RootCellar.Household;
using RootCellar.Monitoring;
using RootCellar.Places;
using RootCellar.Readings;
using RootCellar.Storage;

namespace RootCellar.Pages;

/// <summary>A sensor as the page shows it; its anchor is made from a key that may hold anything.</summary>
/// <param name="Own">The password it has of its own; null where it has none.</param>
/// <param name="MayHaveOwn">Whether one can be made: not where the household has a broker of its own.</param>
/// <param name="MayReplace">Whether there is another whose place it could take.</param>
/// <param name="ReplacedBy">The one that took its place; null where none did.</param>
internal sealed record SensorCard(SensorView Sensor, IReadOnlyList<Place> Places, ClientCredential? Own = null, bool MayHaveOwn = false,
    bool MayReplace = false, SensorView? ReplacedBy = null)
{
    public bool MayCalibrate => CalibrateModel.Measures(Sensor).Any();

    public string Anchor => AnchorOf(Sensor.Key);

    public static string AnchorOf(string key) => "s" + Convert.ToHexStringLower(SHA256.HashData(Encoding.UTF8.GetBytes(key)))[..12];

    public string Level => Sensor.Silent || Sensor.Online == false ? "raised" : Doubted || !Sensor.HeardSinceStart ? "unknown" : "well";

    public string Mark => Level switch { "raised" => "!", "unknown" => "?", _ => "✓" };

    public string State => Sensor switch
    {
        { Silent: true } => Strings.SensorSilent,
        { Online: false } => Strings.SensorOffline,
        { HeardSinceStart: false } => Strings.SensorNotYet,
        _ => Doubted ? Strings.SensorDoubted : Strings.SensorHeard,
    };

    private bool Doubted => Sensor.Last.Any(r => !r.Counts);
}

/// <summary>Sensors: those waiting for a place first, then the rest, then what could not be read.</summary>
internal sealed partial class SensorsModel(Pipeline pipeline, MqttOptions mqtt, SensorLimits sensorLimits, SensorDoor door,
    ClientAccess access, Refusals refusals, HeardTopics heard, MappingDesk desk, MappingDoor mappings, Show show) : PageModel
{
    // More than these at once were invented, or come from a gateway; either way a page of hundreds helps nobody.
    private const int WaitingShown = 20;

    public IReadOnlyList<SensorView> Waiting { get; private set; } = [];

    public IReadOnlyList<SensorView> Placed { get; private set; } = [];

    public IReadOnlyList<Place> Places { get; private set; } = [];

    public IReadOnlyList<UnreadableView> Unreadable { get; private set; } = [];

    public string? Problem { get; private set; }

    /// <summary>What the built-in broker turned away in the last day, one line for each reason.</summary>
    public IReadOnlyList<string> Refused { get; private set; } = [];

    /// <summary>Whose password was made just now, and the password: shown this once.</summary>
    public (string Name, string Secret)? NewClient { get; private set; }

    /// <summary>What is typed into a sensor.</summary>
    public SensorConnection Connection => SensorConnection.Of(mqtt, door, Request, Places);

    private bool OwnBroker => string.IsNullOrEmpty(mqtt.Broker.Host);

    public SensorCard Card(SensorView sensor) =>
        new(sensor, Places, door.Facts.Credentials.FirstOrDefault(c => c.Kind == ClientKind.Sensor && c.Name == sensor.Key), OwnBroker,
            Placed.Any(p => p.Key != sensor.Key), sensor.Place is null ? pipeline.Snapshot.ReplacedBy(sensor.Key) : null);

    public string? Done { get; private set; }

    /// <summary>One line on new sensors that were turned away; null when there were none within a day.</summary>
    public string? TurnedAway { get; private set; }

    /// <summary>How many wait that the page does not show.</summary>
    public int MoreWaiting { get; private set; }

    /// <summary>How many sensors never were in a place.</summary>
    public int NeverPlaced { get; private set; }

    public void OnGet(bool all = false, string? done = null, string? by = null, string? old = null)
    {
        Done = done switch
        {
            "forgotten" => Strings.DoneForgotten,
            "all-forgotten" => Strings.DoneAllForgotten,
            "replaced" => Strings.ReplaceDone,
            "taken-back" => Strings.ReplaceTakenBack,
            "mapped" => Strings.HeardDone,
            "unmapped" => Strings.HeardUndone,
            _ => null,
        };
        Load(all);
        Choose(by, old);
    }

    private void Load(bool all)
    {
        var now = pipeline.Snapshot;
        var sensors = now.Sensors;
        TurnedAway = now.TurnedAway is { } run ? Words(run) : null;
        Places = [.. now.AllPlaces.OrderBy(p => p.Purpose).ThenBy(p => p.Name, NameOrder.Instance)];
        Waiting = [.. sensors.Where(s => s.Place is null).OrderBy(s => s.FirstSeen).Take(all ? int.MaxValue : WaitingShown)];
        NeverPlaced = sensors.Count(s => !s.EverPlaced);
        MoreWaiting = sensors.Count(s => s.Place is null) - Waiting.Count;
        Placed = [.. sensors.Where(s => s.Place is not null)
            .OrderBy(s => Places.FirstOrDefault(p => p.Id == s.Place)?.Name, NameOrder.Instance)];
        Unreadable = now.Unreadable;
        Refused = [.. refusals.View().Select(Line)];
        LoadHeard(all);
    }

    /// <summary>A password of its own for a sensor, or a new one.</summary>
    public async Task<IActionResult> OnPostPasswordAsync(string? key)
    {
        var known = pipeline.Snapshot.Sensor(key);
        try
        {
            if (known is null || !OwnBroker) Problem = Strings.SensorOrPlaceGone;
            else NewClient = (known.Called, await access.ForSensorAsync(known.Key).WaitAsync(HttpContext.RequestAborted));
        }
        catch (StoreProblemException e)
        {
            Problem = Strings.NotSaved.With(e.Message);
        }

        Load(all: false);
        return Page();
    }

    public async Task<IActionResult> OnPostPutAsync(string? key, string? place, string? name)
    {
        if (SensorNaming.Read(name, out name) is { } odd)
            Problem = odd.For == RefusedFor.Name ? Strings.NameTooLong.With(SensorNaming.Longest) : Strings.SensorNameOdd.With(NameRules.Seen(name!));
        else if (key is not null && pipeline.Snapshot.CalledAlike(key, place, name) is { } other)
            Problem = Strings.SensorNameTaken.With(pipeline.Snapshot.Place(place!)?.Place.Name, other.Called);
        else
            Problem = key is null ? Strings.SensorOrPlaceGone : await SaveAsync(key, place, name);

        if (Problem is null) return RedirectToPage();
        Load(all: false);
        return Page();
    }

    private Task<string?> SaveAsync(string key, string? place, string? name) => pipeline.ChangeAsync(
        (h, wall, mono) => h.SaveSensor(key, string.IsNullOrEmpty(place) ? null : place, name, mono, wall), Strings.SensorOrPlaceGone,
        HttpContext.RequestAborted);

    public Task<IActionResult> OnPostForgetAsync(string? key) =>
        ForgetAsync(async () => key is not null && await access.ForgetAsync(key).WaitAsync(HttpContext.RequestAborted), "forgotten");

    /// <summary>All that wait and never were in a place: after somebody invented them by the hundred.</summary>
    public Task<IActionResult> OnPostForgetWaitingAsync() => ForgetAsync(access.ForgetWaitingAsync, "all-forgotten");

    private async Task<IActionResult> ForgetAsync(Func<Task<bool>> forget, string done)
    {
        try
        {
            if (await forget().WaitAsync(HttpContext.RequestAborted)) return RedirectToPage(null, null, new { done });
            Problem = Strings.SensorOrPlaceGone;
        }
        catch (StoreProblemException e)
        {
            Problem = Strings.UntilRestart.With(e.Message);
        }

        Load(all: false);
        return Page();
    }

    private string Words(TurnedAway run)
    {
        var why = new List<string>();
        if (run.ByHouse > 0) why.Add(Strings.TurnedAwayByHouse.With(sensorLimits.Most));
        if (run.Client is { } client) why.Add(Strings.TurnedAwayByClient.With(client, sensorLimits.MostWaitingPerClient));
        return Strings.TurnedAway.With(run.Messages, show.Time(run.Since), string.Join(", ", why));
    }

    private string Line(RefusalView refused)
    {
        var limits = mqtt.Limits;
        var what = refused.Reason switch
        {
            Refusal.Password => Strings.RefusedPassword.With(refused.Count),
            Refusal.ClientId => Strings.RefusedClientId.With(refused.Count),
            Refusal.Topic => Strings.RefusedTopic.With(refused.Count),
            Refusal.Subscription => Strings.RefusedSubscription.With(refused.Count),
            Refusal.Packet => Strings.RefusedPacket.With(refused.Count, $"{limits.PacketBytes / 1024} kB"),
            Refusal.Pending => Strings.RefusedPending.With(refused.Count),
            Refusal.Retained => Strings.RefusedRetained.With(refused.Count),
            Refusal.AddressConnections => Strings.RefusedAddressConnections.With(refused.Count, limits.ConnectionsPerAddress),
            _ => Strings.RefusedConnections.With(refused.Count, limits.Connections),
        };
        var from = string.Join(", ", refused.Addresses);
        return Strings.RefusedSince.With(what, show.Time(refused.Since), show.Time(refused.Last), refused.MoreAddresses
            ? Strings.RefusedFromMore.With(from) : from);
    }
}
