using System.Text.Json;
using RootCellar.Demo;

namespace RootCellar.Tests.Demo;

/// <summary>The whole story without a network: every minute's truth and every sensor's words, computed once.</summary>
internal static class StoryTrace
{
    public static DateTimeOffset Begin { get; } = Homestead.HistoryEnd - TimeSpan.FromDays(12);

    public static DateTimeOffset End { get; } = Homestead.HistoryEnd + TimeSpan.FromDays(2);

    public static IReadOnlyList<Scene> Scenes { get; } = Compute();

    public static double CuringHumidity(Scene scene) => scene.CuringRoom.RelativeHumidityPercent(Homestead.CuringShape);

    public static double CellarHumidity(Scene scene) => scene.Cellar.RelativeHumidityPercent(Homestead.CellarShape);

    /// <summary>What the sensors say, in C, as (sensor's topic, quantity): the payloads read back.</summary>
    public static IEnumerable<(DateTimeOffset At, string Place, string Sensor, string Quantity, double Value)> Words()
    {
        var next = Homestead.Sensors.ToDictionary(sensor => sensor, sensor => sensor.NextAfter(Begin));
        foreach (var scene in Scenes)
        {
            foreach (var sensor in Homestead.Sensors)
            {
                if (next[sensor] != scene.At)
                    continue;

                next[sensor] = sensor.NextAfter(scene.At);
                foreach (var said in sensor.Say(scene))
                {
                    foreach (var (quantity, value) in Read(sensor, said))
                        yield return (scene.At, sensor.Place, sensor.Topic, quantity, value);
                }
            }
        }
    }

    public static IEnumerable<(string Quantity, double Value)> Read(SimulatedSensor sensor, Said said)
    {
        if (said.Topic != sensor.Topic)
        {
            var quantity = said.Topic[(sensor.Topic.Length + 1)..];
            var number = double.Parse(said.Payload);
            return [quantity == "pulp_f" ? ("pulp_c", (number - 32) / 1.8) : (quantity, number)];
        }

        using var document = JsonDocument.Parse(said.Payload);
        return document.RootElement.ValueKind == JsonValueKind.Array
            ? [.. document.RootElement.EnumerateArray().Select(record => (
                record.GetProperty("u").GetString() switch { "Cel" => "temperature_c", "%RH" => "humidity_pct", var other => other! },
                record.GetProperty("v").GetDouble()))]
            : [.. document.RootElement.EnumerateObject().Select(member => (member.Name, member.Value.GetDouble()))];
    }

    private static List<Scene> Compute()
    {
        var world = new World(Begin);
        List<Scene> scenes = [];
        for (var at = Begin; at <= End; at += TimeSpan.FromMinutes(1))
            scenes.Add(world.AdvanceTo(at));
        return scenes;
    }
}
