using RootCellar.Monitoring;

namespace RootCellar.Readings;

/// <summary>
/// How far a device's own clock runs behind ours. What a sensor had stored and sends afterwards is old news, while a sensor whose clock is
/// merely slow speaks for now; both claim a time long past. A store that is being emptied catches up with the clock from message to
/// message; a slow clock stays as late as it is. Measured on the monotonic clock.
/// </summary>
internal sealed class DeviceLag
{
    // Three messages as under a sensor's rhythm; five minutes, so that a store emptied at almost the pace of measuring is not taken for a
    // slow clock (assumed). Until then a slow clock is not judged by, which is shorter than the delay of any alarm but freezing.
    private const int SteadyMessages = 3;
    private static readonly TimeSpan SteadyFor = TimeSpan.FromMinutes(5);
    private static readonly TimeSpan Same = TimeSpan.FromSeconds(30);

    private (TimeSpan Late, TimeSpan Since, int Messages)? steady;

    /// <summary>How late its newest readings are because of its clock; zero for a clock that is right.</summary>
    public TimeSpan Behind { get; private set; }

    /// <summary>A message came.</summary>
    /// <param name="late">How much earlier than its arrival its newest reading was measured, by the device's clock.</param>
    /// <param name="fresh">For how long a reading of this sensor speaks for now.</param>
    /// <param name="mono">When it came.</param>
    public void Heard(TimeSpan late, TimeSpan fresh, TimeSpan mono)
    {
        if (late <= Behind + fresh)
        {
            // Never more behind by and by: old news would come to count as new.
            if (late < Behind) Behind = late > TimeSpan.Zero ? late : TimeSpan.Zero;
            steady = null;
            return;
        }

        steady = steady is { } s && (late - s.Late).Duration() <= Same ? s with { Messages = s.Messages + 1 } : (late, mono, 1);
        if (steady.Value.Messages < SteadyMessages || mono - steady.Value.Since < SteadyFor) return;
        (Behind, steady) = (late, null);
    }

    /// <summary>Our clock was set; the device's did not step with it.</summary>
    public void ClockStepped(TimeSpan by)
    {
        Behind = Behind + by > TimeSpan.Zero ? Behind + by : TimeSpan.Zero;
        steady = null;
    }
}
