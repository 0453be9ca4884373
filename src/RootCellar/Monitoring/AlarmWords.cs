using RootCellar.Advice;
using RootCellar.Household;
using RootCellar.Pages;
using RootCellar.Places;
using RootCellar.Tell;
using RootCellar.Watch;

namespace RootCellar.Monitoring;

/// <summary>An alarm as a page shows it: the same words as in the text on the phone. Null place name: the whole household.</summary>
internal sealed record AlarmCard(Alarm Alarm, string? PlaceName, string Fact, string Advice, string Back)
{
    /// <summary>Only colours what the words say.</summary>
    public string Level => Alarm.State switch
    {
        AlarmState.Unacknowledged => "raised",
        AlarmState.Normal => "past",
        _ => "known",
    };

    public string Mark => Level switch
    {
        "raised" => "!",
        "known" => "✓",
        _ => "–",
    };
}

/// <summary>All that is wrong with a room's air, as a page shows it: what, the one order of work, and each alarm's life.</summary>
/// <param name="Order">The order of work, to be numbered.</param>
internal sealed record RoomCard(Place Place, string Fact, OrderParts Order, IReadOnlyList<AlarmCard> Alarms)
{
    /// <summary>What is wrong, without figures: "too warm, too dry".</summary>
    public string Wrong => string.Join(", ", Alarms.Select(a => a.Fact));

    public string Level => Alarms.Any(a => a.Level == "raised") ? "raised" : "known";
}

/// <summary>Words for alarms. Its own renderer, because the teller's belongs to the pipeline's thread.</summary>
internal sealed class AlarmWords(TextRenderer renderer, JudgementWords judgement, TimeProvider time)
{
    private readonly Lock one = new();

    public AlarmCard Of(Alarm alarm, Place? place, string back, PlaceJudgement? judgement = null)
    {
        var over = !alarm.Active && alarm.Rule != Rule.ClockStepped;
        lock (one)
        {
            var change = new AlarmChange(null, alarm, over ? Telling.Over : Telling.Raised, alarm.Lasted(time.GetUtcNow()));
            // The order of work stands once, on the card of the room; what is over says only what its end asks for.
            var room = judgement is null || !alarm.Rule.IsOfRoomAir()
                ? null
                : new RoomText(judgement with { Order = [] }, [change], RoomText.NothingYet, true, [], time.GetUtcNow());
            var (fact, advice) = renderer.Say(change, place, room);
            return new AlarmCard(alarm, place?.Name, fact, advice, back);
        }
    }

    /// <summary>The one card of what is wrong with a room's air; null where no alarm of it is open.</summary>
    public RoomCard? Room(PlaceView view, string back)
    {
        var judged = view.Judgement;
        var alarms = view.Alarms.Where(a => IsOnRoomCard(a, view)).OrderBy(a => judged.Findings.TakeWhile(f => f.Alarm != a.Id).Count())
            .ToList();
        if (alarms.Count == 0) return null;
        return new RoomCard(
            view.Place,
            Strings.RoomFact.With(view.Place.Name, judgement.Standing(judged, time.GetUtcNow())),
            judgement.Parts(judged.Order, judged.Decides),
            [.. alarms.Select(a => new AlarmCard(a, view.Place.Name, JudgementWords.Name(a.Rule, a.Measure), "", back))]);
    }

    /// <summary>The alarms that have no card together with others.</summary>
    public IReadOnlyList<AlarmCard> Others(PlaceView view, string back) =>
        [.. view.Alarms.Where(a => !IsOnRoomCard(a, view)).OrderByDescending(a => a.Active).ThenByDescending(a => a.Priority)
            .Select(a => Of(a, view.Place, back, view.Judgement))];

    private static bool IsOnRoomCard(Alarm alarm, PlaceView view) =>
        alarm is { Active: true } && alarm.Rule.IsOfRoomAir() && view.Judgement.Findings.Any(f => f.Alarm == alarm.Id);

    public IReadOnlyList<AlarmCard> Of(IEnumerable<Alarm> alarms, IReadOnlyCollection<PlaceView> places, string back)
    {
        var byId = places.ToDictionary(p => p.Place.Id, StringComparer.Ordinal);
        return [.. alarms.Select(a => byId.TryGetValue(a.Place, out var view) ? Of(a, view.Place, back, view.Judgement)
            : Of(a, Gone(a.Place), back))];
    }

    // An alarm outlives its place in the history.
    private static Place? Gone(string id) => id.Length == 0 ? null : new Place(id, id, Purpose.Storage, null, []);
}
