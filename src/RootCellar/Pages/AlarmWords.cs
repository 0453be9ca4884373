using RootCellar.Places;
using RootCellar.Storage;
using RootCellar.Tell;
using RootCellar.Watch;

namespace RootCellar.Pages;

/// <summary>An alarm as a page shows it: the same words as in the text on the phone. Null place name: the whole household.</summary>
internal sealed record AlarmCard(Alarm Alarm, string? PlaceName, string Fact, string Advice, string Back);

/// <summary>Words for alarms. Its own renderer, because the teller's belongs to the pipeline's thread.</summary>
internal sealed class AlarmWords(Settings settings, Store store, TimeProvider time)
{
    private readonly TextRenderer renderer = settings.Household.Words(store.Folder, settings.Http.PublicUrl);
    private readonly Lock one = new();

    public AlarmCard Of(Alarm alarm, Place? place, string back, OutdoorsCompared compared = default)
    {
        var over = !alarm.Active && alarm.Rule != Rule.ClockStepped;
        lock (one)
        {
            var (fact, advice) = renderer.Say(new AlarmChange(null, alarm, over ? Telling.Over : Telling.Raised, alarm.Lasted(time.GetUtcNow())), place, compared);
            return new AlarmCard(alarm, place?.Name, fact, advice, back);
        }
    }

    public IReadOnlyList<AlarmCard> Of(IEnumerable<Alarm> alarms, IReadOnlyCollection<PlaceView> places, string back)
    {
        var byId = places.ToDictionary(p => p.Place.Id, StringComparer.Ordinal);
        return [.. alarms.Select(a => byId.TryGetValue(a.Place, out var view) ? Of(a, view.Place, back, view.Compared) : Of(a, Gone(a.Place), back))];
    }

    // An alarm outlives its place in the history.
    private static Place? Gone(string id) => id.Length == 0 ? null : new Place(id, id, Purpose.Storage, null, []);
}
