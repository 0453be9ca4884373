using Microsoft.AspNetCore.Mvc;
using RootCellar.Advice;
using RootCellar.Household;
using RootCellar.Readings;

namespace RootCellar.Pages;

/// <summary>What is heard and not understood yet, and how it is read once somebody said so.</summary>
internal sealed partial class SensorsModel
{
    private const int HeardShown = 30;

    public IReadOnlyList<HeardCard> Heard { get; private set; } = [];

    public int MoreHeard { get; private set; }

    /// <summary>Heard, and no figure found in it; what tells whether a sensor is there has its place elsewhere.</summary>
    public IReadOnlyList<HeardCard> Nothing { get; private set; } = [];

    public IReadOnlyList<MappedTopic> Mapped { get; private set; } = [];

    public string? MappingProblem => desk.Problem;

    public async Task<IActionResult> OnPostUseAsync(string? topic, string? place, string? sensor, string[]? at, string[]? what)
    {
        Load(all: false);
        sensor = sensor?.Trim() ?? "";
        // Understood meanwhile, in another window.
        var topics = heard.All;
        if (topics.GetValueOrDefault(topic ?? "") is not { } there) return RedirectToPage();
        var card = new HeardCard(there, Recipe.Of(there, topics), Places);
        var said = card.Said(at, what).ToList();
        if (Places.All(p => p.Id != place)) Problem = Strings.SensorOrPlaceGone;
        else if (sensor.Length == 0 || !MappingRules.IsName(sensor)) Problem = Strings.HeardNameWrong;
        else if (said.Count == 0) Problem = Strings.HeardNothingSaid;
        else if (said.GroupBy(s => QuantityOf(s.Quantity)).FirstOrDefault(g => g.Count() > 1) is { } twice)
            Problem = Strings.HeardTwice.With(Show.Name(twice.Key), string.Join(", ", twice.Select(t => t.Found.Text)));
        if (Problem is not null) return Page();
        try
        {
            if (await mappings.AddAsync(card.Recipe.Mappings(said, place!, sensor), HttpContext.RequestAborted) is null)
                Problem = Strings.HeardTooMany.With(MappingDesk.Most);
        }
        catch (Exception e) when (e is IOException or UnauthorizedAccessException)
        {
            Problem = Strings.NotSaved.With(e.Message);
        }

        if (Problem is null) return RedirectToPage(null, null, new { done = "mapped" });
        Load(all: false);
        return Page();
    }

    /// <summary>Reads a foreign topic no more; what was read stays.</summary>
    public IActionResult OnPostUnmap(string[]? ids)
    {
        try
        {
            desk.Remove(ids ?? []);
        }
        catch (Exception e) when (e is IOException or UnauthorizedAccessException)
        {
            Problem = Strings.NotSaved.With(e.Message);
            Load(all: false);
            return Page();
        }

        return RedirectToPage(null, null, new { done = "unmapped" });
    }

    private static Quantity QuantityOf(string name) => HeardCard.Choices.First(c => c.Value == name).Quantity;

    private void LoadHeard(bool all)
    {
        var topics = heard.All;
        HeardCard[] cards = [.. topics.Values.OrderBy(t => t.Topic, StringComparer.Ordinal).Select(t => new HeardCard(t, Recipe.Of(t, topics), Places))];
        var says = cards.Select(c => c.Recipe.Status?.Topic).ToHashSet(StringComparer.Ordinal);
        Nothing = [.. cards.Where(c => !c.Recipe.IsUseful && !says.Contains(c.Heard.Topic))];
        HeardCard[] useful = [.. cards.Where(c => c.Recipe.IsUseful)
            .OrderByDescending(c => c.Recipe.Values.Max(v => v.Guess?.Likely ?? 0))];
        Heard = [.. useful.Take(all ? int.MaxValue : HeardShown)];
        MoreHeard = useful.Length - Heard.Count;
        Mapped = [.. desk.Configured.Select(m => (m, Ids: Array.Empty<string>())).Concat(desk.Kept.Select(m => (m, Ids: new[] { m.Id })))
            .GroupBy(m => (m.m.Mapping.Topic, m.m.Mapping.Place, m.m.Mapping.Sensor, Own: m.Ids.Length > 0))
            .Select(g => new MappedTopic(
                g.Key.Topic,
                string.Join(", ", g.Select(m => QuantityNames.Read(m.m.Mapping.Quantity, m.m.Mapping.Unit, m.m.Mapping.Scale, out var scale) is null
                    ? Show.Name(scale.Quantity) : m.m.Mapping.Quantity))
                + (g.Key.Place is { } place ? $" · {Places.FirstOrDefault(p => p.Id == place)?.Name ?? place}" : "")
                + (g.Key.Sensor is { } sensor ? $" · {sensor}" : ""),
                [.. g.SelectMany(m => m.Ids)]))];
    }
}
