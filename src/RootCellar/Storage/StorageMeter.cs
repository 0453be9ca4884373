using System.Diagnostics.Metrics;
using Microsoft.Data.Sqlite;

namespace RootCellar.Storage;

/// <summary>The figures of the record: what could not be written and why, what waits and for how long, and how the disk answers.</summary>
internal sealed class StorageMeter : IDisposable
{
    private readonly Meter meter;
    private readonly Counter<long> failed;
    private readonly Histogram<double> syncs;

    /// <param name="depth">Items that wait to be written.</param>
    /// <param name="age">Seconds for which the oldest of them has waited.</param>
    /// <param name="unsynced">Seconds for which an acknowledged reading has waited for the disk's own confirmation.</param>
    public StorageMeter(IMeterFactory? meters, Func<int> depth, Func<double> age, Func<double> unsynced)
    {
        meter = meters?.Create("RootCellar.Storage") ?? new Meter("RootCellar.Storage");
        failed = meter.CreateCounter<long>("rootcellar.writes.failed", "{write}", "Writes to the record that failed, by reason.");
        syncs = meter.CreateHistogram<double>("rootcellar.sync.duration", "s", "How long the disk took to confirm what was written.");
        meter.CreateObservableGauge("rootcellar.writes.waiting", depth, "{item}", "Items that wait to be written.");
        meter.CreateObservableGauge("rootcellar.writes.waiting.age", age, "s", "How long the oldest of them has waited.");
        meter.CreateObservableGauge(
            "rootcellar.unsynced.age", unsynced, "s", "How long an acknowledged reading has waited for the disk to confirm it.");
    }

    public void Failed(Exception problem, int writes = 1) =>
        failed.Add(writes, new KeyValuePair<string, object?>("reason", Reason(problem)));

    /// <param name="by">"commit" of something a person or a text depends on, or "timer" for readings.</param>
    public void Synced(string by, TimeSpan took) => syncs.Record(took.TotalSeconds, new KeyValuePair<string, object?>("by", by));

    public void Dispose() => meter.Dispose();

    private static string Reason(Exception problem) => problem switch
    {
        SqliteException { SqliteErrorCode: 8 } => "read-only",
        SqliteException { SqliteErrorCode: 10 } or IOException => "disk",
        SqliteException { SqliteErrorCode: 11 or 26 } => "damaged",
        SqliteException { SqliteErrorCode: 13 } => "full",
        SqliteException { SqliteErrorCode: 14 } => "cannot-open",
        SqliteException { SqliteErrorCode: 5 or 6 } => "locked",
        _ => "write",
    };
}
