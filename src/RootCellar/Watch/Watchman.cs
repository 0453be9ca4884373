using RootCellar.Advice;
using RootCellar.Places;
using RootCellar.Storage;

namespace RootCellar.Watch;

/// <summary>
/// Judges the air and the sensors and keeps the alarms. Called by one thread, which also brings the time: <c>mono</c> is
/// a monotonic clock and decides everything; <c>wall</c> is only written down. Each call returns what became of alarms.
/// Raised alarms outlive a restart by <see cref="Restore"/>; a pending on-delay does because the caller replays the last readings.
/// </summary>
internal sealed class Watchman(WatchOptions options)
{
    // A smaller step is a clock being kept right, and nobody's business (assumed).
    private static readonly TimeSpan StepWorthTelling = TimeSpan.FromMinutes(2);

    // % of the card (assumed).
    private const double DiskDeadband = 1;

    private readonly AlarmBook book = new(options);
    private readonly SensorWatch sensors = new(options);
    private readonly SortedDictionary<string, PlaceWatch> places = new(StringComparer.Ordinal);
    private readonly Slot clock = new(Rule.ClockStepped, "", null, Side.Above);
    private readonly Slot disk = new(Rule.DiskFull, "", null, Side.Below);

    // It fills slowly, so nothing is gained by waiting; a little room made is not yet room.
    private readonly Limit diskLimit = new(Side.Below, DiskDeadband, TimeSpan.Zero, options.OffDelay);

    /// <summary>Every alarm that is not normal, oldest first.</summary>
    public IReadOnlyList<Alarm> Open => [.. book.Open];

    /// <summary>Takes up the alarms that were open when the program ended.</summary>
    /// <param name="lastSequence">The highest sequence ever stored, so that an id is never used twice.</param>
    public void Restore(IEnumerable<Alarm> alarms, TimeSpan mono, DateTimeOffset wall, long lastSequence = 0)
    {
        var now = new Now(mono, wall);
        book.ContinueAfter(lastSequence);
        foreach (var alarm in alarms.Where(alarm => alarm.State != AlarmState.Normal))
        {
            if (alarm.Rule == Rule.ClockStepped)
                book.Resume(clock, alarm, now);
            else if (alarm.Rule == Rule.DiskFull)
                ResumeDisk(alarm, now);
            else if (!sensors.Resume(alarm, book, now))
                PlaceOf(alarm.Place).Resume(alarm, book, now);
        }
    }

    /// <param name="band">The band in force; null where nothing is judged, which ends the place's alarms.</param>
    /// <param name="unjudged">Why nothing is judged there, for those who were told of an alarm.</param>
    public IReadOnlyList<AlarmChange> Observe(
        PlaceAir air, Band? band, TimeSpan mono, DateTimeOffset wall, WhyEnded unjudged = WhyEnded.NotJudged)
    {
        PlaceOf(air.Place).Observe(air, band, unjudged, book, new Now(mono, wall));
        return book.Take();
    }

    /// <summary>
    /// Notes whether a sensor speaks; judged at the next <see cref="Tick"/>, so that sensors reported one after the other count as one.
    /// </summary>
    /// <param name="silent">Null while it is not known, as after a start.</param>
    /// <param name="silentFor">How long nothing has been heard, where <paramref name="silent"/> is true.</param>
    public void SensorSilent(string sensor, string place, bool? silent, TimeSpan silentFor, TimeSpan mono, DateTimeOffset wall) =>
        sensors.Silent(sensor, place, silent, silentFor, new Now(mono, wall));

    /// <summary>To be called for every reading of a sensor: with the reason if it is not believed, with null if it is good.</summary>
    public IReadOnlyList<AlarmChange> SensorUnbelievable(string sensor, string place, string? reason, TimeSpan mono, DateTimeOffset wall)
    {
        sensors.Unbelievable(sensor, place, reason, book, new Now(mono, wall));
        return book.Take();
    }

    /// <param name="by">How far the wall clock jumped; ahead is positive.</param>
    public IReadOnlyList<AlarmChange> ClockStepped(TimeSpan by, TimeSpan mono, DateTimeOffset wall)
    {
        book.ClockStepped(new Now(mono, wall));
        if (by.Duration() >= StepWorthTelling)
            book.Happened(clock, new Shown(Measure.Step, by.TotalSeconds, null), new Now(mono, wall));
        return book.Take();
    }

    /// <inheritdoc cref="AlarmBook.PutRight"/>
    public IReadOnlyList<AlarmChange> PutRight(TimePutRight right, TimeSpan mono, DateTimeOffset wall)
    {
        book.PutRight(right, new Now(mono, wall));
        return book.Take();
    }

    /// <param name="percentFree">Of the card under the record; null where it does not say.</param>
    /// <param name="limit">At this and below it is nearly full, %.</param>
    public IReadOnlyList<AlarmChange> Disk(double? percentFree, double limit, TimeSpan mono, DateTimeOffset wall)
    {
        diskLimit.Observe(percentFree, limit, mono);
        book.Settle(disk, Condition.Of(diskLimit, new Shown(Measure.DiskFree, percentFree, limit)), null, new Now(mono, wall));
        return book.Take();
    }

    public IReadOnlyList<AlarmChange> Tick(TimeSpan mono, DateTimeOffset wall)
    {
        var now = new Now(mono, wall);
        book.EndShelving(now);
        book.TellAgain(clock, now);
        foreach (var place in places.Values)
            place.Tick(book, now);
        sensors.Tick(book, now);
        return book.Take();
    }

    /// <summary>The limits of a place's air that are broken, or were until just now.</summary>
    public IReadOnlyList<StandingLimit> Standing(string place, TimeSpan mono, DateTimeOffset wall) =>
        places.TryGetValue(place, out var watch) ? [.. watch.Standing(new Now(mono, wall))] : [];

    /// <returns>Null when there is no such open alarm, or nothing to acknowledge in it.</returns>
    public AlarmChange? Acknowledge(string id, string by, TimeSpan mono, DateTimeOffset wall) =>
        Did(book.Find(id) is { } slot ? book.Acknowledge(slot, by, new Now(mono, wall)) : null);

    /// <summary>Says nothing of it until then, at most for <see cref="Rules.LongestShelf"/>.</summary>
    /// <returns>Null when there is no such open alarm, or the time is over already.</returns>
    public AlarmChange? Shelve(string id, DateTimeOffset until, TimeSpan mono, DateTimeOffset wall) =>
        Did(book.Find(id) is { Alarm: { } alarm } slot
            ? book.Shelve(slot, until - wall < alarm.Priority.LongestShelf() ? until : wall + alarm.Priority.LongestShelf(),
                new Now(mono, wall))
            : null);

    /// <returns>Null when there is no such shelved alarm. One whose condition holds is told again.</returns>
    public AlarmChange? Unshelve(string id, TimeSpan mono, DateTimeOffset wall) =>
        Did(book.Find(id) is { } slot ? book.Unshelve(slot, new Now(mono, wall)) : null);

    /// <summary>The place is no more: its alarms end.</summary>
    public IReadOnlyList<AlarmChange> PlaceGone(string place, TimeSpan mono, DateTimeOffset wall)
    {
        if (places.Remove(place, out var watch))
            watch.Withdraw(WhyEnded.PlaceGone, book, new Now(mono, wall));
        return book.Take();
    }

    /// <summary>The sensor is no more: its alarms end.</summary>
    public IReadOnlyList<AlarmChange> SensorGone(string sensor, TimeSpan mono, DateTimeOffset wall, WhyEnded why = WhyEnded.SensorGone)
    {
        var now = new Now(mono, wall);
        sensors.Forget(sensor, why, book, now);
        foreach (var place in places.Values)
            place.Forget(sensor, why, book, now);
        return book.Take();
    }

    private void ResumeDisk(Alarm alarm, Now now)
    {
        book.Resume(disk, alarm, now);
        if (alarm.Active)
            diskLimit.Resume(disk.Since);
    }

    private AlarmChange? Did(AlarmChange? change)
    {
        book.Take();
        return change;
    }

    private PlaceWatch PlaceOf(string place)
    {
        if (!places.TryGetValue(place, out var watch))
            places[place] = watch = new PlaceWatch(place, options);
        return watch;
    }
}
