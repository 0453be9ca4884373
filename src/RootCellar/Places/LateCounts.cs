using System.Diagnostics.Metrics;

namespace RootCellar.Places;

/// <summary>Readings that came after their time, and the air that was worked out anew for them.</summary>
internal sealed class LateCounts
{
    private readonly Counter<long> late;
    private readonly Counter<long> spans;

    public LateCounts(IMeterFactory meters)
    {
        var meter = meters.Create("RootCellar.Watch");
        late = meter.CreateCounter<long>("rootcellar.late.readings", null,
            "Readings that arrived more than five minutes after their device's own time.");
        spans = meter.CreateCounter<long>("rootcellar.late.spans", null,
            "Spans of the air of a place that were worked out anew for late readings.");
    }

    public void Late(int readings)
    {
        if (readings > 0) late.Add(readings);
    }

    public void Recomputed(int number) => spans.Add(number);
}
