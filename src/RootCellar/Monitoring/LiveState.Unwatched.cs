using RootCellar.Readings;
using RootCellar.Tell;

namespace RootCellar.Monitoring;

/// <summary>Time in which nobody watched; see LiveState.cs for the walk of a reading.</summary>
internal sealed partial class LiveState
{
    /// <summary>
    /// Shorter than half the shortest delay that is judged by, freezing's aside, it is within what sensors leave out anyway (assumed).
    /// </summary>
    private static readonly TimeSpan ShortestUnwatched = TimeSpan.FromMinutes(10);

    // Once every sensor has been heard, what it kept is on its way; one that is heard no more is waited for so long (assumed).
    private static readonly TimeSpan KeptComesWithin = TimeSpan.FromMinutes(1);
    private static readonly TimeSpan LongestWaitForKept = TimeSpan.FromMinutes(20);

    private readonly Dictionary<string, MeantimeAir> meantime = new(StringComparer.Ordinal);
    private DateTimeOffset? lastWatched;
    private TimeSpan? watchedAgain;
    private TimeSpan? allHeard;

    /// <summary>The last time nobody watched, as far as it is known.</summary>
    public Unwatched? Unwatched { get; private set; }

    /// <summary>What the last run left; before the watch begins.</summary>
    /// <param name="known">What is shown of before.</param>
    /// <param name="endedAt">When it was last known to watch, where it ended without being stopped.</param>
    public void TakeUpWatch(Unwatched? known, DateTimeOffset? endedAt)
    {
        // It ended again before what the first end brought was told: that is one time.
        (Unwatched, lastWatched) = (known is { Settled: true } ? known : null, known is { Settled: false } ? known.From : endedAt);
    }

    // The clock of a machine without a battery is often put right only minutes after the start: the length is known by then, not before.
    private void NoteUnwatched(DateTimeOffset wall, TimeSpan mono)
    {
        if (lastWatched is not { } from) return;
        watchedAgain ??= mono;
        if (allHeard is null && sensors.Values.All(s => s.Row.Place is null || s.HeardSinceStart)) allHeard = mono;
        var to = wall - (mono - watchedAgain.Value);
        var settled = TimeKnown && (mono - watchedAgain >= LongestWaitForKept || mono - allHeard >= KeptComesWithin);
        if (to - from >= ShortestUnwatched) Unwatched = new Unwatched(from, to, settled, [.. meantime.Values]);
        if (!settled) return;
        lastWatched = null;
        if (Unwatched is { } time && time.From == from)
        {
            foreach (var text in teller.Unwatched(time, AllPlaces, wall)) changes.Add(new Change(text.Id, static _ => { }, [text]));
        }
    }

    private void NoteMeantime(string place, in Reading reading, DateTimeOffset wall, TimeSpan mono)
    {
        if (lastWatched is not { } from || reading.TimeSource != TimeSource.Device || !reading.Counts || reading.At <= from
            || reading.At >= wall - (mono - (watchedAgain ?? mono))) return;
        meantime[place] = meantime.GetValueOrDefault(place, new MeantimeAir(place, null, null, null, null)).With(reading);
    }
}
