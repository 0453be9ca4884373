using RootCellar.Demo;

namespace RootCellar.Tests.Demo;

/// <summary>The whole story without a network: every minute's truth and every sensor's words, computed once.</summary>
internal static class StoryTrace
{
    public static DateTimeOffset Begin { get; } = Homestead.HistoryEnd - TimeSpan.FromDays(12);

    public static IReadOnlyList<Scene> Scenes { get; } = Compute();

    public static double CuringHumidity(Scene scene) => scene.CuringRoom.RelativeHumidityPercent(Homestead.CuringShape);

    public static double CellarHumidity(Scene scene) => scene.Cellar.RelativeHumidityPercent(Homestead.CellarShape);

    private static List<Scene> Compute()
    {
        var world = new World(Begin);
        List<Scene> scenes = [];
        for (var at = Begin; at <= Homestead.HistoryEnd + TimeSpan.FromDays(2); at += TimeSpan.FromMinutes(1))
            scenes.Add(world.AdvanceTo(at));
        return scenes;
    }
}
