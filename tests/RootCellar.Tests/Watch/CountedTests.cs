using System.Diagnostics.Metrics;
using RootCellar.Places;
using RootCellar.Tests.Households;
using RootCellar.Watch;

namespace RootCellar.Tests.Watch;

/// <summary>What the watch counts, by the names that dashboards lean on.</summary>
public sealed class CountedTests
{
    [Fact]
    public void What_happens_is_counted_under_its_name()
    {
        var counted = new List<string>();
        using var listener = new MeterListener();
        var (counts, late) = (new WatchCounts(TestMeters.Factory), new LateCounts(TestMeters.Factory));
        listener.InstrumentPublished = (instrument, it) =>
        {
            if (instrument.Meter.Name == "RootCellar.Watch") it.EnableMeasurementEvents(instrument, counts);
        };
        listener.SetMeasurementEventCallback<long>((instrument, value, tags, _) =>
        {
            lock (counted) counted.Add($"{instrument.Name} {value}{(tags.Length > 0 ? $" {tags[0].Key}={tags[0].Value}" : "")}");
        });
        listener.Start();
        counts.Raised(Rule.TooWarm);
        late.Late(7);
        late.Late(0);
        late.Recomputed(2);
        lock (counted) counted.Should()
            .Contain(["rootcellar.alarms.raised 1 condition=too-warm", "rootcellar.late.readings 7",
                "rootcellar.late.spans 2"]).And.NotContain("rootcellar.late.readings 0");
    }
}
