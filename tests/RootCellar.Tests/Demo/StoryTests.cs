using RootCellar.Demo;

namespace RootCellar.Tests.Demo;

public class StoryTests(ITestOutputHelper output)
{
    [Fact]
    public void The_days_at_a_glance()
    {
        foreach (var day in StoryTrace.Scenes.GroupBy(scene => DateOnly.FromDateTime(scene.At.ToOffset(Story.LocalOffset).DateTime)))
        {
            output.WriteLine(
                $"{day.Key:MM-dd} out {Range(day, s => s.Outdoor.TemperatureC)} C {Range(day, s => s.Outdoor.RelativeHumidityPercent)} %"
                + $" | curing {Range(day, s => s.CuringRoom.AirC)} C pulp {Range(day, s => s.CuringRoom.PulpC)} {Range(day, StoryTrace.CuringHumidity)} %"
                + $" | cellar {Range(day, s => s.Cellar.AirC)} C pulp {Range(day, s => s.Cellar.PulpC)} {Range(day, StoryTrace.CellarHumidity)} % CO2 {Range(day, s => s.Cellar.Co2Ppm)}");
        }

        static string Range(IEnumerable<Scene> day, Func<Scene, double> figure) => $"{day.Min(figure):0.0}..{day.Max(figure):0.0}";
    }
}
