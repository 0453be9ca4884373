using System.Globalization;

namespace RootCellar.Readings;

/// <summary>Times that sensors claim.</summary>
internal static class DeviceClock
{
    /// <summary>A device's time further ahead than this is not believed (assumed).</summary>
    public static readonly TimeSpan MostAhead = TimeSpan.FromMinutes(5);
    private static readonly TimeSpan Oldest = TimeSpan.FromDays(30);

    // Where our own clock is as wrong as the sensor's, this still shows: nothing of ours was measured before.
    private static readonly DateTimeOffset Earliest = new(2020, 1, 1, 0, 0, 0, TimeSpan.Zero);

    /// <summary>
    /// A reading that arrives this long after its device's time is late: its hour's air was sampled without it (every five minutes). The
    /// trigger that notes such readings says the same number (migration 0009).
    /// </summary>
    public static readonly TimeSpan LateAfter = TimeSpan.FromMinutes(5);

    /// <summary>Unix seconds, or milliseconds where the number is too large for seconds; null when it is no time at all.</summary>
    public static DateTimeOffset? FromUnix(double given)
    {
        if (!double.IsFinite(given)) return null;
        // Seconds reach this in the year 5138.
        var seconds = Math.Abs(given) >= 1e11 ? given / 1000 : given;
        return seconds is > -62e9 and < 250e9 ? DateTimeOffset.UnixEpoch.AddTicks((long)(seconds * TimeSpan.TicksPerSecond)) : null;
    }

    /// <summary>
    /// RFC 3339, with its leave to write t and z small or a space for the T (section 5.6). A time without its offset is no
    /// moment, so it is null: to take a local time for UTC would file readings hours away.
    /// </summary>
    public static DateTimeOffset? FromRfc3339(string given)
    {
        if (given.Length < 20 || given[4] != '-' || given[7] != '-' || given[10] is not ('T' or 't' or ' ') || given[13] != ':'
            || given[16] != ':')
            return null;
        var hasOffset = given[^1] is 'Z' or 'z' || (given[^6] is '+' or '-' && given[^3] == ':');
        return hasOffset && DateTimeOffset.TryParse(given, CultureInfo.InvariantCulture, DateTimeStyles.None, out var time)
            ? time.ToUniversalTime() : null;
    }

    /// <summary>
    /// Where a known reading stands after our clock was set. Times of our own move with it. A device's own clock did not
    /// step with ours, so a step ahead leaves it; a step back moves it all the same, for from now on the device may count
    /// as ahead of us and its readings be filed by arrival.
    /// </summary>
    public static DateTimeOffset AfterStep(DateTimeOffset at, TimeSource source, TimeSpan by) =>
        source == TimeSource.Device && by > TimeSpan.Zero ? at : at + by;

    /// <summary>The time a reading is filed under, and whose it is. A clock far ahead or absurdly old is not believed.</summary>
    /// <param name="claimed">What the device says; null where it says nothing.</param>
    /// <param name="arrivedAt">When it came.</param>
    /// <param name="known">
    /// Whether our own time is; where not, it is behind, and the device may be right. That is judged once it is (<see cref="MostAhead"/>).
    /// </param>
    public static (DateTimeOffset At, TimeSource Source) Settle(DateTimeOffset? claimed, DateTimeOffset arrivedAt, bool known = true) => claimed switch
    {
        null => (arrivedAt, TimeSource.Arrival),
        { } t when (known && t > arrivedAt + MostAhead) || t < arrivedAt - Oldest || t < Earliest => (arrivedAt, TimeSource.ArrivalForBadDeviceTime),
        { } t => (t, TimeSource.Device),
    };
}
