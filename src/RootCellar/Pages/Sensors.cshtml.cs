using System.Security.Cryptography;
using System.Text;
using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.Mvc.RazorPages;
using RootCellar.Places;
using RootCellar.Storage;

namespace RootCellar.Pages;

/// <summary>A sensor as the page shows it; its anchor is made from a key that may hold anything.</summary>
internal sealed record SensorCard(SensorView Sensor, IReadOnlyList<Place> Places)
{
    public string Anchor => "s" + Convert.ToHexStringLower(SHA256.HashData(Encoding.UTF8.GetBytes(Sensor.Key)))[..12];

    public string Level => Sensor.Silent || Sensor.Online == false ? "raised" : Doubted || !Sensor.HeardSinceStart ? "unknown" : "well";

    public string Mark => Level switch { "raised" => "!", "unknown" => "?", _ => "✓" };

    public string State => Sensor switch
    {
        { Silent: true } => Strings.SensorSilent,
        { Online: false } => Strings.SensorOffline,
        { HeardSinceStart: false } => Strings.SensorNotYet,
        _ => Doubted ? Strings.SensorDoubted : Strings.SensorHeard,
    };

    private bool Doubted => Sensor.Last.Any(r => !r.IsGood);
}

/// <summary>Sensors: those waiting for a place first, then the rest, then what could not be read.</summary>
internal sealed class SensorsModel(Pipeline pipeline) : PageModel
{
    private const int LongestName = 80;

    public IReadOnlyList<SensorView> Waiting { get; private set; } = [];

    public IReadOnlyList<SensorView> Placed { get; private set; } = [];

    public IReadOnlyList<Place> Places { get; private set; } = [];

    public IReadOnlyList<UnreadableView> Unreadable { get; private set; } = [];

    public string? Problem { get; private set; }

    public async Task OnGetAsync()
    {
        var (sensors, places, unreadable) = await pipeline.AskAsync((house, _, _) => (house.ViewSensors(), house.AllPlaces, house.Unreadable.ToList()));
        Places = [.. places.OrderBy(p => p.Purpose).ThenBy(p => p.Name, StringComparer.CurrentCulture)];
        Waiting = [.. sensors.Where(s => s.Place is null)];
        Placed = [.. sensors.Where(s => s.Place is not null).OrderBy(s => Places.FirstOrDefault(p => p.Id == s.Place)?.Name, StringComparer.CurrentCulture)];
        Unreadable = unreadable;
    }

    public async Task<IActionResult> OnPostPutAsync(string? key, string? place, string? name)
    {
        name = string.IsNullOrWhiteSpace(name) ? null : name.Trim();
        try
        {
            if (name?.Length > LongestName) Problem = Strings.NameTooLong.With(LongestName);
            else if (key is null || !await pipeline.AskAsync((h, wall, mono) => h.SaveSensor(key, string.IsNullOrEmpty(place) ? null : place, name, mono, wall))) Problem = Strings.SensorOrPlaceGone;
        }
        catch (StoreProblemException e)
        {
            Problem = Strings.UntilRestart.With(e.Message);
        }

        if (Problem is null) return RedirectToPage();
        await OnGetAsync();
        return Page();
    }
}
