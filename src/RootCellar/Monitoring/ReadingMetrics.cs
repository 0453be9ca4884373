using System.Diagnostics.Metrics;
using RootCellar.Diagnostics;

namespace RootCellar.Monitoring;

/// <summary>Sensors and how soon a reading is judged.</summary>
internal sealed class ReadingMetrics : IRoomMetrics
{
    private readonly Histogram<double> judged;

    public ReadingMetrics(IMeterFactory meters, LiveState house)
    {
        var meter = meters.Create("RootCellar.Readings");
        meter.Gauge("rootcellar.sensors.known", "Sensors of the house, in a place or waiting for one.", () => house.SensorCount);
        meter.CreateObservableCounter(
            "rootcellar.sensors.refused",
            () => new Measurement<long>[]
            {
                new(house.TurnedAwayCount.ByHouse, new KeyValuePair<string, object?>("limit", "house")),
                new(house.TurnedAwayCount.ByClient, new KeyValuePair<string, object?>("limit", "client")),
            },
            null,
            "Messages of new sensors that were turned away, by the limit they met.");
        judged = meter.CreateHistogram(
            "rootcellar.judged.latency",
            "s",
            "From a message's coming in to its readings being judged.",
            advice: new InstrumentAdvice<double> { HistogramBucketBoundaries = [0.001, 0.005, 0.02, 0.1, 0.5, 1, 5, 30, 120] });
    }

    public void Judged(TimeSpan after) => judged.Record(after.TotalSeconds);
}
