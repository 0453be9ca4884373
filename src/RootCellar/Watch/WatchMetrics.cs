using System.Diagnostics.Metrics;

namespace RootCellar.Watch;

/// <summary>What the watch counts: alarms raised, by condition, and readings that came too late to be watched by.</summary>
internal sealed class WatchMetrics : IDisposable
{
    private readonly Meter meter;
    private readonly Counter<long> raised;
    private readonly Counter<long> late;
    private readonly Counter<long> recomputed;

    public WatchMetrics(IMeterFactory meters)
    {
        meter = meters.Create("RootCellar.Watch");
        raised = meter.CreateCounter<long>("rootcellar.alarms.raised", description: "Alarms raised, by condition.");
        late = meter.CreateCounter<long>("rootcellar.readings.late", description: "Readings that arrived more than five minutes after their device's own time.");
        recomputed = meter.CreateCounter<long>("rootcellar.air.spans.recomputed", description: "Spans of the air of a place that were made anew for late readings.");
    }

    public void Raised(Rule rule) => raised.Add(1, new KeyValuePair<string, object?>("condition", rule.Slug()));

    public void Late(int readings)
    {
        if (readings > 0) late.Add(readings);
    }

    public void Recomputed(int spans) => recomputed.Add(spans);

    public void Dispose() => meter.Dispose();
}
