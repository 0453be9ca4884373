using System.Diagnostics.Metrics;

namespace RootCellar.Watch;

/// <summary>What happened in the watch: alarms raised.</summary>
internal sealed class WatchCounts
{
    private readonly Counter<long> raised;

    public WatchCounts(IMeterFactory meters)
    {
        var meter = meters.Create("RootCellar.Watch");
        raised = meter.CreateCounter<long>("rootcellar.alarms.raised", null, "Alarms raised, by condition.");
    }

    public void Raised(Rule rule) => raised.Add(1, new KeyValuePair<string, object?>("condition", rule.Slug()));
}
