using RootCellar.Advice;
using RootCellar.Household;
using RootCellar.Tell;
using RootCellar.Watch;

namespace RootCellar.Monitoring;

/// <summary>What became of a text that came in.</summary>
internal enum AnswerOutcome
{
    /// <summary>It acknowledged what waited.</summary>
    Acknowledged,

    /// <summary>Several wait and it says not which; or what it was about is known or over.</summary>
    Nothing,

    /// <summary>It is no answer.</summary>
    Unclear,

    /// <summary>From a number that is no contact's: it is ignored.</summary>
    Unknown,
}

/// <summary>Answers by text; see LiveState.cs for the walk of a reading.</summary>
internal sealed partial class LiveState
{
    // Two machines that answer each other stop at that (assumed); what acknowledges something is always answered.
    private static readonly TimeSpan BetweenExplanations = TimeSpan.FromHours(1);

    private readonly Dictionary<string, TimeSpan> explained = new(StringComparer.Ordinal);

    /// <summary>A text that came in by the modem. A contact's own number acknowledges what a text to it told, and is told so once.</summary>
    public AnswerOutcome Answer(string from, string text, TimeSpan mono, DateTimeOffset wall)
    {
        if (teller.WhoHas(from) is not { } who) return AnswerOutcome.Unknown;
        if (AnswerWords.Read(text) is not { } said) return Explain(AnswerOutcome.Unclear, () => Strings.AnswerUnclear);
        var waiting = teller.Waiting(who, watchman.Open);
        // What is over is not mixed up with what is not; it is seen once nothing else waits.
        var calling = waiting.Where(w => w.Alarms.Any(a => a.State == AlarmState.Unacknowledged)).ToList();
        if (said.Code is null && calling.Count > 1)
        {
            return Explain(AnswerOutcome.Nothing,
                () => Strings.AnswerWhich.With(string.Join("; ", calling.Select(w => $"OK {w.Code} {Names(w.Alarms)}"))));
        }

        List<Alarm> about = said.Code is { } code
            ? [.. watchman.Open.Where(a => teller.Told(who, code).Contains(a.Id))]
            : [.. (calling.Count > 0 ? calling : waiting).SelectMany(w => w.Alarms)];
        var done = about.Where(a => Acknowledge(a.Id, who.Name, mono, wall) is not null).ToList();
        if (done.Count > 0)
        {
            Reply(() => (done.Exists(a => a.Active) ? Strings.AnswerTaken : Strings.AnswerSeen).With(who.Name, Names(done)));
            return AnswerOutcome.Acknowledged;
        }

        return about.Find(a => a.AcknowledgedBy is { Length: > 0 }) is { } known
            ? Explain(AnswerOutcome.Nothing, () => Strings.AnswerKnown.With(known.AcknowledgedBy, Names([known])))
            : Explain(AnswerOutcome.Nothing, () => Strings.AnswerNothing);

        AnswerOutcome Explain(AnswerOutcome outcome, Func<string> words)
        {
            if (explained.TryGetValue(who.Id, out var last) && mono - last < BetweenExplanations) return outcome;
            explained[who.Id] = mono;
            Reply(words);
            return outcome;
        }

        void Reply(Func<string> words)
        {
            var reply = teller.Reply(who, words, wall);
            changes.Add(new Change($"reply {reply.Id}", static _ => { }, [reply]));
        }
    }

    private string Names(IEnumerable<Alarm> alarms) => string.Join("; ", alarms.GroupBy(a => a.Place).Select(room =>
        $"{(places.TryGetValue(room.Key, out var place) ? place.Place.Name : "RootCellar").ToUpperInvariant()} "
        + string.Join(", ", room.Select(a => JudgementWords.Name(a.Rule, a.Measure)))));
}
