namespace RootCellar.Readings;

/// <summary>The last believed value of one quantity of one sensor.</summary>
internal readonly record struct Latest(double Value, DateTimeOffset At, TimeSource Source, TimeSpan Mono);

/// <summary>What the pipeline holds about one sensor. Touched by its one thread only.</summary>
internal sealed class SensorState(SensorRow row, SensorRhythm rhythm)
{
    private readonly Latest?[] latest = new Latest?[Enum.GetValues<Quantity>().Length + 1];
    private readonly Reading?[] last = new Reading?[Enum.GetValues<Quantity>().Length + 1];

    public SensorRow Row { get; set; } = row;

    public SensorRhythm Rhythm { get; } = rhythm;

    /// <summary>What its status topic last said; null when it never did.</summary>
    public bool? Online { get; set; }

    public bool Silent { get; set; }

    /// <summary>Whether anything came from it since the service started.</summary>
    public bool HeardSinceStart { get; set; }

    public DateTimeOffset? LastArrival { get; set; }

    public int Unreadable { get; set; }

    /// <summary>The address it first came from since the start, while nobody has put it in a place; null where that is not known.</summary>
    public string? Client { get; set; }

    /// <summary>How long it was silent before this start, while the service listened; 0 once it is heard.</summary>
    public TimeSpan SilentBefore { get; set; }

    /// <summary>The last believed value, corrected where the sensor has a calibration. What is kept and judged believable stays as it came.</summary>
    public Latest? this[Quantity quantity] => latest[(int)quantity] is { } raw && Row.CalibrationOf(quantity) is { } calibration
        ? raw with { Value = calibration.Correction.Apply(raw.Value).Value }
        : latest[(int)quantity];

    /// <summary>The last reading of each quantity, believed or not, for the Sensors page.</summary>
    public IEnumerable<Reading> LastReadings => last.Where(r => r is not null).Select(r => r!.Value);

    public Reading? Last(Quantity quantity) => last[(int)quantity];

    /// <summary>Whether the last reading of every quantity is believed.</summary>
    public bool Believed => Array.TrueForAll(last, r => r is null || r.Value.IsGood);

    /// <summary>
    /// Why it is not believed now; null when it is. Looks at all its quantities, for many sensors send each in a message of
    /// its own, and one that is well does not make the other so.
    /// </summary>
    public string? Doubt(DateTimeOffset wall)
    {
        foreach (var reading in last)
        {
            if (reading is { IsGood: false } bad && wall - bad.ArrivedAt <= Rhythm.SilentAfter) return bad.Reason;
        }

        return null;
    }

    /// <summary>How long nothing was heard of it while the service listened.</summary>
    public TimeSpan SilentFor(TimeSpan mono) => SilentBefore + (mono - Rhythm.LastSeen);

    /// <summary>Takes a reading; true when it is believed and newer than what was known.</summary>
    public bool Take(in Reading reading, TimeSpan mono)
    {
        var slot = (int)reading.Quantity;
        if (last[slot] is not { } shown || shown.At <= reading.At) last[slot] = reading;
        if (!reading.IsGood || (latest[slot] is { } known && known.At > reading.At && mono - known.Mono <= Rhythm.SilentAfter)) return false;
        latest[slot] = new Latest(reading.Value, reading.At, reading.TimeSource, mono);
        return true;
    }

    /// <summary>The wall clock was set: what is known keeps its age, moved to the new clock, so that new readings still count as newer.</summary>
    public void ClockStepped(TimeSpan by)
    {
        for (var i = 0; i < latest.Length; i++)
        {
            if (latest[i] is { } value) latest[i] = value with { At = DeviceClock.AfterStep(value.At, value.Source, by) };
            if (last[i] is { } reading) last[i] = reading with { At = DeviceClock.AfterStep(reading.At, reading.TimeSource, by) };
        }
    }
}
