
namespace RootCellar.Watch;

/// <summary>
/// Whether the sensors speak and make sense. One cause, one alarm: when every sensor is silent the cause is the power,
/// the network or the broker, and when every sensor of a place is, it is that place; their own alarms are muted then.
/// A household with one sensor is blind when it is silent, so that, too, is "all silent".
/// </summary>
internal sealed class SensorWatch(WatchOptions options)
{
    // What falls silent within this of each other has one cause (assumed).
    private static readonly TimeSpan OneCause = TimeSpan.FromHours(1);

    private readonly SortedDictionary<string, Sensor> sensors = new(StringComparer.Ordinal);
    private readonly SortedDictionary<string, (Limit Limit, Slot Slot)> places = new(StringComparer.Ordinal);
    private readonly Limit all = AtOnce(options);
    private readonly Slot allSlot = new(Rule.AllSilent, "", null, Side.Above);

    private sealed class Sensor(string key, string place, WatchOptions options)
    {
        public string Place { get; set; } = place;

        public bool? Silent { get; set; }

        public TimeSpan LastHeard { get; set; }

        public string? Doubt { get; set; }

        public Limit SilentLimit { get; } = new(Side.Above, 0, options.OnDelay, options.OffDelay);

        public Limit DoubtLimit { get; } = new(Side.Above, 0, options.OnDelay, options.OffDelay);

        public Slot SilentSlot { get; } = new(Rule.SensorSilent, place, key, Side.Above);

        public Slot DoubtSlot { get; } = new(Rule.SensorNotBelievable, place, key, Side.Above);
    }

    /// <param name="silent">Null: not known yet, as after a start until a sensor speaks or has had time to.</param>
    public void Silent(string key, string place, bool? silent, TimeSpan silentFor, Now now)
    {
        var sensor = Known(key, place);
        sensor.Silent = silent;
        if (silent is true)
            sensor.LastHeard = now.Mono - silentFor;
    }

    public void Unbelievable(string key, string place, string? reason, AlarmBook book, Now now)
    {
        var sensor = Known(key, place);
        sensor.Doubt = reason ?? sensor.Doubt;
        sensor.DoubtLimit.Observe(reason is null ? 0 : 1, 0.5, now.Mono);
        book.Settle(sensor.DoubtSlot, Condition.Of(sensor.DoubtLimit, default) with { Detail = sensor.Doubt }, null, now);
    }

    public void Tick(AlarmBook book, Now now)
    {
        foreach (var sensor in sensors.Values)
            sensor.SilentLimit.Observe(sensor.Silent is { } silent ? (silent ? 1 : 0) : null, 0.5, now.Mono);

        var lastHeard = Together(all, sensors.Values, now);
        book.Settle(allSlot, Condition.Of(all, default) with { Since = lastHeard }, null, now);
        var byAll = all.Active ? Rule.AllSilent : (Rule?)null;

        foreach (var group in sensors.Values.Where(sensor => sensor.Place.Length > 0)
            .GroupBy(sensor => sensor.Place, StringComparer.Ordinal))
        {
            var (limit, slot) = PlaceOf(group.Key);
            lastHeard = Together(limit, [.. group], now);
            book.Settle(slot, Condition.Of(limit, default) with { Since = lastHeard }, byAll, now);
        }

        foreach (var sensor in sensors.Values)
        {
            var byPlace = places.TryGetValue(sensor.Place, out var place) && place.Limit.Active ? Rule.PlaceSilent : (Rule?)null;
            book.Settle(sensor.SilentSlot, Condition.Of(sensor.SilentLimit, default) with { Since = sensor.LastHeard }, byAll ?? byPlace,
                now);
            // Only a reading can speak for or against belief; the tick merely brings reminders.
            book.Settle(sensor.DoubtSlot, Condition.Of(sensor.DoubtLimit, default) with { Detail = sensor.Doubt }, null, now);
        }
    }

    public void Forget(string key, WhyEnded why, AlarmBook book, Now now)
    {
        if (!sensors.Remove(key, out var sensor))
            return;

        book.Withdraw(sensor.SilentSlot, why, now);
        book.Withdraw(sensor.DoubtSlot, why, now);
        if (sensors.Values.All(other => !string.Equals(other.Place, sensor.Place, StringComparison.Ordinal))
            && places.Remove(sensor.Place, out var place))
            book.Withdraw(place.Slot, why, now);
        if (sensors.Count == 0)
        {
            all.Reset();
            book.Withdraw(allSlot, why, now);
        }
    }

    public bool Resume(Alarm alarm, AlarmBook book, Now now)
    {
        (Slot Slot, Limit Limit)? found = alarm.Rule switch
        {
            Rule.AllSilent => (allSlot, all),
            Rule.PlaceSilent => (PlaceOf(alarm.Place).Slot, PlaceOf(alarm.Place).Limit),
            Rule.SensorSilent => (Known(alarm.Sensor!, alarm.Place).SilentSlot, Known(alarm.Sensor!, alarm.Place).SilentLimit),
            Rule.SensorNotBelievable => (Known(alarm.Sensor!, alarm.Place).DoubtSlot, Known(alarm.Sensor!, alarm.Place).DoubtLimit),
            _ => null,
        };
        if (found is not { } at)
            return false;

        book.Resume(at.Slot, alarm, now);
        if (alarm.Active)
            at.Limit.Resume(at.Slot.Since);
        if (alarm.Rule == Rule.SensorNotBelievable)
            sensors[alarm.Sensor!].Doubt = alarm.Detail;
        return true;
    }

    private static Limit AtOnce(WatchOptions options) => new(Side.Above, 0, TimeSpan.Zero, options.OffDelay);

    // The on-delay has run on the first of them to fall silent: when the last one follows, it is clear at once what this is. One that has
    // been dead for long says nothing of that.
    private static TimeSpan Together(Limit limit, IReadOnlyCollection<Sensor> group, Now now)
    {
        var last = group.Count == 0 ? now.Mono : group.Max(sensor => sensor.LastHeard);
        double? silent = group switch
        {
            _ when group.Any(sensor => sensor.Silent is false) => 0,
            _ when group.Count == 0 || group.Any(sensor => sensor.Silent is null) => null,
            _ => limit.Active || group.Any(sensor => sensor.SilentLimit.Active && last - sensor.LastHeard <= OneCause) ? 1 : 0,
        };
        limit.Observe(silent, 0.5, now.Mono);
        return last;
    }

    private Sensor Known(string key, string place)
    {
        if (!sensors.TryGetValue(key, out var sensor))
            sensors[key] = sensor = new Sensor(key, place, options);
        if (string.Equals(sensor.Place, place, StringComparison.Ordinal))
            return sensor;

        // Carried to another place. An open alarm stays with the sensor; without one it starts afresh there.
        if (sensor.SilentSlot.Alarm is null && sensor.DoubtSlot.Alarm is null)
            sensors[key] = sensor = new Sensor(key, place, options);
        else
            sensor.Place = place;
        return sensor;
    }

    private (Limit Limit, Slot Slot) PlaceOf(string place)
    {
        if (!places.TryGetValue(place, out var found))
            places[place] = found = (AtOnce(options), new Slot(Rule.PlaceSilent, place, null, Side.Above));
        return found;
    }
}
