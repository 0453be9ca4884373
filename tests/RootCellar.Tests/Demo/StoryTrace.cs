using System.Text;
using RootCellar.Demo;
using RootCellar.Readings;

namespace RootCellar.Tests.Demo;

/// <summary>The whole story without a network: every minute's truth and every sensor's words, computed once.</summary>
internal static class StoryTrace
{
    public static DateTimeOffset Begin { get; } = Homestead.HistoryEnd - TimeSpan.FromDays(12);

    public static DateTimeOffset End { get; } = Homestead.HistoryEnd + TimeSpan.FromDays(2);

    public static IReadOnlyList<Scene> Scenes { get; } = Compute();

    public static double CuringHumidity(Scene scene) => scene.CuringRoom.RelativeHumidityPercent(Homestead.CuringShape);

    public static double CellarHumidity(Scene scene) => scene.Cellar.RelativeHumidityPercent(Homestead.CellarShape);

    /// <summary>Every sensor's words as the service's own decoder and believer take them, in the order they arrive.</summary>
    public static IReadOnlyList<(string Place, Reading Reading)> Readings { get; } = Read();

    private static List<(string Place, Reading Reading)> Read()
    {
        var decoder = new PayloadDecoder([]);
        var believer = new Believer();
        var next = Homestead.Sensors.ToDictionary(sensor => sensor, sensor => sensor.NextAfter(Begin));
        List<(string Place, Reading Reading)> readings = [];
        foreach (var scene in Scenes)
        {
            foreach (var sensor in Homestead.Sensors.Where(sensor => next[sensor] == scene.At))
            {
                next[sensor] = sensor.NextAfter(scene.At);
                foreach (var said in sensor.Say(scene))
                {
                    var decoded = (Decoded.Measurements)decoder.Decode(said.Topic, Encoding.UTF8.GetBytes(said.Payload), scene.At);
                    readings.AddRange(believer.JudgeMessage(decoded.Sensor, decoded.Values, scene.At, scene.At - Begin)
                        .Select(reading => (sensor.Place, reading)));
                }
            }
        }

        return readings;
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
