using RootCellar.Household;

namespace RootCellar.Readings;

/// <summary>
/// Decides what is believed. A value is never changed: what cannot be true is kept with a mark and a reason and is not
/// judged by. Used by one thread.
/// </summary>
internal sealed class Believer
{
    /// <summary>Values of one wake-up that came in several messages still belong together.</summary>
    private static readonly TimeSpan Together = TimeSpan.FromSeconds(5);

    private readonly Dictionary<(string Sensor, Quantity Quantity), Series> known = [];
    private readonly List<Reading> judged = [];

    /// <summary>Judges the values of one message together, for some faults show only in two. The list is reused by the next call.</summary>
    public IReadOnlyList<Reading> JudgeMessage(
        string sensor, IReadOnlyList<Measured> values, DateTimeOffset arrivedAt, TimeSpan mono, bool timeKnown = true)
    {
        judged.Clear();
        // All are noted before any is judged, so that it does not matter which of a pair stands first in the message.
        for (var i = 0; i < values.Count; i++) SeriesOf(sensor, values[i].Quantity).Note(values[i].Value, mono);
        for (var i = 0; i < values.Count; i++)
        {
            var m = values[i];
            var (at, source) = DeviceClock.Settle(m.DeviceTime, arrivedAt, timeKnown);
            var (quality, reason) = Judge(sensor, m, Moment.Of(at, arrivedAt, source, mono), mono);
            judged.Add(new Reading(sensor, m.Quantity, m.Value, at, arrivedAt, source, quality, reason));
        }

        return judged;
    }

    /// <summary>
    /// After a restart, the recent past oldest first: the first new reading is held against the last believed one, and
    /// a humidity that was marked saturated does not pass for good for another 12 hours.
    /// </summary>
    public void Seed(in Reading kept, TimeSpan mono)
    {
        var when = Moment.Of(kept.At, kept.ArrivedAt, kept.TimeSource, mono);
        if (kept.Quality == Quality.Good)
        {
            var series = SeriesOf(kept.Sensor, kept.Quantity);
            if (kept.Quantity == Quantity.Humidity) _ = series.Saturated(kept.Value, when);
            if (!series.IsLate(when)) series.Accept(kept.Value, when);
        }
        else if (kept.Quality == Quality.Saturated)
        {
            SeriesOf(kept.Sensor, kept.Quantity).WasSaturated(when);
        }
    }

    /// <summary>The sensor is no more; one of its name begins anew.</summary>
    public void Forget(string sensor)
    {
        foreach (var quantity in Enum.GetValues<Quantity>()) known.Remove((sensor, quantity));
    }

    private (Quality Quality, string? Reason) Judge(string sensor, in Measured m, Moment when, TimeSpan mono)
    {
        if (!double.IsFinite(m.Value)) return (Quality.NotFinite, Strings.FaultNotFinite);
        if (KnownFault(sensor, m, mono) is { } fault) return (Quality.KnownFault, fault);
        var (low, high) = Range(m.Quantity);
        if (m.Value < low || m.Value > high) return (Quality.OutOfRange, Strings.FaultRange.With(low, high));

        // What the sensor had stored and sends after newer values is history: it neither makes nor confirms a jump.
        var series = SeriesOf(sensor, m.Quantity);
        if (series.IsLate(when)) return (Quality.Good, null);
        if (m.Quantity == Quantity.Humidity && series.Saturated(m.Value, when)) return (Quality.Saturated, Strings.FaultTop);
        if (series.Jumps(m, when)) return (Quality.Jump, Strings.FaultJump);
        series.Accept(m.Value, when);
        return (Quality.Good, null);
    }

    /// <summary>
    /// Fault values of cheap parts. DS18B20: 85.00 (power-on) and 127.94 (too little power), by the notes of the Arduino
    /// Temperature Control Library 4.0.6; -127 is that library's "disconnected" (from memory). DHT: 1 C with 1 %, and 1 %
    /// alone, by reports in opendata-stuttgart/sensors-software 432. BME280: -40 or -140 with 0 or 100 %, raw 0x8000 where
    /// a measurement was skipped (from memory).
    /// </summary>
    private string? KnownFault(string sensor, in Measured m, TimeSpan mono)
    {
        switch (m.Quantity)
        {
            case Quantity.Temperature or Quantity.Pulp:
                if (Is(m.Value, 85)) return Strings.FaultPowerOn;
                if (Is(m.Value, -127)) return Strings.FaultNoAnswer;
                if (Is(m.Value, 127.94) || Is(m.Value, 127.9375)) return Strings.FaultPower;
                if (Is(m.Value, -140)) return Strings.FaultBme140;
                if (m.Quantity == Quantity.Pulp) return null;
                var humidity = SeriesOf(sensor, Quantity.Humidity);
                if (Is(m.Value, 1) && humidity.LastIs(1, mono)) return Strings.FaultDht;
                return Is(m.Value, -40) && (humidity.LastIs(0, mono) || humidity.LastIs(100, mono)) ? Strings.FaultBme40 : null;
            case Quantity.Humidity:
                var air = SeriesOf(sensor, Quantity.Temperature);
                if (Is(m.Value, 1)) return air.LastIs(1, mono) ? Strings.FaultDht : Strings.FaultDhtElement;
                return (Is(m.Value, 0) || Is(m.Value, 100)) && (air.LastIs(-40, mono) || air.LastIs(-140, mono)) ? Strings.FaultBmeHumidity
                    : null;
            default:
                return null;
        }
    }

    // Half the last digit that is written; a value that came in F has been rounded on the way.
    private static bool Is(double value, double fault) => Math.Abs(value - fault) < 0.005;

    /// <summary>
    /// What is possible here, wider than any cellar. Temperature: from where the SHT4x scale begins (-45 C, its datasheet's
    /// formula) to more than a shed in the sun (assumed). Humidity: that formula is uncropped and reads a little below 0 and
    /// above 100 (Sensirion SHT4x datasheet); how far is assumed. Light: direct sun is about 120,000 lx (from memory). CO2:
    /// below outdoor air by a cheap part's error, and over the 40,000 ppm where such parts end (assumed). Pressure: 5,500 m
    /// up to the record high (from memory). Weight, battery and signal: assumed.
    /// </summary>
    private static (double Low, double High) Range(Quantity quantity) => quantity switch
    {
        Quantity.Temperature or Quantity.Pulp => (-45, 70),
        Quantity.Humidity => (-6, 105),
        Quantity.Light => (0, 200_000),
        Quantity.Co2 => (150, 100_000),
        Quantity.Pressure => (50_000, 110_000),
        Quantity.Weight => (-50, 50_000),
        Quantity.BatteryVolts => (0, 60),
        Quantity.BatteryPercent => (0, 110),
        _ => (-200, 20),
    };

    private Series SeriesOf(string sensor, Quantity quantity)
    {
        if (!known.TryGetValue((sensor, quantity), out var series)) known[(sensor, quantity)] = series = new Series();
        return series;
    }

    /// <summary>
    /// When a value was measured. Between two of the device's own times the device's clock counts, for a sensor may send
    /// an hour's values in one message; anything else is measured on the monotonic clock, which no clock setting moves.
    /// </summary>
    private readonly record struct Moment(DateTimeOffset At, TimeSpan Mono, bool ByDevice)
    {
        /// <summary>What a device had stored was measured long before it came: it is no neighbour of what is measured now.</summary>
        public static Moment Of(DateTimeOffset at, DateTimeOffset arrivedAt, TimeSource source, TimeSpan mono) =>
            source == TimeSource.Device ? new Moment(at, mono - (arrivedAt - at), true) : new Moment(at, mono, false);

        public TimeSpan Since(in Moment earlier) => ByDevice && earlier.ByDevice ? At - earlier.At : Mono - earlier.Mono;
    }

    /// <summary>What is remembered of one quantity of one sensor.</summary>
    private sealed class Series
    {
        private const double SaturatedFrom = 99.5;
        private const int Agreeing = 3;
        private static readonly TimeSpan SaturatedFor = TimeSpan.FromHours(12);

        // Longer than any sensor may be silent without being missed: what it read meanwhile is not known.
        private static readonly TimeSpan Unheard = TimeSpan.FromHours(6);
        private static readonly TimeSpan JumpWithin = TimeSpan.FromMinutes(5);
        private static readonly TimeSpan AgreeingFor = TimeSpan.FromMinutes(2);

        // A glitch comes back; what has not come back for so long is happening, however it moves (a stove left on, a fire).
        private static readonly TimeSpan StayedAway = TimeSpan.FromMinutes(10);

        private (double Value, Moment When)? good;
        private (double Value, TimeSpan Mono)? last;
        private DateTimeOffset? newestByDevice;
        private (Moment Since, Moment Last)? saturated;
        private Run? run;
        private Moment? awaySince;

        public void Note(double value, TimeSpan mono) => last = (value, mono);

        public bool LastIs(double value, TimeSpan mono) => last is { } l && Is(l.Value, value) && mono - l.Mono <= Together;

        /// <summary>
        /// Only a time of the device's own can be late; what just arrived is the newest there is, however our clock was set.
        /// </summary>
        public bool IsLate(in Moment when)
        {
            if (!when.ByDevice) return false;
            if (newestByDevice is { } newest && when.At < newest) return true;
            newestByDevice = when.At;
            return false;
        }

        public void Accept(double value, in Moment when)
        {
            good = (value, when);
            run = null;
            awaySince = null;
        }

        public bool Saturated(double humidity, in Moment when)
        {
            if (humidity < SaturatedFrom)
            {
                saturated = null;
                return false;
            }

            var since = saturated is { } s && when.Since(s.Last) <= Unheard ? s.Since : when;
            saturated = (since, when);
            return when.Since(since) >= SaturatedFor;
        }

        public void WasSaturated(in Moment when) => saturated =
            (new Moment(when.At - SaturatedFor, when.Mono - SaturatedFor, when.ByDevice), when);

        /// <summary>
        /// A step larger than any cellar air makes in so short a time: a glitch, a warm hand on the probe, a part that is
        /// failing. But a sensor that was carried elsewhere, or a door left open in frost, steps too and then stays; so three
        /// readings in a row that agree with each other and span two minutes become the new level. Glitches do not agree,
        /// and the two minutes keep a sensor that reports every few seconds from confirming one held hand. Where the last
        /// value is five minutes old or more, any value may be true and there is no jump.
        /// </summary>
        public bool Jumps(in Measured m, in Moment when)
        {
            var (most, agree) = m.Quantity switch
            {
                Quantity.Temperature or Quantity.Pulp => (5.0, 1.0),
                Quantity.Humidity => (30.0, 5.0),
                _ => (double.PositiveInfinity, 0.0),
            };
            if (good is not { } g || Math.Abs(m.Value - g.Value) <= most || when.Since(run?.Last ?? g.When) >= JumpWithin) return false;
            awaySince ??= when;
            if (when.Since(awaySince.Value) >= StayedAway) return false;
            run = run is { } r && Math.Max(r.High, m.Value) - Math.Min(r.Low, m.Value) <= agree
                ? r with { Count = r.Count + 1, Low = Math.Min(r.Low, m.Value), High = Math.Max(r.High, m.Value), Last = when }
                : new Run(1, m.Value, m.Value, when, when);
            return run.Value.Count < Agreeing || when.Since(run.Value.First) < AgreeingFor;
        }

        /// <summary>Readings away from the believed level that agree with each other.</summary>
        private readonly record struct Run(int Count, double Low, double High, Moment First, Moment Last);
    }
}
