using System.Diagnostics.Metrics;
using RootCellar.Diagnostics;

namespace RootCellar.Readings;

/// <summary>Who is connected to the built-in broker, what it keeps, and what it turned away.</summary>
internal sealed class BrokerMetrics : IRoomMetrics
{
    public BrokerMetrics(IMeterFactory meters, BuiltInBroker broker, Refusals refusals)
    {
        var meter = meters.Create("RootCellar.Broker");
        meter.CreateObservableCounter(
            "rootcellar.clients.refused",
            () => Enum.GetValues<Refusal>()
                .Select(r => new Measurement<long>(refusals.Total(r), new KeyValuePair<string, object?>("reason", Refusals.Word(r)))),
            description: "What the built-in broker turned away, by reason.");
        meter.Gauge("rootcellar.clients.connected", "MQTT clients connected to the built-in broker.", () => broker.Clients);
        meter.Gauge("rootcellar.retained.messages", "Messages the built-in broker keeps for readers.", () => broker.Retained.Messages);
        meter.Gauge("rootcellar.retained.size", "What the built-in broker keeps for readers.", () => broker.Retained.Bytes, "By");
    }
}
