using Microsoft.AspNetCore.Mvc;
using RootCellar.Entry;
using RootCellar.Household;
using RootCellar.Monitoring;
using RootCellar.Storage;

namespace RootCellar.Pages;

/// <summary>A sensor takes another's place, and that is taken back.</summary>
internal sealed partial class SensorsModel
{
    /// <summary>The one that is to take another's place; null where none is.</summary>
    public SensorView? Coming { get; private set; }

    /// <summary>Those whose place it could take, the silent first.</summary>
    public IReadOnlyList<SensorView> Leaving { get; private set; } = [];

    /// <summary>The one it is to replace, where the new one is in another place and it is asked whether it was carried over.</summary>
    public SensorView? Asked { get; private set; }

    public string PlaceName(SensorView sensor) => Places.FirstOrDefault(p => p.Id == sensor.Place)?.Name ?? Strings.InNoPlace;

    public async Task<IActionResult> OnPostReplaceAsync(string? key, string? old, bool carriedOver = false)
    {
        try
        {
            var outcome = await pipeline.AskAsync(
                (h, wall, mono) => h.Replace(key ?? "", old ?? "", carriedOver, mono, wall), HttpContext.RequestAborted);
            if (outcome == ReplaceOutcome.Done) return RedirectToPage(null, null, new { done = "replaced" }, SensorCard.AnchorOf(key!));
            if (outcome == ReplaceOutcome.NewElsewhere) return RedirectToPage(null, null, new { by = key, old });
            Problem = outcome switch
            {
                ReplaceOutcome.Itself => Strings.ReplaceItself,
                ReplaceOutcome.OldNowhere => Strings.ReplaceNowhere.With(pipeline.Snapshot.Sensor(old)?.Called ?? old!),
                _ => Strings.SensorOrPlaceGone,
            };
        }
        catch (StoreProblemException e)
        {
            Problem = Strings.UntilRestart.With(e.Message);
        }

        Load(all: false);
        return Page();
    }

    public async Task<IActionResult> OnPostTakeBackAsync(string? key)
    {
        Problem = await pipeline.ChangeAsync(
            (h, wall, mono) => h.TakeBackReplacement(key ?? "", mono, wall), Strings.ReplaceOver, HttpContext.RequestAborted);
        if (Problem is null) return RedirectToPage(null, null, new { done = "taken-back" });
        Load(all: false);
        return Page();
    }

    private void Choose(string? by, string? old)
    {
        Coming = User.IsHelper() ? null : pipeline.Snapshot.Sensor(by);
        if (Coming is not { } coming) return;
        Leaving = [.. Placed.Where(s => s.Key != coming.Key).OrderByDescending(s => s.Silent)];
        Asked = coming.Place is null ? null : Leaving.FirstOrDefault(s => s.Key == old && s.Place != coming.Place);
    }
}
