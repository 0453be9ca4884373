namespace RootCellar.Readings;

/// <summary>Times that sensors claim.</summary>
internal static class DeviceClock
{
    private static readonly TimeSpan MostAhead = TimeSpan.FromMinutes(5);
    private static readonly TimeSpan Oldest = TimeSpan.FromDays(30);

    /// <summary>Unix seconds, or milliseconds where the number is too large for seconds; null when it is no time at all.</summary>
    public static DateTimeOffset? FromUnix(double given)
    {
        if (!double.IsFinite(given)) return null;
        // Seconds reach this in the year 5138.
        var seconds = Math.Abs(given) >= 1e11 ? given / 1000 : given;
        return seconds is > -62e9 and < 250e9 ? DateTimeOffset.UnixEpoch.AddTicks((long)(seconds * TimeSpan.TicksPerSecond)) : null;
    }

    /// <summary>
    /// Where a known reading stands after our clock was set. Times of our own move with it. A device's own clock did not
    /// step with ours, so a step ahead leaves it; a step back moves it all the same, for from now on the device may count
    /// as ahead of us and its readings be filed by arrival.
    /// </summary>
    public static DateTimeOffset AfterStep(DateTimeOffset at, TimeSource source, TimeSpan by) =>
        source == TimeSource.Device && by > TimeSpan.Zero ? at : at + by;

    /// <summary>The time a reading is filed under, and whose it is. A clock far ahead or absurdly old is not believed.</summary>
    public static (DateTimeOffset At, TimeSource Source) Settle(DateTimeOffset? claimed, DateTimeOffset arrivedAt) => claimed switch
    {
        null => (arrivedAt, TimeSource.Arrival),
        { } t when t > arrivedAt + MostAhead || t < arrivedAt - Oldest => (arrivedAt, TimeSource.ArrivalForBadDeviceTime),
        { } t => (t, TimeSource.Device),
    };
}
