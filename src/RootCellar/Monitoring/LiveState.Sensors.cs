using RootCellar.Readings;
using RootCellar.Watch;

namespace RootCellar.Monitoring;

/// <summary>How sensors leave the house: by themselves where nobody ever placed them, else by a person's word.</summary>
internal sealed partial class LiveState
{
    // After a start every sensor may speak for so long before its earlier silence counts.
    private static readonly TimeSpan TimeToSpeak = TimeSpan.FromHours(1);

    /// <summary>
    /// Forgets a sensor and its password; what it measured in a place stays in the record. If it speaks again it comes as a new one. False
    /// when there is none.
    /// </summary>
    public bool Forget(string key, TimeSpan mono, DateTimeOffset wall)
    {
        if (!sensors.TryGetValue(key, out var sensor)) return false;
        var id = sensor.Row.Id;
        var stays = sensor.Row.EverPlaced;
        TakeOut(sensor, mono, wall);
        if (stays) forgotten[key] = id;
        changes.Add(new Change(
            $"sensor {id}",
            c =>
            {
                if (stays) SensorLeaving.Forget(c, id, wall);
                else SensorLeaving.Remove(c, [id]);
                ClientCredentialRows.RemoveOfSensor(c, key);
            },
            MustStand: true));
        return true;
    }

    /// <summary>Forgets every sensor that waits for a place and never had one; how many.</summary>
    public int ForgetWaiting(TimeSpan mono, DateTimeOffset wall) =>
        Leave([.. sensors.Values.Where(s => !s.Row.EverPlaced)], mono, wall, mustStand: true);

    private void TakeUp(KnownSensors known, TimeSpan mono)
    {
        nextSensor = known.Next;
        foreach (var (key, number) in known.Forgotten) forgotten[key] = number;
        var earlier = limits.ForgetAfter - TimeToSpeak;
        foreach (var row in known.Rows)
        {
            // Nobody listened while the service was away, so silence is counted from now.
            var sensor = new SensorState(row, SensorRhythm.Resume(row.IntervalSeconds, mono));
            if (known.SilentFor.TryGetValue(row.Id, out var silent))
                sensor.SilentBefore = TimeSpan.FromTicks(Math.Max(0, Math.Min(silent.Ticks, earlier.Ticks)));
            sensor.Replaces = known.Replacements.GetValueOrDefault(row.Id);
            sensors.Add(row.Key, sensor);
            if (row.Place is not null && places.TryGetValue(row.Place, out var place)) place.Add(sensor);
        }

        SensorCount = sensors.Count;
        if (store.StartProblem is not null) return;
        // A flood of an earlier day, or a lower limit: the oldest are in the house, the rest go.
        var (after, through) = (known.Rows.Where(r => !r.EverPlaced).Select(r => r.Id).DefaultIfEmpty().Max(), known.Next - 1);
        if (sensors.Count < limits.Most) return;
        changes.Add(new Change("sensors beyond the limit", c =>
        {
            var gone = SensorLeaving.RemoveNeverPlaced(c, after, through);
            if (gone > 0)
                log.LogWarning("{Count} sensors that nobody placed were more than the house takes (Sensors:Most) and are forgotten", gone);
        }));
    }

    private void ForgetUnplaced(DateTimeOffset wall, TimeSpan mono)
    {
        List<SensorState>? silent = null;
        foreach (var sensor in sensors.Values)
        {
            if (!sensor.Row.EverPlaced && sensor.SilentFor(mono) >= limits.ForgetAfter) (silent ??= []).Add(sensor);
        }

        if (silent is null) return;
        var count = Leave(silent, mono, wall, mustStand: false);
        log.LogInformation("{Count} sensors that nobody placed were silent for {Time} and are forgotten", count, limits.ForgetAfter);
    }

    private int Leave(List<SensorState> leaving, TimeSpan mono, DateTimeOffset wall, bool mustStand)
    {
        if (leaving.Count == 0) return 0;
        foreach (var sensor in leaving) TakeOut(sensor, mono, wall);
        var numbers = leaving.ConvertAll(s => s.Row.Id);
        var keys = leaving.ConvertAll(s => s.Row.Key);
        changes.Add(new Change(
            $"sensors from {numbers[0]} on",
            c =>
            {
                SensorLeaving.Remove(c, numbers);
                // Of those that left by themselves a password stays: the sensor may be put away for the summer.
                if (mustStand) keys.ForEach(key => ClientCredentialRows.RemoveOfSensor(c, key));
            },
            MustStand: mustStand));
        return numbers.Count;
    }

    private void TakeOut(SensorState sensor, TimeSpan mono, DateTimeOffset wall, WhyEnded why = WhyEnded.SensorGone)
    {
        LeavePlace(sensor, mono, wall, why);
        sensors.Remove(sensor.Row.Key);
        believer.Forget(sensor.Row.Key);
        SensorCount = sensors.Count;
        copyDue = true;
    }

    // Its alarms end, and those of a place for which nobody speaks any more; whoever was told is told why.
    private void LeavePlace(SensorState sensor, TimeSpan mono, DateTimeOffset wall, WhyEnded why = WhyEnded.SensorGone)
    {
        if (sensor.Row.Place is not { } id || !places.TryGetValue(id, out var place)) return;
        place.Remove(sensor);
        Take(watchman.SensorGone(sensor.Row.Key, mono, wall, why));
        if (place.Sensors.Count == 0) Take(watchman.PlaceGone(id, mono, wall));
    }
}
