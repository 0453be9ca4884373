namespace RootCellar.Readings;

/// <summary>
/// One value taken out of a message, before anything is believed about it. May be NaN or infinite.
/// <see cref="DeviceTime"/> is what the message claimed; null where it claimed nothing.
/// </summary>
internal readonly record struct Measured(Quantity Quantity, double Value, DateTimeOffset? DeviceTime);

/// <summary>Whose clock a reading's time came from.</summary>
internal enum TimeSource
{
    /// <summary>The message carried no time: the moment it arrived.</summary>
    Arrival = 0,

    /// <summary>The sensor's own clock.</summary>
    Device = 1,

    /// <summary>The sensor's clock was impossible (in the future or absurdly old), so the arrival time stands.</summary>
    ArrivalForBadDeviceTime = 2,
}

/// <summary>What is believed about a reading. Anything but Good is kept and shown, never judged by.</summary>
internal enum Quality
{
    Good = 0,
    NotFinite = 1,
    OutOfRange = 2,
    KnownFault = 3,
    Jump = 4,

    /// <summary>Humidity at 99.5 % or more for over 12 hours: all it says is "damp to the top" (<see cref="TopOfScale"/>), not 100 %.</summary>
    Saturated = 5,
}

/// <summary>
/// A reading as it is kept: the value exactly as measured (in SI), never clamped, with what is believed about it.
/// <see cref="At"/> is wall time (UTC) and orders history; it is never used to measure an interval.
/// </summary>
internal readonly record struct Reading(
    string Sensor,
    Quantity Quantity,
    double Value,
    DateTimeOffset At,
    DateTimeOffset ArrivedAt,
    TimeSource TimeSource,
    Quality Quality,
    string? Reason)
{
    public bool IsGood => Quality == Quality.Good;

    /// <summary>It says something of the air: a measurement, or that the air is at least so damp.</summary>
    public bool Counts => Quality is Quality.Good or Quality.Saturated;
}
