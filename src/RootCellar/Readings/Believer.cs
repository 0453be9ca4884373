namespace RootCellar.Readings;

/// <summary>
/// Decides what is believed. A value is never changed: what cannot be true is kept with a mark and a reason and is not
/// judged by. Used by one thread.
/// </summary>
internal sealed class Believer
{
    private const double SaturatedFrom = 99.5;
    private const int Agreeing = 3;
    private static readonly TimeSpan SaturatedFor = TimeSpan.FromHours(12);
    private static readonly TimeSpan JumpWithin = TimeSpan.FromMinutes(5);
    private static readonly TimeSpan AgreeingFor = TimeSpan.FromMinutes(2);

    private readonly Dictionary<(string Sensor, Quantity Quantity), Series> known = [];
    private readonly List<Reading> judged = [];

    /// <summary>Judges the values of one message together, for some faults show only in two. The list is reused by the next call.</summary>
    public IReadOnlyList<Reading> JudgeMessage(string sensor, IReadOnlyList<Measured> values, DateTimeOffset arrivedAt, TimeSpan mono)
    {
        judged.Clear();
        for (var i = 0; i < values.Count; i++)
        {
            var m = values[i];
            var (at, source) = DeviceClock.Settle(m.DeviceTime, arrivedAt);
            var series = SeriesOf(sensor, m.Quantity);
            var (quality, reason) = Judge(m, series, at, source, mono);
            judged.Add(new Reading(sensor, m.Quantity, m.Value, at, arrivedAt, source, quality, reason));
            series.Note(m.Value, mono);
        }

        MarkFailedPair(sensor, mono);
        return judged;
    }

    /// <summary>After a restart: the last believed reading, so that the first new one is held against it.</summary>
    public void Seed(in Reading lastGood, TimeSpan mono) => SeriesOf(lastGood.Sensor, lastGood.Quantity).Accept(lastGood.Value, lastGood.At, lastGood.TimeSource, mono);

    /// <summary>The wall clock was set: what is known moves with it, so that new readings still count as newer.</summary>
    public void ClockStepped(TimeSpan by)
    {
        foreach (var series in known.Values) series.ClockStepped(by);
    }

    private static (Quality Quality, string? Reason) Judge(in Measured m, Series series, DateTimeOffset at, TimeSource source, TimeSpan mono)
    {
        if (!double.IsFinite(m.Value)) return (Quality.NotFinite, "not a finite number");
        if (KnownFault(m) is { } fault) return (Quality.KnownFault, fault);
        var (low, high) = Range(m.Quantity);
        if (m.Value < low || m.Value > high) return (Quality.OutOfRange, $"outside {low} to {high}, which no cellar and few sensors reach");
        if (m.Quantity == Quantity.Humidity && series.Saturated(m.Value, mono)) return (Quality.Saturated, "99.5 % or more for over 12 hours: a wet sensor reads so, whatever the air");
        return series.Jumps(m, at, source, mono) ? (Quality.Jump, "a jump no cellar air makes within 5 minutes; believed once three readings agree") : (Quality.Good, null);
    }

    /// <summary>Fault values of cheap parts. DS18B20: 85.00 is its power-on value, -127 the library's "disconnected", 127.94 too little power.</summary>
    private static string? KnownFault(in Measured m)
    {
        if (m.Quantity is Quantity.Temperature or Quantity.Pulp)
        {
            if (Is(m.Value, 85)) return "85.00 C is what a DS18B20 says before it has measured";
            if (Is(m.Value, -127)) return "-127 C is what is read where no sensor answers";
            if (Is(m.Value, 127.94) || Is(m.Value, 127.9375)) return "127.94 C is what a DS18B20 says with too little power";
            if (Is(m.Value, -140)) return "-140 C is what a BME280 says before it is set up";
        }

        return null;
    }

    // Half the last bit of the parts in question; a value that came in F has been rounded on the way.
    private static bool Is(double value, double fault) => Math.Abs(value - fault) < 0.005;

    /// <summary>
    /// What is physically possible here, wider than any cellar. Temperature: the working range of the cheap parts' housings
    /// (assumed). Humidity to 105: uncropped SHT arithmetic reads slightly above 100 in fog (Sensirion SHT4x datasheet).
    /// Light: full sun is about 120,000 lx (common knowledge). CO2 sensors end at 40,000 ppm (NIOSH IDLH, from memory).
    /// Pressure: 4,000 m to the record high (assumed). Weight: a truck scale (assumed).
    /// </summary>
    private static (double Low, double High) Range(Quantity quantity) => quantity switch
    {
        Quantity.Temperature or Quantity.Pulp => (-45, 70),
        Quantity.Humidity => (-0.5, 105),
        Quantity.Light => (0, 200_000),
        Quantity.Co2 => (150, 100_000),
        Quantity.Pressure => (50_000, 110_000),
        Quantity.Weight => (-50, 50_000),
        Quantity.BatteryVolts => (0, 60),
        Quantity.BatteryPercent => (0, 110),
        _ => (-200, 20),
    };

    /// <summary>DHT22: 1 C and 1 % together is a failed read passed on as data, and 1 % flat a failed element.</summary>
    private void MarkFailedPair(string sensor, TimeSpan mono)
    {
        for (var i = 0; i < judged.Count; i++)
        {
            var reading = judged[i];
            if (reading.Quality != Quality.Good || !Is(reading.Value, 1)) continue;
            var other = reading.Quantity switch
            {
                Quantity.Temperature => SeriesOf(sensor, Quantity.Humidity),
                Quantity.Humidity => SeriesOf(sensor, Quantity.Temperature),
                _ => null,
            };
            if (other is null) continue;
            if (other.LastIs(1, mono)) judged[i] = reading with { Quality = Quality.KnownFault, Reason = "1 C and 1 % together is a failed read of a DHT" };
            else if (reading.Quantity == Quantity.Humidity) judged[i] = reading with { Quality = Quality.KnownFault, Reason = "1 % is what a failed DHT element says; no cellar is so dry" };
        }

        foreach (var reading in judged)
        {
            if (reading.IsGood) SeriesOf(sensor, reading.Quantity).Accept(reading.Value, reading.At, reading.TimeSource, mono);
        }
    }

    private Series SeriesOf(string sensor, Quantity quantity)
    {
        if (!known.TryGetValue((sensor, quantity), out var series)) known[(sensor, quantity)] = series = new Series();
        return series;
    }

    private sealed class Series
    {
        private static readonly TimeSpan Together = TimeSpan.FromSeconds(5);

        private (double Value, DateTimeOffset At, TimeSource Source, TimeSpan Mono)? good;
        private (double Value, TimeSpan Mono)? last;
        private TimeSpan? saturatedSince;
        private int agreeing;
        private double agreedOn;
        private TimeSpan agreeingSince;

        public void Note(double value, TimeSpan mono) => last = (value, mono);

        public bool LastIs(double value, TimeSpan mono) => last is { } l && Is(l.Value, value) && mono - l.Mono <= Together;

        public void Accept(double value, DateTimeOffset at, TimeSource source, TimeSpan mono)
        {
            if (good is { } g && g.At > at) return;
            good = (value, at, source, mono);
            agreeing = 0;
        }

        public void ClockStepped(TimeSpan by)
        {
            if (good is { } g) good = g with { At = DeviceClock.AfterStep(g.At, g.Source, by) };
        }

        public bool Saturated(double humidity, TimeSpan mono)
        {
            if (humidity < SaturatedFrom)
            {
                saturatedSince = null;
                return false;
            }

            saturatedSince ??= mono;
            return mono - saturatedSince >= SaturatedFor;
        }

        /// <summary>
        /// A step larger than any cellar air makes. A sensor that was carried elsewhere steps too, so three readings that
        /// agree with each other over two minutes become the new level; a glitch does not last that long.
        /// </summary>
        public bool Jumps(in Measured m, DateTimeOffset at, TimeSource source, TimeSpan mono)
        {
            var (most, agree) = m.Quantity switch
            {
                Quantity.Temperature or Quantity.Pulp => (5.0, 1.0),
                Quantity.Humidity => (30.0, 5.0),
                _ => (double.PositiveInfinity, 0.0),
            };
            if (good is not { } g || at < g.At || mono - g.Mono >= JumpWithin && agreeing == 0 || Math.Abs(m.Value - g.Value) <= most)
            {
                return false;
            }

            // A logger that sends hours in one message: its own clock says how far apart they are.
            if (source == TimeSource.Device && g.Source == TimeSource.Device && at - g.At >= JumpWithin && agreeing == 0) return false;
            if (agreeing == 0 || Math.Abs(m.Value - agreedOn) > agree)
            {
                (agreeing, agreedOn, agreeingSince) = (1, m.Value, mono);
                return true;
            }

            agreeing++;
            return agreeing < Agreeing || mono - agreeingSince < AgreeingFor;
        }
    }
}
