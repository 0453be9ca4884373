using RootCellar.Monitoring;

namespace RootCellar.Readings;

/// <summary>
/// The last believed value of one quantity of one sensor. <see cref="PlusOrMinus"/>: how well its calibration knows it; null without one.
/// <see cref="AtTop"/>: a humidity that is <see cref="TopOfScale"/>.
/// </summary>
internal readonly record struct Latest(
    double Value, DateTimeOffset At, TimeSource Source, TimeSpan Mono, double? PlusOrMinus = null, bool AtTop = false);

/// <summary>What the pipeline holds about one sensor. Touched by its one thread only.</summary>
internal sealed class SensorState(SensorRow row, SensorRhythm rhythm)
{
    private readonly Latest?[] latest = new Latest?[Enum.GetValues<Quantity>().Length + 1];
    private readonly (Reading Reading, bool ForNow)?[] last = new (Reading, bool)?[Enum.GetValues<Quantity>().Length + 1];

    public SensorRow Row { get; set; } = row;

    public SensorRhythm Rhythm { get; } = rhythm;

    /// <summary>What its status topic last said; null when it never did.</summary>
    public bool? Online { get; set; }

    /// <summary>How far its own clock runs behind ours.</summary>
    public DeviceLag Lag { get; } = new();

    public bool Silent { get; set; }

    /// <summary>Whether anything came from it since the service started.</summary>
    public bool HeardSinceStart { get; set; }

    public DateTimeOffset? LastArrival { get; set; }

    public int Unreadable { get; set; }

    /// <summary>The address it first came from since the start, while nobody has put it in a place; null where that is not known.</summary>
    public string? Client { get; set; }

    /// <summary>What it was the last to replace; null where it replaced nothing.</summary>
    public Replacement? Replaces { get; set; }

    /// <summary>How long it was silent before this start, while the service listened; 0 once it is heard.</summary>
    public TimeSpan SilentBefore { get; set; }

    /// <summary>
    /// The last believed value, corrected where the sensor has a calibration. What is kept and judged believable stays as it came.
    /// </summary>
    public Latest? this[Quantity quantity] => latest[(int)quantity] switch
    {
        { AtTop: true } top => top with { Value = TopOfScale.MiddlePercent, PlusOrMinus = TopOfScale.PlusOrMinusPercent },
        { } raw when Row.CalibrationOf(quantity)?.Correction.Apply(raw.Value) is { } right =>
            raw with { Value = right.Value, PlusOrMinus = right.PlusOrMinus },
        var raw => raw,
    };

    /// <summary>The last reading of each quantity, believed or not, for the Sensors page.</summary>
    public IEnumerable<Reading> LastReadings => last.Where(r => r is not null).Select(r => r!.Value.Reading);

    public Reading? Last(Quantity quantity) => last[(int)quantity]?.Reading;

    /// <summary>Whether the last reading of every quantity is believed.</summary>
    public bool Believed => Array.TrueForAll(last, r => r is not { ForNow: true, Reading.Counts: false });

    /// <summary>
    /// Why it is not believed now; null when it is. Looks at all its quantities, for many sensors send each in a message of
    /// its own, and one that is well does not make the other so.
    /// </summary>
    public string? Doubt(DateTimeOffset wall)
    {
        foreach (var reading in last)
        {
            if (reading is { ForNow: true, Reading: { Counts: false } bad } && wall - bad.ArrivedAt <= Rhythm.SilentAfter)
                return bad.Reason;
        }

        return null;
    }

    /// <summary>How long nothing was heard of it while the service listened.</summary>
    public TimeSpan SilentFor(TimeSpan mono) => SilentBefore + (mono - Rhythm.LastSeen);

    /// <summary>
    /// Whether a reading that just came says how things are now. What the sensor had stored is of its own hours: the air of those is made
    /// of it, but it neither is the air now nor raises or ends an alarm.
    /// </summary>
    public bool SpeaksForNow(in Reading reading) =>
        reading.TimeSource != TimeSource.Device || reading.ArrivedAt - reading.At <= Lag.Behind + Rhythm.SilentAfter;

    /// <summary>A message came: true when something in it speaks for now.</summary>
    public bool Heard(IReadOnlyList<Reading> message, TimeSpan mono)
    {
        var late = TimeSpan.MaxValue;
        for (var i = 0; i < message.Count; i++)
        {
            var by = message[i].TimeSource == TimeSource.Device ? message[i].ArrivedAt - message[i].At : TimeSpan.Zero;
            if (by < late) late = by;
        }

        Lag.Heard(late, Rhythm.SilentAfter, mono);
        return late <= Lag.Behind + Rhythm.SilentAfter;
    }

    /// <summary>Takes a reading; true when it is believed and newer than what was known.</summary>
    /// <param name="reading">The reading.</param>
    /// <param name="mono">When it came.</param>
    /// <param name="forNow">Whether it says how things are now (<see cref="SpeaksForNow"/>); if not it is shown, and nothing goes by
    /// it.</param>
    public bool Take(in Reading reading, TimeSpan mono, bool forNow = true)
    {
        var slot = (int)reading.Quantity;
        if (last[slot] is not { } shown || shown.Reading.At <= reading.At) last[slot] = (reading, forNow);
        if (!forNow || !reading.Counts || (latest[slot] is { } known && known.At > reading.At && mono - known.Mono <= Rhythm.SilentAfter))
            return false;
        latest[slot] = new Latest(reading.Value, reading.At, reading.TimeSource, mono, AtTop: reading.Quality == Quality.Saturated);
        return true;
    }

    /// <summary>The time came to be known: the same, and what is written down of the sensor moves as well.</summary>
    public void PutRight(Storage.TimePutRight right)
    {
        ClockStepped(right.By);
        LastArrival = right.Of(LastArrival);
        Row = Row with { FirstSeen = right.Of(Row.FirstSeen) };
    }

    /// <summary>
    /// The wall clock was set: what is known keeps its age, moved to the new clock, so that new readings still count as newer.
    /// </summary>
    public void ClockStepped(TimeSpan by)
    {
        for (var i = 0; i < latest.Length; i++)
        {
            if (latest[i] is { } value) latest[i] = value with { At = DeviceClock.AfterStep(value.At, value.Source, by) };
            if (last[i] is (var reading, var now))
                last[i] = (reading with { At = DeviceClock.AfterStep(reading.At, reading.TimeSource, by) }, now);
        }

        Lag.ClockStepped(by);
    }
}
