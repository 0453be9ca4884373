
namespace RootCellar.Readings;

/// <summary>
/// Learns how often a sensor speaks and says when it has fallen silent, on the monotonic clock. Battery nodes sleep for
/// minutes and skip a beat now and then, so silence is three expected intervals (common practice), never under five minutes.
/// </summary>
internal sealed class SensorRhythm
{
    private const int GapsKept = 16;
    private const int GapsNeeded = 3;
    private const int Intervals = 3;

    private static readonly TimeSpan Assumed = TimeSpan.FromMinutes(10);

    // Several topics of one wake-up come within this too: a node that has to find its network and publish at QoS 1 takes
    // 5 to 8 s for them. Since no shorter rhythm is told apart, nothing is lost by counting such gaps as one wake-up.
    private static readonly TimeSpan Shortest = TimeSpan.FromSeconds(10);
    private static readonly TimeSpan Longest = TimeSpan.FromHours(2);
    private static readonly TimeSpan NotBefore = TimeSpan.FromMinutes(5);

    private readonly Queue<TimeSpan> gaps = new(GapsKept);
    private TimeSpan expected;
    private TimeSpan wake;
    private bool waitingSinceStart;
    private int outages;

    private SensorRhythm(TimeSpan expected, TimeSpan mono)
    {
        Expected = Clamp(expected);
        LastSeen = wake = mono;
    }

    /// <summary>The learned interval; ten minutes are assumed until three gaps are known.</summary>
    public TimeSpan Expected
    {
        get => expected;
        private set
        {
            expected = value;
            // Asked for by every sensor of a place at every reading, so it is worked out once.
            var three = value * Intervals;
            SilentAfter = three > NotBefore ? three : NotBefore;
        }
    }

    /// <summary>When it last spoke, or when waiting for it began.</summary>
    public TimeSpan LastSeen { get; private set; }

    public TimeSpan SilentAfter { get; private set; }

    public static SensorRhythm Fresh(TimeSpan mono) => new(Assumed, mono);

    /// <summary>After a restart: the interval is remembered, the waiting begins anew.</summary>
    public static SensorRhythm Resume(double? seconds, TimeSpan mono) =>
        new(seconds is > 0 and < 1e9 ? TimeSpan.FromSeconds(seconds.Value) : Assumed, mono) { waitingSinceStart = true };

    /// <summary>It spoke. True when what is expected of it changed noticeably, so that it is worth remembering.</summary>
    public bool Arrive(TimeSpan mono)
    {
        LastSeen = mono;
        var gap = mono - wake;
        if (waitingSinceStart)
        {
            // From our start to its first word is no interval of its own.
            waitingSinceStart = false;
            wake = mono;
            return false;
        }

        if (gap < Shortest) return false;
        wake = mono;
        // An outage is no rhythm: a gap that counts as silence is not learned from, unless nothing is known yet.
        if (gap > SilentAfter && gaps.Count >= GapsNeeded) return Slower(gap);
        if (gaps.Count == GapsKept) gaps.Dequeue();
        gaps.Enqueue(gap);
        return gaps.Count >= GapsNeeded && Learn(Median());
    }

    /// <summary>It sent what it had stored: it lives, but how fast it empties its store is no rhythm.</summary>
    public void Lives(TimeSpan mono) => LastSeen = wake = mono;

    public bool IsSilent(TimeSpan mono) => mono - LastSeen > SilentAfter;

    // A sensor set to report less often shows as one long gap after the other; then it is a rhythm after all.
    private bool Slower(TimeSpan gap)
    {
        if (++outages < GapsNeeded) return false;
        outages = 0;
        gaps.Clear();
        gaps.Enqueue(gap);
        return Learn(gap);
    }

    private bool Learn(TimeSpan gap)
    {
        outages = 0;
        var next = Clamp(gap);
        var changed = Math.Abs((next / Expected) - 1) > 0.2;
        Expected = next;
        return changed;
    }

    private static TimeSpan Clamp(TimeSpan gap) => gap < Shortest ? Shortest : gap > Longest ? Longest : gap;

    private TimeSpan Median()
    {
        var sorted = gaps.Order().ToArray();
        return sorted[sorted.Length / 2];
    }
}
