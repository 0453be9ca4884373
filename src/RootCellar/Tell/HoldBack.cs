using RootCellar.Household;
using RootCellar.Pages;
using RootCellar.Storage;
using RootCellar.Watch;

namespace RootCellar.Tell;

/// <summary>
/// Which texts wait, and for what: that nobody else acknowledges, the end of quiet hours, the morning, the next day. Urgent ones wait
/// for nothing but others. Owned by the pipeline's one thread.
/// </summary>
internal sealed class HoldBack(HouseholdCalendar calendar, Languages languages, HouseClock? houseClock = null)
{
    // When nobody wants to hear that something that could wait is over (assumed).
    private static readonly TimeOnly NightFrom = new(21, 0);
    private static readonly TimeOnly NightTo = new(6, 0);

    private readonly List<Outgoing> held = [];
    private readonly Dictionary<(string Channel, string Recipient, DateOnly Day), int> gone = [];

    /// <summary>The time came to be known: what was held meanwhile is held for as long as it was to be.</summary>
    public void PutRight(TimePutRight right)
    {
        for (var i = 0; i < held.Count; i++) held[i] = held[i].PutRight(right);
    }

    /// <summary>Takes up what waited when the service stopped, and counts what went out today.</summary>
    public void Load(IEnumerable<Outgoing> waiting, IEnumerable<Outgoing> latest)
    {
        held.AddRange(waiting);
        foreach (var text in latest.Where(t => t.Alarm is not null && t.State is OutgoingState.Sent or OutgoingState.Sending or OutgoingState.Waiting))
            Count(text, text.SentAt ?? text.CreatedAt);
    }

    /// <summary>What becomes of a text just composed: it goes, is held, or is not needed; and of those held before that it makes needless.</summary>
    /// <param name="text">To one address.</param>
    /// <param name="changes">What it tells of.</param>
    /// <param name="to">Everybody who has that address and wants it; nobody: it goes.</param>
    /// <param name="knew">Whether that address was told before of what it tells of.</param>
    /// <param name="now">The moment.</param>
    public IReadOnlyList<Outgoing> Pass(Outgoing text, IReadOnlyList<AlarmChange> changes, IReadOnlyList<Contact> to, bool knew,
        DateTimeOffset now)
    {
        if (to.Count == 0) return [text];
        var rules = changes.Select(c => c.After.Rule).Concat(text.Said?.Findings.Select(f => f.Rule) ?? []).ToHashSet();
        var before = held.Where(h => IsSame(h, text) && (h.Said is null || h.Said.Findings.All(f => rules.Contains(f.Rule)))).ToList();
        held.RemoveAll(before.Contains);
        List<Outgoing> outcome = [.. before.Select(h => h with
        {
            State = OutgoingState.NotNeeded,
            Error = text.Over ? Strings.HeldOver : Strings.HeldNewer,
        })];
        if (text.Over && !knew && (before.Count > 0 ? before.TrueForAll(h => h.Hold!.For == HeldFor.Others) : to.All(c => c.WaitMinutes > 0)))
            return outcome;
        var raised = changes.Min(c => c.After.RaisedAt);
        var hold = to.Select(c => Until(c, text.Over, raised, knew, changes.Max(c => c.After.Priority), now)).MinBy(h => h?.Until ?? now);
        // What was to be told by then is told by then.
        if (hold is { For: HeldFor.Others } && before.Select(h => h.Hold!.Until).DefaultIfEmpty(hold.Until).Min() is var sooner
            && sooner < hold.Until) hold = hold with { Until = sooner };
        outcome.Add(hold is null ? Go(text, to, now) : Keep(text with { State = OutgoingState.Held, Hold = hold }));
        return outcome;
    }

    /// <summary>What becomes of a text that is of no alarm.</summary>
    public Outgoing Pass(Outgoing text, Contact to, AlarmPriority priority, DateTimeOffset now) =>
        Until(to with { WaitMinutes = 0 }, over: false, now, knew: true, priority, now) is { } wait
            ? Keep(text with { State = OutgoingState.Held, Hold = wait }) : Go(text, [to], now);

    public bool IsDue(DateTimeOffset now) => held.Exists(h => h.Hold!.Until <= now);

    /// <summary>What is due by now, with those that are not needed any more; several that waited for the morning make one text.</summary>
    /// <param name="now">The moment.</param>
    /// <param name="open">The alarms that are open.</param>
    /// <param name="contacts">Everybody.</param>
    public IReadOnlyList<Outgoing> Due(DateTimeOffset now, IReadOnlyList<Alarm> open, IReadOnlyCollection<Contact> contacts)
    {
        var due = held.Where(h => h.Hold!.Until <= now).ToList();
        held.RemoveAll(due.Contains);
        List<Outgoing> outcome = [];
        foreach (var mine in due.GroupBy(h => (h.Channel, h.Recipient)))
        {
            var to = contacts.Where(c => c.Channel == mine.Key.Channel && c.Address == mine.Key.Recipient).ToList();
            List<Outgoing> go = [];
            foreach (var text in mine)
            {
                if (NeedlessSince(text, open, to) is { } why) outcome.Add(text with { State = OutgoingState.NotNeeded, Error = why });
                else if (Again(text, to, now) is { } hold) outcome.Add(Keep(text with { Hold = hold }));
                else go.Add(text);
            }

            var together = go.Where(t => t.Hold!.For != HeldFor.Others).ToList();
            if (together.Count > 1)
            {
                outcome.AddRange(together.Select(t => t with { State = OutgoingState.InOne }));
                outcome.Add(Go(languages.In(together[0].Language, () => OneOf(together, now)), to, now));
                go.RemoveAll(together.Contains);
            }

            outcome.AddRange(go.Select(t => Go(Marked(t with { State = OutgoingState.Waiting }, now), to, now)));
        }

        return outcome;
    }

    /// <summary>Whether a contact is told at once of an alarm that begins now.</summary>
    public bool IsAtOnce(Contact contact, AlarmPriority priority, DateTimeOffset now) =>
        Until(contact, over: false, now, knew: false, priority, now) is null;

    private static bool IsSame(Outgoing a, Outgoing b) => a.Channel == b.Channel && a.Recipient == b.Recipient
        && (a.Said is { } said ? said.Place == b.Said?.Place : b.Said is null && a.Alarm == b.Alarm);

    // What somebody acknowledged is known; whoever has gone from the list is told nothing.
    private static string? NeedlessSince(Outgoing text, IReadOnlyList<Alarm> open, List<Contact> to)
    {
        if (to.Count == 0) return Strings.HeldGone;
        if (text.Over || (text.Alarm is null && text.Said is null)) return null;
        var about = open.Where(a => text.Said is { } said
            ? a.Place == said.Place && (a.Id == text.Alarm || said.Findings.Any(f => f.Rule == a.Rule)) : a.Id == text.Alarm).ToList();
        if (about.Exists(a => a.State is AlarmState.Unacknowledged or AlarmState.ReturnedUnacknowledged)) return null;
        return about.Select(a => a.AcknowledgedBy).FirstOrDefault(by => by is { Length: > 0 }) is { } by
            ? Strings.HeldAcknowledgedBy.With(by) : about.Count > 0 ? Strings.HeldAcknowledged : Strings.HeldOver;
    }

    private Hold? Until(Contact contact, bool over, DateTimeOffset raised, bool knew, AlarmPriority priority, DateTimeOffset now)
    {
        var (until, why) = (now, (HeldFor?)null);
        if (!over && !knew && raised + TimeSpan.FromMinutes(contact.WaitMinutes) is var others && others > now)
            (until, why) = (others, HeldFor.Others);
        if (priority == AlarmPriority.Urgent || houseClock is { HourCounts: false }) return why is { } o ? new Hold(until, o) : null;
        var clock = TimeOnly.FromDateTime(calendar.Local(until).DateTime);
        if (contact.IsQuietAt(clock) && !(priority == AlarmPriority.High && contact.Wakes == "high"))
            (until, why) = (Next(contact.Morning, until), HeldFor.QuietHours);
        if (priority == AlarmPriority.Low && why != HeldFor.QuietHours
            && (contact.LowInTheMorning || (over && clock.IsBetween(NightFrom, NightTo))))
            (until, why) = (Next(contact.Morning, until), HeldFor.Morning);
        if (why is null && IsFull(contact, until)) (until, why) = (Next(contact.Morning, EndOfDay(until)), HeldFor.NextDay);
        return why is { } reason ? new Hold(until, reason) : null;
    }

    // A text that waited for others may come due in quiet hours, and any on a day that is full.
    private Hold? Again(Outgoing text, IReadOnlyList<Contact> to, DateTimeOffset now)
    {
        var priority = Enum.Parse<AlarmPriority>(text.Priority, ignoreCase: true);
        return to.Select(c => Until(c with { LowInTheMorning = c.LowInTheMorning && text.Hold!.For == HeldFor.Others }, text.Over, now, knew: true, priority, now))
            .MinBy(h => h?.Until ?? now);
    }

    private Outgoing Keep(Outgoing text)
    {
        held.Add(text);
        return text;
    }

    private Outgoing Go(Outgoing text, IReadOnlyList<Contact> to, DateTimeOffset now)
    {
        var count = Count(text, now);
        return text.Priority != "urgent" && to.Min(c => c.MostADay ?? int.MaxValue) == count
            ? languages.In(text.Language, () => text with
            {
                Sms = Marks.Fitting(text, " " + Strings.TextLastToday),
                Body = text.Body + "\n\n" + Strings.TextLastTodayWhy.With(count),
            })
            : text;
    }

    private int Count(Outgoing text, DateTimeOffset at)
    {
        var key = (text.Channel, text.Recipient, calendar.DayOf(at));
        foreach (var old in gone.Keys.Where(k => k.Day < key.Item3).ToList()) gone.Remove(old);
        return gone[key] = gone.GetValueOrDefault(key) + 1;
    }

    private bool IsFull(Contact contact, DateTimeOffset at) =>
        contact.MostADay is { } most && gone.GetValueOrDefault((contact.Channel, contact.Address, calendar.DayOf(at))) >= most;

    private DateTimeOffset EndOfDay(DateTimeOffset at) => calendar.StartOf(calendar.DayOf(at).AddDays(1)) - TimeSpan.FromTicks(1);

    private DateTimeOffset Next(TimeOnly clock, DateTimeOffset after)
    {
        var today = calendar.Moment(calendar.DayOf(after), clock);
        return today > after ? today : calendar.Moment(calendar.DayOf(after).AddDays(1), clock);
    }

    // Its figures are those of when it was written.
    private Outgoing Marked(Outgoing text, DateTimeOffset now) => languages.In(text.Language, () =>
    {
        var mark = (text.Hold!.For == HeldFor.Others ? Strings.TextNobody : Strings.TextAsOf).With(calendar.Hour(text.CreatedAt, now));
        return text with { Sms = Marks.Fitting(text, " " + mark), Subject = $"{text.Subject} {mark}", Body = $"{text.Body}\n\n{mark}" };
    });

    private Outgoing OneOf(List<Outgoing> texts, DateTimeOffset now)
    {
        var first = texts[0];
        var sms = Strings.TextMorning.With(texts.Count);
        for (var i = 0; i < texts.Count; i++)
        {
            // What is so stands before what is to be done about it.
            var fact = texts[i].Sms.Split(". ", 2)[0].TrimEnd('.');
            var rest = texts.Count - i - 1;
            var longer = $"{sms} {calendar.Hour(texts[i].CreatedAt, now)} {fact}.";
            var end = rest > 0 ? " " + Strings.TextMorningMore.With(rest) : "";
            if (Gsm0338.Septets(Gsm0338.Fold(longer + end)) > Gsm0338.TextSeptets)
            {
                sms += " " + Strings.TextMorningMore.With(rest + 1);
                break;
            }

            sms = longer;
        }

        return new Outgoing(
            Guid.NewGuid().ToString("N"), null, first.Channel, first.Recipient, texts.Exists(t => t.Priority == "high") ? "high" : "low",
            Gsm0338.Fold(sms), Strings.TextMorningSubject.With(texts.Count),
            string.Join("\n\n", texts.Select(t => $"{calendar.Hour(t.CreatedAt, now)} {t.Subject}\n{t.Body}")), now)
        { Language = first.Language };
    }
}
