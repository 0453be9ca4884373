using System.Diagnostics.Metrics;

namespace RootCellar.Watch;

/// <summary>What happened in the watch: alarms raised, and readings that came after their time.</summary>
internal sealed class WatchCounts
{
    private readonly Counter<long> raised;
    private readonly Counter<long> late;
    private readonly Counter<long> spans;

    public WatchCounts(IMeterFactory meters)
    {
        var meter = meters.Create("RootCellar.Watch");
        raised = meter.CreateCounter<long>("rootcellar.alarms.raised", null, "Alarms raised, by condition.");
        late = meter.CreateCounter<long>("rootcellar.late.readings", null, "Readings that arrived more than five minutes after their device's own time.");
        spans = meter.CreateCounter<long>("rootcellar.late.spans", null, "Spans of the air of a place that were worked out anew for late readings.");
    }

    public void Raised(Rule rule) => raised.Add(1, new KeyValuePair<string, object?>("condition", rule.Slug()));

    public void Late(int readings)
    {
        if (readings > 0) late.Add(readings);
    }

    public void Recomputed(int number) => spans.Add(number);
}
