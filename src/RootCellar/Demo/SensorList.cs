using System.Text.Json.Nodes;

namespace RootCellar.Demo;

/// <summary>
/// The homestead's six sensors. Steps and typical errors are those of the parts' data sheets (SHT31: 0.01 C, 0.01 %; DHT22:
/// 0.1 C, 0.1 %; DS18B20: 1/16 C; BH1750: 1 lx; SCD41: 1 ppm), from memory; each one's own error is assumed within them.
/// </summary>
internal static class SensorList
{
    private const double PowerOnC = 85;
    private const double WetElementPercent = 99.9;

    private static readonly TimeSpan FiveMinutes = TimeSpan.FromMinutes(5);
    private static readonly TimeSpan TenMinutes = TimeSpan.FromMinutes(10);
    private static readonly TimeSpan CellarOffset = TimeSpan.FromMinutes(2);

    public static IReadOnlyList<SimulatedSensor> All { get; } =
    [
        new(Homestead.CuringRoom, "north-shelf", FiveMinutes, TimeSpan.Zero, 1, NorthShelf),
        new(Homestead.CuringRoom, "bin-probe", TenMinutes, TimeSpan.Zero, 2, BinProbe),
        new(Homestead.Cellar, "back-wall", TenMinutes, CellarOffset, 3, BackWall),
        new(Homestead.Cellar, "bin-3", TenMinutes, CellarOffset, 4, BinThree),
        new(Homestead.Cellar, "door", FiveMinutes, CellarOffset, 5, Door),
        new(Homestead.Outdoors, "porch", TenMinutes, TimeSpan.Zero, 6, Porch),
    ];

    private static List<Said> NorthShelf(SimulatedSensor sensor, Scene scene)
    {
        var room = scene.CuringRoom;
        return
        [
            sensor.Flat(
                ("temperature_c", sensor.Part(scene, 0, room.AirC, 0.05, 0.04, 0.01)),
                ("humidity_pct", Humidity(sensor, scene, 1, room.RelativeHumidityPercent(Homestead.CuringShape), 0.5, 0.25, 0.01)),
                ("rssi_dbm", sensor.Part(scene, 2, -67, 0, 2, 1))),
        ];
    }

    // An older probe with its own small board: numbers in F, one quantity to a topic.
    private static List<Said> BinProbe(SimulatedSensor sensor, Scene scene)
    {
        var celsius = Story.ProbeReset(scene.At, sensor.Every)
            ? PowerOnC : sensor.Part(scene, 0, scene.CuringRoom.PulpC, 0.1, 0.03, 0.0625);
        return
        [
            sensor.Plain("pulp_f", $"{celsius * 1.8 + 32:0.00}"),
            sensor.Plain("battery_v", $"{sensor.Part(scene, 1, Drained(scene, 4.05, 0.006), 0, 0.004, 0.01):0.00}"),
        ];
    }

    private static List<Said> BackWall(SimulatedSensor sensor, Scene scene)
    {
        var room = scene.Cellar;
        JsonArray records =
        [
            new JsonObject
            {
                ["bn"] = "back-wall:",
                ["n"] = "temperature",
                ["u"] = "Cel",
                ["v"] = sensor.Part(scene, 0, room.AirC, -0.1, 0.04, 0.01),
            },
            new JsonObject
            {
                ["n"] = "humidity",
                ["u"] = "%RH",
                ["v"] = Humidity(sensor, scene, 1, room.RelativeHumidityPercent(Homestead.CellarShape), 0.4, 0.25, 0.01),
            },
        ];
        return [new Said(sensor.Topic, records.ToJsonString())];
    }

    private static List<Said> BinThree(SimulatedSensor sensor, Scene scene)
    {
        var room = scene.Cellar;
        return
        [
            sensor.Flat(
                ("temperature_c", sensor.Part(scene, 0, room.AirC, 0.1, 0.08, 0.1)),
                ("humidity_pct", Humidity(sensor, scene, 1, room.RelativeHumidityPercent(Homestead.CellarShape), -0.5, 0.35, 0.1)),
                ("pulp_c", sensor.Part(scene, 2, room.PulpC, 0.05, 0.03, 0.0625)),
                // Stands in the shade of the shelf above.
                ("light_lx", sensor.Part(scene, 3, 0.45 * scene.CellarLightLux, 0, 0.02 * scene.CellarLightLux, 1))),
        ];
    }

    private static List<Said> Door(SimulatedSensor sensor, Scene scene)
    {
        var room = scene.Cellar;
        var humidity = Story.DoorHumidityStuck(scene.At)
            ? WetElementPercent
            : Humidity(sensor, scene, 1, room.RelativeHumidityPercent(Homestead.CellarShape), 0.2, 0.4, 0.1);
        return
        [
            sensor.Flat(
                // The air by the door is a little warmer than at the wall.
                ("temperature_c", sensor.Part(scene, 0, room.AirC, 0.2, 0.08, 0.1)),
                ("humidity_pct", humidity),
                ("light_lx", sensor.Part(scene, 2, scene.CellarLightLux, 0, 0.02 * scene.CellarLightLux, 1)),
                ("co2_ppm", sensor.Part(scene, 3, room.Co2Ppm, 30, 15, 1)),
                ("battery_pct", sensor.Part(scene, 4, Drained(scene, 78, 0.35), 0, 0, 1))),
        ];
    }

    private static List<Said> Porch(SimulatedSensor sensor, Scene scene) =>
    [
        sensor.Flat(
            ("temperature_c", sensor.Part(scene, 0, scene.Outdoor.TemperatureC, 0.1, 0.1, 0.1)),
            ("humidity_pct", Humidity(sensor, scene, 1, scene.Outdoor.RelativeHumidityPercent, 0.5, 0.6, 0.1))),
    ];

    // A whole element reads no higher than this in air that is not saturated; the story's wet one is another matter.
    private static double Humidity(SimulatedSensor sensor, Scene scene, int channel, double truth, double offset, double noise,
        double step) =>
        Math.Min(99.4, sensor.Part(scene, channel, truth, offset, noise, step));

    private static double Drained(Scene scene, double atHistoryEnd, double perDay) =>
        Math.Max(0, atHistoryEnd - perDay * (scene.At - Homestead.HistoryEnd).TotalDays);
}
