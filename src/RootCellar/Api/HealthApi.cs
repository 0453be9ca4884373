using Prometheus;
using RootCellar.Mirror;
using RootCellar.Readings;
using RootCellar.Storage;
using RootCellar.Tell;

namespace RootCellar.Api;

/// <summary>Whether the service can do its work: takes readings, judges, keeps and tells.</summary>
internal static class HealthApi
{
    public static IResult Ready(Store store, Pipeline pipeline, IServiceProvider services)
    {
        var problems = new List<string>();
        if (store.AnyProblem is { } record) problems.Add(record);
        if (services.GetService<OutsideBroker>()?.Trouble is { } broker) problems.Add(broker);
        if (pipeline.SinceLastTick > TimeSpan.FromSeconds(30)) problems.Add("The pipeline does not move.");
        return problems.Count == 0
            ? Results.Text("ready")
            : Results.Text(string.Join('\n', problems), statusCode: StatusCodes.Status503ServiceUnavailable);
    }
}

/// <summary>The figures of /metrics, read from the parts when asked.</summary>
internal sealed class HealthMetrics
{
    public HealthMetrics(House house, Pipeline pipeline, Store store, Outbox outbox, MirrorState mirror, TimeProvider time)
    {
        var factory = Metrics.WithCustomRegistry(Registry);
        var messages = factory.CreateCounter("rootcellar_messages_total", "MQTT messages taken.");
        var readings = factory.CreateCounter("rootcellar_readings_total", "Readings taken out of messages.");
        var unreadable = factory.CreateCounter("rootcellar_unreadable_total", "Messages that could not be read.");
        var repeats = factory.CreateCounter("rootcellar_repeats_total", "Messages that were duplicates and changed nothing.");
        var replays = factory.CreateCounter("rootcellar_retained_replays_total", "Retained messages sent again by a broker.");
        var dropped = factory.CreateCounter("rootcellar_dropped_total", "Readings given up because the record could not be written for too long.");
        var written = factory.CreateCounter("rootcellar_written_total", "Items written to the record.");
        var alarms = factory.CreateGauge("rootcellar_open_alarms", "Alarms that are not normal.");
        var record = factory.CreateGauge("rootcellar_record_ok", "1 while the record can be written.");
        var tell = factory.CreateGauge("rootcellar_channels_in_trouble", "Channels that do not get through now.");
        var memory = factory.CreateGauge("rootcellar_resident_bytes", "Resident memory of the process.");
        AddMirror(factory, mirror, time);
        Registry.AddBeforeCollectCallback(() =>
        {
            messages.IncTo(house.Messages);
            readings.IncTo(house.Readings);
            unreadable.IncTo(house.Unreadables);
            repeats.IncTo(house.Repeats);
            replays.IncTo(pipeline.Replays);
            dropped.IncTo(store.Dropped);
            written.IncTo(store.Written);
            alarms.Set(house.OpenAlarmCount);
            record.Set(store.AnyProblem is null ? 1 : 0);
            tell.Set(outbox.Troubles.Count);
            memory.Set(Environment.WorkingSet);
        });
    }

    public CollectorRegistry Registry { get; } = Metrics.NewCustomRegistry();

    private void AddMirror(MetricFactory factory, MirrorState mirror, TimeProvider time)
    {
        var on = factory.CreateGauge("rootcellar_mirror_on", "1 while a mirror is set up.");
        var ok = factory.CreateGauge("rootcellar_mirror_ok", "1 while the mirror gets through, or is off.");
        var behind = factory.CreateGauge("rootcellar_mirror_behind_rows", "Points that wait for the mirror's server; a million and more count as a million.");
        var lag = factory.CreateGauge("rootcellar_mirror_lag_seconds", "For how long something has waited for the mirror's server.");
        var sent = factory.CreateCounter("rootcellar_mirror_sent_total", "Points the mirror's server took.");
        var dropped = factory.CreateCounter("rootcellar_mirror_dropped_total", "Points thinned out of the record before they were sent.");
        var aside = factory.CreateCounter("rootcellar_mirror_set_aside_total", "Points the mirror's server called malformed.");
        Registry.AddBeforeCollectCallback(() =>
        {
            var now = mirror.Now;
            on.Set(now.On ? 1 : 0);
            ok.Set(now.Problem is null ? 1 : 0);
            behind.Set(now.BehindRows);
            lag.Set(now.LagSeconds(time.GetUtcNow()));
            sent.IncTo(now.Sent);
            dropped.IncTo(now.Dropped);
            aside.IncTo(now.Aside);
        });
    }
}
