using RootCellar.Household;
using RootCellar.Places;
using RootCellar.Readings;

namespace RootCellar.Pages;

/// <summary>What is typed into a sensor so that it is heard.</summary>
/// <param name="Host">Of the built-in broker: the address under which this browser reached the pages.</param>
/// <param name="IsOwn">Whether it is the built-in broker.</param>
/// <param name="Password">The one for all sensors; null where the household has a broker of its own.</param>
/// <param name="Place">One to be named in the topic.</param>
internal sealed record SensorConnection(string Host, int Port, bool IsOwn, string? Password, string Place)
{
    /// <summary>A place to show in a topic.</summary>
    public static string ExamplePlace(IReadOnlyList<Place> places) => places.Count > 0 ? places[0].Id : "PLACE";

    public static SensorConnection Of(MqttOptions mqtt, SensorDoor door, HttpRequest request, IReadOnlyList<Place> places)
    {
        var place = ExamplePlace(places);
        return mqtt.Broker.Host is { Length: > 0 } host
            ? new SensorConnection(host, mqtt.Broker.Port, IsOwn: false, null, place)
            : new SensorConnection(request.Host.Host, ListenAddress.Of(mqtt.Listen)!.Port, IsOwn: true, door.Facts.Password, place);
    }
}
