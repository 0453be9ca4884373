using RootCellar.Storage;

namespace RootCellar.Watch;

/// <summary>One moment on both clocks: intervals from the first, the hour people read from the second.</summary>
internal readonly record struct Now(TimeSpan Mono, DateTimeOffset Wall);

/// <summary>
/// How an alarm's figures are shown: what was measured, the limit it is told against, and whose value it is, where it is one sensor's; of
/// two that disagree, the lower and the other.
/// </summary>
internal readonly record struct Shown(Measure Measure, double? Value, double? Limit, string? Sensor = null, string? Other = null)
{
    public static Shown Nothing(Measure measure) => new(measure, null, null);
}

/// <summary>What a condition looks like now. <see cref="Beyond"/> is false while it is on its way back.</summary>
internal readonly record struct Condition(
    bool Running,
    bool Active,
    bool Beyond,
    TimeSpan Since,
    TimeSpan? ReturningSince,
    Shown Shown,
    string? Detail = null)
{
    public static Condition Of(Limit limit, Shown shown) =>
        new(limit.Running, limit.Active, limit.Beyond, limit.Since, limit.ReturningSince, shown);
}

/// <summary>Where the alarm of one rule at one place (or of one sensor) stands, and what was last seen of it.</summary>
internal sealed class Slot(Rule rule, string place, string? sensor, Side side)
{
    public Rule Rule => rule;

    public string Place => place;

    public string? Sensor => sensor;

    public Alarm? Alarm { get; set; }

    public TimeSpan Since { get; set; }

    public TimeSpan ToldAt { get; set; }

    public TimeSpan? ShelfEnds { get; set; }

    /// <summary>Its shelf is of before this start.</summary>
    public bool ShelvedBefore { get; set; }

    /// <summary>Since when it has been worse by a step than what was told; one odd reading is none.</summary>
    public TimeSpan? WorseSince { get; set; }

    /// <summary>It happened again, and no text has said so yet.</summary>
    public bool Untold { get; set; }

    public Shown Last { get; private set; }

    public double? Worst { get; private set; }

    /// <summary>Keeps the last figure seen and the worst of the present run.</summary>
    public void Note(Condition seen)
    {
        if (!seen.Running && Alarm is not { Active: true })
            Worst = null;
        if (seen.Shown.Value is not { } value)
            return;

        // Freezing goes by the coldest of air and produce, so there the two are one measure.
        if (seen.Shown.Measure != Last.Measure && Rule != Rule.FreezingNear)
            Worst = null;
        Last = seen.Shown;
        // A margin to the dew point is worse when lower, whichever way the humidity of the same alarm goes.
        var lowerIsWorse = side == Side.Below || Last.Measure == Measure.DewMargin;
        if (seen.Running && (Worst is not { } worst || (lowerIsWorse ? value < worst : value > worst)))
            Worst = value;
    }

    public void Resume(Alarm alarm, TimeSpan since, TimeSpan toldAt, TimeSpan? shelfEnds)
    {
        Alarm = alarm;
        Since = since;
        ToldAt = toldAt;
        ShelfEnds = shelfEnds;
        ShelvedBefore = shelfEnds is not null;
        Last = new Shown(alarm.Measure, alarm.Value, alarm.Limit, alarm.Sensor, alarm.Other);
        Worst = alarm.Active ? alarm.Worst : null;
    }
}

/// <summary>The open alarms and their life. Knows nothing of air or sensors: it is told what each condition looks like.</summary>
internal sealed class AlarmBook(WatchOptions options)
{
    private static readonly TimeSpan LongestWait = TimeSpan.FromDays(1);

    // A clock that is put right often takes several steps within minutes (assumed); the first is told at once, the rest in one text.
    private static readonly TimeSpan ShortestWait = TimeSpan.FromMinutes(15);

    // A clock that is kept right goes a little faster or slower; that dates nothing anew (assumed).
    private static readonly TimeSpan Drift = TimeSpan.FromSeconds(5);

    private readonly Dictionary<string, Slot> open = new(StringComparer.Ordinal);
    private List<AlarmChange> changes = [];
    private long sequence;

    public IEnumerable<Alarm> Open => open.Values.Select(slot => slot.Alarm!).OrderBy(alarm => alarm.Sequence);

    /// <summary>What happened since the last call.</summary>
    public IReadOnlyList<AlarmChange> Take()
    {
        if (changes.Count == 0)
            return [];

        var taken = changes;
        changes = [];
        return taken;
    }

    public Slot? Find(string id) => open.GetValueOrDefault(id);

    public void Resume(Slot slot, Alarm alarm, Now now)
    {
        sequence = Math.Max(sequence, alarm.Sequence);
        var shelf = alarm.ShelvedUntil is { } until ? now.Mono + Positive(until - now.Wall) : (TimeSpan?)null;
        // An alarm of before there were steps was told at its worst.
        alarm = alarm with { Step = Math.Max(alarm.Step, Worse.StepOf(alarm.Rule, alarm.Worst, alarm.Limit)) };
        slot.Resume(alarm, now.Mono - Positive(now.Wall - alarm.Since), now.Mono - Positive(now.Wall - (alarm.ToldAt ?? alarm.RaisedAt)),
            shelf);
        open[alarm.Id] = slot;
    }

    public void ContinueAfter(long lastSequence) => sequence = Math.Max(sequence, lastSequence);

    /// <summary>Brings the slot's alarm into line with its condition.</summary>
    public void Settle(Slot slot, Condition seen, Rule? mutedBy, Now now)
    {
        slot.Note(seen);
        var alarm = slot.Alarm;
        if (alarm is { Active: true })
        {
            if (seen.Active)
                GoOn(slot, alarm, mutedBy, now);
            else
                Return(slot, alarm, seen, now);
        }
        else if (seen.Active && seen.Beyond && mutedBy is null)
        {
            Raise(slot, seen, now);
        }
    }

    /// <summary>
    /// Something that happened rather than holds: raised and over in one, left for someone to acknowledge. Told at once; what happens again
    /// soon after a text waits for <see cref="TellAgain"/>, and is counted.
    /// </summary>
    public void Happened(Slot slot, Shown shown, Now now)
    {
        slot.Note(new Condition(false, false, false, now.Mono, null, shown));
        var before = slot.Alarm;
        if (before is null)
            slot.Since = now.Mono;
        var raised = before?.Raise(now.Wall, now.Wall) ?? New(slot, now);
        var after = Shows(raised.ReturnToNormal(now.Wall), slot) with { Worst = null };
        slot.Untold = raised.State != AlarmState.Shelved;
        var tell = slot.Untold && (before is null || MayTellAgain(slot, now)) ? Telling.Raised : Telling.None;
        Change(slot, before, after, tell, now);
    }

    /// <summary>Tells, with its count, what happened again since the last text, once that is long enough ago.</summary>
    public void TellAgain(Slot slot, Now now)
    {
        if (slot is { Untold: true, Alarm: { } alarm } && MayTellAgain(slot, now))
            Change(slot, alarm, alarm, Telling.Raised, now);
    }

    /// <summary>The clock was set: what holds is dated by it.</summary>
    public void ClockStepped(Now now)
    {
        foreach (var slot in open.Values.Where(slot => slot.Alarm is { Active: true }).ToList())
        {
            if (!ReferenceEquals(Dated(slot, slot.Alarm, slot.Alarm!, now), slot.Alarm))
                Change(slot, slot.Alarm, slot.Alarm!, Telling.None, now);
        }
    }

    /// <summary>
    /// The time came to be known: what began meanwhile was later than it was dated, what began before is longer ago than it seemed. Reminders
    /// stay as far off as they were.
    /// </summary>
    public void PutRight(TimePutRight right, Now now)
    {
        foreach (var slot in open.Values.ToList())
        {
            var before = slot.Alarm!;
            var after = before.PutRight(right);
            if (before.Since < right.From)
                slot.Since -= right.By;
            if (slot.ShelvedBefore)
                slot.ShelfEnds -= right.By;
            else
                after = after with { ShelvedUntil = after.ShelvedUntil + right.By };
            Change(slot, before, after, Telling.None, now);
        }
    }

    /// <summary>The limit does not apply any more. Nothing is over, but whoever was told that it began is told that it ended, and why.</summary>
    public void Withdraw(Slot slot, WhyEnded why, Now now)
    {
        if (slot.Alarm is not { } alarm) return;
        var ended = alarm with { State = AlarmState.Normal, Active = false };
        if (alarm.Active) ended = ended with { ReturnedAt = now.Wall, Ended = why };
        Change(slot, alarm, ended, alarm.Active ? TellingOfEnd(alarm) : Telling.None, now);
    }

    public AlarmChange? Acknowledge(Slot slot, string by, Now now)
    {
        var alarm = slot.Alarm!;
        var after = alarm.Acknowledge(by, now.Wall);
        return ReferenceEquals(after, alarm) ? null : Change(slot, alarm, after, Telling.None, now);
    }

    public AlarmChange? Shelve(Slot slot, DateTimeOffset until, Now now)
    {
        if (until <= now.Wall)
            return null;

        slot.ShelfEnds = now.Mono + (until - now.Wall);
        slot.ShelvedBefore = false;
        return Change(slot, slot.Alarm!, slot.Alarm!.Shelve(until), Telling.None, now);
    }

    public AlarmChange? Unshelve(Slot slot, Now now)
    {
        var alarm = slot.Alarm!;
        var after = alarm.Unshelve();
        if (ReferenceEquals(after, alarm))
            return null;

        slot.ShelfEnds = null;
        var tell = after.Active && after.MutedBy is null ? Telling.Raised : Telling.None;
        return Change(slot, alarm, Shows(after, slot), tell, now);
    }

    public void EndShelving(Now now)
    {
        foreach (var slot in open.Values.Where(slot => slot.ShelfEnds <= now.Mono).ToList())
            Unshelve(slot, now);
    }

    private static TimeSpan Positive(TimeSpan span) => span > TimeSpan.Zero ? span : TimeSpan.Zero;

    private static Alarm Shows(Alarm alarm, Slot slot) => alarm with
    {
        Sensor = slot.Sensor ?? slot.Last.Sensor,
        Other = slot.Last.Other,
        Measure = slot.Last.Measure,
        Value = slot.Last.Value,
        Limit = slot.Last.Limit,
        Worst = slot.Worst ?? alarm.Worst,
    };

    private Alarm New(Slot slot, Now now)
    {
        sequence++;
        var place = slot.Place.Length == 0 ? "house" : slot.Place;
        return new Alarm(
            $"{place}-{slot.Rule.Slug()}-{sequence}", sequence, slot.Rule, slot.Place, slot.Sensor ?? slot.Last.Sensor,
            slot.Rule.Priority(), AlarmState.Unacknowledged,
            Active: true, slot.Last.Measure, slot.Last.Value, slot.Last.Limit, slot.Worst, now.Wall, now.Wall - (now.Mono - slot.Since),
            Other: slot.Last.Other);
    }

    private void Raise(Slot slot, Condition seen, Now now)
    {
        slot.Since = seen.Since;
        var before = slot.Alarm;
        var after = before is null ? New(slot, now) : Shows(
            before.Raise(now.Wall, now.Wall - (now.Mono - seen.Since)), slot) with
        { Worst = slot.Worst };
        var told = after.State != AlarmState.Shelved;
        var step = told || before is null ? Worse.StepOf(after.Rule, after.Value, after.Limit) : before.Step;
        Change(slot, before, after with { Detail = seen.Detail, MutedBy = null, Step = step }, told ? Telling.Raised : Telling.None, now);
    }

    private void Return(Slot slot, Alarm alarm, Condition seen, Now now)
    {
        var over = now.Wall - (now.Mono - (seen.ReturningSince ?? now.Mono));
        Change(slot, alarm, Shows(alarm.ReturnToNormal(over), slot) with { MutedBy = null }, TellingOfEnd(alarm), now);
    }

    // Who was told of the greater trouble is told once when that is over.
    private static Telling TellingOfEnd(Alarm alarm) =>
        alarm.State == AlarmState.Shelved || alarm.MutedBy is not null ? Telling.None : Telling.Over;

    private void GoOn(Slot slot, Alarm alarm, Rule? mutedBy, Now now)
    {
        var step = Worse.StepOf(alarm.Rule, slot.Last.Value, slot.Last.Limit);
        slot.WorseSince = step > alarm.Step ? slot.WorseSince ?? now.Mono : null;
        if (now.Mono - slot.WorseSince >= options.UrgentOnDelay)
        {
            slot.WorseSince = slot.ShelfEnds = null;
            Change(slot, alarm, Shows(alarm.Worsened(step), slot), Telling.Raised, now);
            return;
        }

        if (alarm.State == AlarmState.Unacknowledged && mutedBy is null && alarm.MutedBy is null && ReminderDue(alarm, slot, now))
        {
            Change(slot, alarm, Shows(alarm, slot), Telling.Reminder, now);
        }
        else if (mutedBy != alarm.MutedBy || WorseByAStep(alarm, slot))
        {
            Change(slot, alarm, Shows(alarm, slot) with { MutedBy = mutedBy }, Telling.None, now);
        }
    }

    // What goes on happening is told ever less often, down to once a day.
    private static bool MayTellAgain(Slot slot, Now now)
    {
        var wait = slot.ToldAt - slot.Since;
        if (wait < ShortestWait)
            wait = ShortestWait;
        return now.Mono - slot.ToldAt >= (wait < LongestWait ? wait : LongestWait);
    }

    // The first reminder after the set time, then ever further apart up to a day: who has not come by now was told, and a
    // phone that rings for nothing is switched off. What costs nothing to leave until tomorrow is not repeated at all.
    private bool ReminderDue(Alarm alarm, Slot slot, Now now)
    {
        if (alarm.Priority == AlarmPriority.Low || options.RemindEvery == TimeSpan.MaxValue)
            return false;

        var wait = slot.ToldAt - slot.Since;
        if (wait < options.RemindEvery)
            wait = options.RemindEvery;
        return now.Mono - slot.ToldAt >= (wait < LongestWait ? wait : LongestWait);
    }

    // The worst value is kept also if the program is killed, without a write for every tenth of a degree.
    private static bool WorseByAStep(Alarm alarm, Slot slot)
    {
        if (slot.Worst is not { } worst)
            return false;
        if (alarm.Worst is not { } told || alarm.Measure != slot.Last.Measure)
            return true;

        var step = alarm.Measure switch
        {
            Measure.Humidity or Measure.HumiditySpread => 3.0,
            Measure.Light => Math.Max(5, 0.2 * told),
            Measure.Co2 => 500,
            _ => 0.5,
        };
        return Math.Abs(worst - told) >= step;
    }

    /// <summary>
    /// What holds began as long ago as the monotonic clock says, whatever the other showed then: its moments follow a clock that is set.
    /// </summary>
    private static Alarm Dated(Slot slot, Alarm? before, Alarm after, Now now)
    {
        if (!after.Active && before is not { Active: true })
            return after;

        var shift = now.Wall - (now.Mono - slot.Since) - after.Since;
        if (shift.Duration() < Drift)
            return after;

        var seen = after.AcknowledgedAt is { } at && at == before?.AcknowledgedAt ? at + shift : after.AcknowledgedAt;
        return after with { Since = after.Since + shift, RaisedAt = after.RaisedAt + shift, AcknowledgedAt = seen };
    }

    private AlarmChange Change(Slot slot, Alarm? before, Alarm after, Telling tell, Now now)
    {
        after = Dated(slot, before, after, now);
        if (tell != Telling.None)
        {
            slot.ToldAt = now.Mono;
            slot.Untold = false;
            after = after with { ToldAt = now.Wall };
        }

        if (after.State == AlarmState.Normal)
        {
            slot.Alarm = null;
            slot.WorseSince = slot.ShelfEnds = null;
            slot.Untold = false;
            open.Remove(after.Id);
        }
        else
        {
            slot.Alarm = after;
            open[after.Id] = slot;
        }

        var change = new AlarmChange(before, after, tell, after.Lasted(now.Wall));
        changes.Add(change);
        return change;
    }
}
