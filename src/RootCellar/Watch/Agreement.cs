using RootCellar.Places;
using RootCellar.Readings;
using RootCellar.Science.Air;

namespace RootCellar.Watch;

/// <summary>
/// Whether the sensors of one place agree as far as their accuracy allows, in air temperature and in humidity; probes in produce may
/// differ, for bins do. An alarm of low priority of its own: one of them is wrong, or the room is far from even, and the median hides it.
/// </summary>
internal sealed class Agreement
{
    // Good to so much without a calibration: DS18B20 data sheet, -10 to 85 C (from memory). Humidity as everywhere here.
    internal const double SensorC = 0.5;
    internal const double SensorPercent = Uncertainty.CheapHumidityPercent;

    // The same air has so much less relative humidity for each K that it is warmer, near 5 C: slope of the saturation pressure (Magnus),
    // times 90 %.
    private const double PercentPerKelvin = 6.5;

    // One of two sensors gone for this long is gone (assumed, as for a probe), and the other has nobody to agree with.
    private static readonly TimeSpan Gone = TimeSpan.FromHours(6);

    private readonly Kind[] kinds;

    public Agreement(string place, WatchOptions options)
    {
        kinds =
        [
            new Kind(Quantity.Temperature, Measure.AirSpread, SensorC, options.RoomSpreadC, options.Temperature.DeadbandC, place, options),
            new Kind(Quantity.Humidity, Measure.HumiditySpread, SensorPercent, options.RoomSpreadC * PercentPerKelvin,
                options.Humidity.DeadbandPercent, place, options),
        ];
    }

    /// <param name="air">Null while nobody sees the air.</param>
    public void Observe(PlaceAir? air, AlarmBook book, Now now)
    {
        foreach (var kind in kinds)
            kind.Observe(air is null ? Shown.Nothing(kind.Measure) : Widest(kind, air.Sensors), air is not null, book, now);
    }

    public bool Resume(Alarm alarm, AlarmBook book, Now now)
    {
        if (alarm.Rule != Rule.SensorsDisagree || Array.Find(kinds, k => k.Measure == alarm.Measure) is not { } kind) return false;
        book.Resume(kind.Slot, alarm, now);
        if (alarm.Active) kind.Limit.Resume(kind.Slot.Since);
        kind.TwoSeen = now.Mono;
        return true;
    }

    /// <summary>A sensor left the place: what was said of it and another says nothing any more.</summary>
    public void Forget(string sensor, WhyEnded why, AlarmBook book, Now now)
    {
        foreach (var kind in kinds.Where(k => k.Slot.Alarm is { } alarm && (alarm.Sensor == sensor || alarm.Other == sensor)))
            kind.Withdraw(why, book, now);
    }

    public void Withdraw(WhyEnded why, AlarmBook book, Now now)
    {
        foreach (var kind in kinds) kind.Withdraw(why, book, now);
    }

    // The two that are furthest beyond what their accuracies allow. One walk: of each the nearest end it may stand for is looked at.
    private static Shown Widest(Kind kind, IReadOnlyList<SensorValue> values)
    {
        (string Sensor, double Value, double PlusOrMinus)? low = null, high = null;
        foreach (var value in values)
        {
            if (value.Quantity != kind.Quantity) continue;
            var good = value.PlusOrMinus ?? kind.Sensor;
            if (low is not { } l || value.Value + good < l.Value + l.PlusOrMinus) low = (value.Sensor, value.Value, good);
            if (high is not { } h || value.Value - good > h.Value - h.PlusOrMinus) high = (value.Sensor, value.Value, good);
        }

        if (low is not { } lowest || high is not { } highest || values.Count(v => v.Quantity == kind.Quantity) < 2)
            return Shown.Nothing(kind.Measure);
        // Both ends are one sensor's where it is so uncertain that the others lie within.
        return new Shown(kind.Measure, Math.Max(0, highest.Value - lowest.Value), lowest.PlusOrMinus + highest.PlusOrMinus + kind.Room,
            lowest.Sensor, highest.Sensor);
    }

    /// <summary>One quantity in which sensors may disagree. Accuracies and what a room may truly differ by are in its unit.</summary>
    private sealed class Kind(Quantity quantity, Measure measure, double sensor, double room, double deadband, string place,
        WatchOptions options)
    {
        public Quantity Quantity => quantity;

        public Measure Measure => measure;

        public double Sensor => sensor;

        public double Room => room;

        public Limit Limit { get; } = new(Side.Above, deadband, options.OnDelay, options.OffDelay);

        public Slot Slot { get; } = new(Rule.SensorsDisagree, place, null, Side.Above);

        /// <summary>When two sensors last spoke, or the time of waiting for them began; monotonic.</summary>
        public TimeSpan TwoSeen { get; set; }

        public void Observe(Shown apart, bool seen, AlarmBook book, Now now)
        {
            if (apart.Value is not null) TwoSeen = now.Mono;
            else if (seen && Slot.Alarm is not null && now.Mono - TwoSeen >= Gone) Withdraw(WhyEnded.OneSensorLeft, book, now);
            Limit.Observe(apart.Value, apart.Limit ?? 0, now.Mono);
            book.Settle(Slot, Condition.Of(Limit, apart), null, now);
        }

        public void Withdraw(WhyEnded why, AlarmBook book, Now now)
        {
            Limit.Reset();
            book.Withdraw(Slot, why, now);
        }
    }
}
