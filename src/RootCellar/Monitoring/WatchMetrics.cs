using System.Diagnostics.Metrics;
using RootCellar.Diagnostics;
using RootCellar.Storage;

namespace RootCellar.Monitoring;

/// <summary>What comes in and is judged.</summary>
internal sealed class WatchMetrics : IRoomMetrics
{
    public WatchMetrics(IMeterFactory meters, LiveState house, Pipeline pipeline, HouseClock? clock = null)
    {
        var readings = meters.Create("RootCellar.Readings");
        readings.Count("rootcellar.messages", "MQTT messages taken.", () => house.Messages);
        readings.Count("rootcellar.readings", "Readings taken out of messages.", () => house.Readings);
        readings.Count("rootcellar.unreadable", "Messages that could not be read.", () => house.Unreadables);
        readings.Count("rootcellar.repeats", "Messages that were duplicates and changed nothing.", () => house.Repeats);
        readings.Count("rootcellar.retained.replays", "Retained messages sent again by a broker.", () => pipeline.Replays);
        var watch = meters.Create("RootCellar.Watch");
        watch.Gauge("rootcellar.open.alarms", "Alarms that are not normal.", () => house.OpenAlarmCount);
        watch.Gauge("rootcellar.queue.depth", "Messages and questions that wait for the judging thread.", () => pipeline.Waiting);
        watch.Flag("rootcellar.time.known", "1 while the time is known; 0 while it is counted on from the last watch.", () => clock is null or { IsKnown: true });
        watch.Gauge("rootcellar.last.tick", "How long the judging thread has not ticked.", () => pipeline.SinceLastTick.TotalSeconds, "s");
    }
}
