using RootCellar.Advice;
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

    public AlarmCard Of(Alarm alarm, Place? place, string back, PlaceJudgement? judgement = null)
    {
        var ended = alarm.ReturnedAt ?? (alarm.Active ? time.GetUtcNow() : alarm.Since);
        var lasted = ended > alarm.Since ? ended - alarm.Since : TimeSpan.Zero;
        var over = !alarm.Active && alarm.Rule != Rule.ClockStepped;
        lock (one)
        {
            var change = new AlarmChange(null, alarm, over ? Telling.Over : Telling.Raised, lasted);
            // Each card tells of its own finding; the order of work is the room's, one for all of them.
            var room = judgement is null || !alarm.Rule.IsOfRoomAir()
                ? null
                : new RoomText(
                    judgement with { Findings = [.. judgement.Findings.Where(f => f.Alarm == alarm.Id)] }, [change], RoomText.NothingYet, true, [], time.GetUtcNow());
            var (fact, advice) = renderer.Say(change, place, room);
            return new AlarmCard(alarm, place?.Name, fact, advice, back);
        }
    }

    public IReadOnlyList<AlarmCard> Of(IEnumerable<Alarm> alarms, IReadOnlyCollection<PlaceView> places, string back)
    {
        var byId = places.ToDictionary(p => p.Place.Id, StringComparer.Ordinal);
        return [.. alarms.Select(a => byId.TryGetValue(a.Place, out var view) ? Of(a, view.Place, back, view.Judgement) : Of(a, Gone(a.Place), back))];
    }

    // An alarm outlives its place in the history.
    private static Place? Gone(string id) => id.Length == 0 ? null : new Place(id, id, Purpose.Storage, null, []);
}
