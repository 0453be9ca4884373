using RootCellar.Storage;

namespace RootCellar.Readings;

/// <summary>
/// Sensors that need a hand by what they said of late: looked for once an hour, as a week of readings is to be read for it.
/// </summary>
internal sealed class SensorsToSeeTo(Store store, TimeProvider time)
{
    private static readonly TimeSpan Every = TimeSpan.FromHours(1);
    private static readonly TimeSpan Of = TimeSpan.FromDays(7);

    private volatile IReadOnlyList<SensorTrouble> now = [];
    private long? lookedAt;

    /// <summary>As of the last look. From any thread.</summary>
    public IReadOnlyList<SensorTrouble> Now => now;

    /// <summary>Looks, where the last look is an hour ago. From one thread.</summary>
    public void Look()
    {
        if (lookedAt is { } last && time.GetElapsedTime(last) < Every) return;
        lookedAt = time.GetTimestamp();
        var until = time.GetUtcNow();
        now = store.Read(c => SensorWeek.Of(c, until - Of, until));
    }
}
