using RootCellar.Household;
using RootCellar.Monitoring;
using RootCellar.Pages.Look;
using RootCellar.Places;
using RootCellar.Watch;

namespace RootCellar.Pages;

/// <summary>The answer the page opens with.</summary>
internal sealed record NowVerdict(Meaning Meaning, string Title, string Text);

/// <summary>All of the Now page that is about places and their alarms.</summary>
/// <param name="Rooms">Rooms whose air is wrong and of which an alarm stands: what to do there, in order.</param>
/// <param name="Alarms">Every other alarm that stands.</param>
/// <param name="Past">Alarms that are over and that nobody has acknowledged.</param>
/// <param name="Jobs">What there is to do besides what a card above says already.</param>
internal sealed record NowView(
    NowVerdict Verdict, IReadOnlyList<PlaceTile> Tiles, IReadOnlyList<PlaceView> Outdoors, IReadOnlyList<RoomCard> Rooms,
    IReadOnlyList<AlarmCard> Alarms, IReadOnlyList<Alarm> Past, IReadOnlyList<ToDoLine> Jobs, ToDoList ToDo)
{
    /// <summary>Something stands that wants an order of work: then the jobs of calm days come after it, in short.</summary>
    public bool Trouble => Rooms.Count + Alarms.Count > 0;
}

/// <summary>Puts the Now page together.</summary>
internal sealed class NowMaker(PlaceCards cards, PlaceTiles tiles, AlarmWords words, ToDo toDo)
{
    private const string Back = "/";

    public NowView Of(LiveSnapshot now)
    {
        var list = toDo.Of(now);
        var places = now.Places.OrderBy(v => v.Place.Purpose).ThenBy(v => v.Place.Name, NameOrder.Instance).ToList();
        var rooms = places.Where(v => v.Keeps).Select(v => (View: v, Card: cards.Of(v, list))).ToList();
        var troubled = places.Select(v => words.Room(v, Back)).OfType<RoomCard>().OrderByDescending(r => r.Level == "raised").ToList();
        var shown = troubled.SelectMany(r => r.Alarms).Select(a => a.Alarm.Id).ToHashSet(StringComparer.Ordinal);
        // What belongs to no place that is shown belongs to the house, so that no alarm is ever out of sight.
        var others = words.Of(
            now.OpenAlarms.Where(a => a.Active && !shown.Contains(a.Id)).OrderByDescending(a => a.State == AlarmState.Unacknowledged)
                .ThenByDescending(a => a.Priority),
            places, Back);
        shown.UnionWith(others.Select(a => a.Alarm.Id));
        return new NowView(
            Verdict(rooms, troubled, others, now),
            [.. rooms.Select(r => tiles.Of(r.View, r.Card))],
            [.. places.Where(v => v.Place.Purpose == Purpose.Outdoors).OrderBy(v => v.Keeps)],
            troubled,
            others,
            [.. now.OpenAlarms.Where(a => a is { Active: false, State: AlarmState.ReturnedUnacknowledged })],
            [.. list.Lines.Where(l => !(l.OfRoom && troubled.Exists(r => r.Place.Id == l.Place)) && !(l.Alarm is { } id && shown.Contains(id)))],
            list);
    }

    private static NowVerdict Verdict(
        List<(PlaceView View, PlaceCard Card)> rooms, List<RoomCard> troubled, IReadOnlyList<AlarmCard> others,
        LiveSnapshot now)
    {
        var unseen = now.OpenAlarms.Count(a => a is { Active: true, State: AlarmState.Unacknowledged });
        if (troubled.Count > 0 && (troubled[0].Level == "raised" || unseen == 0))
        {
            var room = troubled[0];
            var raised = room.Level == "raised";
            var more = troubled.Count + others.Count - 1;
            return new NowVerdict(
                raised ? Meaning.Now : Meaning.Soon,
                Strings.NowWrong.With(room.Place.Name, room.Wrong),
                (raised ? Strings.NowNobody : Strings.NowKnown)
                + (more == 0 ? "" : " " + (more == 1 ? Strings.NowOneMore : Strings.NowMore.With(more))));
        }

        if (unseen > 0) return new NowVerdict(Meaning.Now, Strings.VerdictRaised.With(unseen), Strings.NowNobody);
        var worst = rooms.FirstOrDefault(r => r.Card.Level == "known");
        if (worst.View is { } view)
        {
            return new NowVerdict(Meaning.Soon, view.Judgement.Findings.Count > 0
                ? Strings.NowWrong.With(view.Place.Name, string.Join(", ", view.Judgement.Findings
                    .Select(f => Advice.JudgementWords.Name(f.Rule, f.Measure))))
                : Strings.NowWrong.With(view.Place.Name, worst.Card.Verdict), Strings.NowSoon);
        }

        var unknown = rooms.Where(r => r.Card.Level == "unknown").Select(r => r.View.Place.Name).ToList();
        if (rooms.Count == 0 || unknown.Count == rooms.Count) return new NowVerdict(Meaning.Unknown, Strings.VerdictNothing, "");
        return unknown.Count == 0
            ? new NowVerdict(Meaning.Well, Strings.VerdictWell, Strings.NowAllInBand)
            : new NowVerdict(Meaning.Well, Strings.NowWellWhereMeasured, Strings.NowUnknown.With(string.Join(", ", unknown)));
    }
}
