using RootCellar.Readings;
using RootCellar.Watch;

namespace RootCellar.Monitoring;

/// <summary>What became of the wish that a sensor takes another's place.</summary>
internal enum ReplaceOutcome
{
    Done,

    /// <summary>There is no new sensor of that key.</summary>
    NewUnknown,

    /// <summary>There is no old sensor of that key.</summary>
    OldUnknown,

    /// <summary>The old one and the new one are one.</summary>
    Itself,

    /// <summary>The old one is in no place, so there is none to take.</summary>
    OldNowhere,

    /// <summary>The new one is in another place, and nobody said that it was carried over.</summary>
    NewElsewhere,
}

/// <summary>Sensors that take another's place.</summary>
internal sealed partial class LiveState
{
    /// <summary>
    /// A sensor takes the place and the name of another, which is not watched any more: what that one measured stays, and the place goes on
    /// without a gap. A calibration is the device's own and stays behind.
    /// </summary>
    /// <param name="carriedOver">A person's word that the new one left the place it was in.</param>
    public ReplaceOutcome Replace(string key, string old, bool carriedOver, TimeSpan mono, DateTimeOffset wall)
    {
        if (!sensors.TryGetValue(key, out var coming)) return ReplaceOutcome.NewUnknown;
        if (!sensors.TryGetValue(old, out var leaving)) return ReplaceOutcome.OldUnknown;
        if (coming == leaving) return ReplaceOutcome.Itself;
        if (leaving.Row.Place is not { } id) return ReplaceOutcome.OldNowhere;
        if (coming.Row.Place is not null && coming.Row.Place != id && !carriedOver) return ReplaceOutcome.NewElsewhere;
        var replacement = new Replacement(leaving.Row, coming.Row, wall);
        // First in, then out: the place is never without a sensor, so that nothing of it ends.
        PutIn(coming, coming.Row with { Place = id, Name = leaving.Row.Name ?? coming.Row.Name, EverPlaced = true }, mono, wall);
        coming.Replaces = replacement;
        coming.Client = null;
        TakeOut(leaving, mono, wall, WhyEnded.SensorReplaced);
        forgotten[old] = leaving.Row.Id;
        changes.Add(new Change(Of(coming), c => ReplacementRows.Save(c, replacement, coming.Row), MustStand: true));
        return ReplaceOutcome.Done;
    }

    /// <summary>Takes back that a sensor took another's place: both stand as they did. False where there is nothing to take back.</summary>
    public bool TakeBackReplacement(string key, TimeSpan mono, DateTimeOffset wall)
    {
        if (!sensors.TryGetValue(key, out var sensor) || Standing(sensor) is not { } was) return false;
        // Where the old one has spoken meanwhile it is there, else it is taken up as at a start.
        if (!sensors.TryGetValue(was.Old.Key, out var old))
        {
            forgotten.Remove(was.Old.Key);
            old = new SensorState(was.Old with { Place = null }, SensorRhythm.Resume(was.Old.IntervalSeconds, mono));
            sensors.Add(was.Old.Key, old);
            SensorCount = sensors.Count;
        }

        PutIn(old, was.Old with { IntervalSeconds = old.Row.IntervalSeconds }, mono, wall);
        var before = was.New.Place is { } id && places.ContainsKey(id) ? id : null;
        PutIn(sensor, sensor.Row with { Place = before, Name = was.New.Name }, mono, wall);
        sensor.Replaces = null;
        var (oldRow, row) = (old.Row, sensor.Row);
        changes.Add(new Change(Of(sensor), c => ReplacementRows.TakeBack(c, oldRow, row, wall), MustStand: true));
        return true;
    }

    private static string Of(SensorState replacing) => $"replacement {replacing.Row.Id}";

    /// <summary>What a sensor replaced, while it stands in that place and the old one in none.</summary>
    private Replacement? Standing(SensorState sensor) => sensor.Replaces is { } was && was.Old.Place == sensor.Row.Place
        && sensors.GetValueOrDefault(was.Old.Key)?.Row.Place is null ? was : null;

    /// <summary>Another has taken its place, so that it does not come in by itself.</summary>
    private bool IsReplaced(string key) => sensors.Values.Any(s => s.Replaces?.Old.Key == key);

    private void PutIn(SensorState sensor, SensorRow row, TimeSpan mono, DateTimeOffset wall)
    {
        if (sensor.Row.Place != row.Place) LeavePlace(sensor, mono, wall);
        sensor.Row = row;
        copyDue = true;
        if (row.Place is not { } id || !places.TryGetValue(id, out var place)) return;
        place.Add(sensor);
        NoteSilence(sensor, mono, wall);
    }
}
