using System.Diagnostics.Metrics;

namespace RootCellar.Diagnostics;

/// <summary>
/// The figures of one room for /metrics: a class that makes the room's meter, "RootCellar.ROOM", and its instruments. Registered as this,
/// so that all are made at the start.
/// </summary>
internal interface IRoomMetrics;

/// <summary>The few lines that keep a table of instruments readable.</summary>
internal static class RoomMeters
{
    public static void Count(this Meter meter, string name, string meaning, Func<long> read) =>
        meter.CreateObservableCounter(name, read, null, meaning);

    public static void Gauge(this Meter meter, string name, string meaning, Func<double> read, string? unit = null) =>
        meter.CreateObservableGauge(name, read, unit, meaning);

    /// <summary>1 while it holds, else 0.</summary>
    public static void Flag(this Meter meter, string name, string meaning, Func<bool> read) =>
        meter.CreateObservableGauge(name, () => read() ? 1 : 0, null, meaning);
}
