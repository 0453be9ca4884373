using RootCellar.Storage;

namespace RootCellar.Monitoring;

/// <summary>The time came to be known; see LiveState.cs for the walk of a reading.</summary>
internal sealed partial class LiveState
{
    private bool TimeKnown => clock is null or { IsKnown: true };

    private bool HourCounts => clock is null or { HourCounts: true };

    /// <summary>
    /// What was stamped while the time was not known moves to when it was, here and in the record; nothing is judged or told for it.
    /// </summary>
    public void PutRight(TimePutRight right, DateTimeOffset wall, TimeSpan mono)
    {
        log.LogInformation("The time is known: what was stamped since {From:u} was {By} later", right.From, right.By);
        (lastWall, lastMono, nextSample) = (wall, mono, Next(wall));
        foreach (var sensor in sensors.Values) sensor.PutRight(right);
        teller.PutRight(right);
        // First the rows as they are, then the alarms that are open as they stand.
        changes.Add(new Change("time put right", c => TimeRows.PutRight(c, right)));
        Take(watchman.PutRight(right, mono, wall));
    }
}
