using RootCellar.Advice;
using RootCellar.Demo;
using RootCellar.Monitoring;
using RootCellar.Readings;
using RootCellar.Science.Air;
using RootCellar.Watch;

namespace RootCellar.Tests.Demo;

public class StoryTests(ITestOutputHelper output)
{
    private const double CuringLowC = 10;
    private const double CuringHighC = 140 / 9.0;
    private const double CellarLowC = 30 / 9.0;
    private const double CellarHighC = 65 / 9.0;

    private static readonly int[] DrySpell = [-9, -8, -7, -6];

    [Fact]
    public void On_quiet_days_both_rooms_keep_inside_their_bands()
    {
        foreach (var day in Days(StoryTrace.Scenes))
            output.WriteLine(Line(day));

        var history = StoryTrace.Scenes.Where(scene => scene.At <= Homestead.HistoryEnd).ToList();
        var quiet = history.Where(scene => !DrySpell.Contains(DayOf(scene))).ToList();
        Outside(quiet, scene => scene.CuringRoom.AirC, CuringLowC, CuringHighC).Should().BeEmpty();
        Outside(quiet, StoryTrace.CuringHumidity, 85, 95).Should().BeEmpty();
        Outside(history, scene => scene.Cellar.AirC, CellarLowC, CellarHighC).Should().BeEmpty();
        Outside(history, StoryTrace.CellarHumidity, 90, 95.5).Should()
            .BeEmpty("half a per cent above 95 is let pass for the dry spell's cold nights");
    }

    [Fact]
    public void The_dry_spell_takes_the_curing_room_below_85_percent_for_most_of_three_days()
    {
        var dry = StoryTrace.Scenes.Where(scene => scene.At <= Homestead.HistoryEnd && StoryTrace.CuringHumidity(scene) < 85).ToList();
        output.WriteLine($"{dry.Count / 60.0:0.0} h, {dry[0].At:MM-dd HH:mm} to {dry[^1].At:MM-dd HH:mm} UTC, lowest {dry.Min(StoryTrace.CuringHumidity):0.0} %");
        dry.Select(DayOf).Distinct().Should().BeSubsetOf(DrySpell);
        (dry.Count / 60.0).Should().BeInRange(36, 84);
    }

    [Fact]
    public void The_hot_afternoon_begins_one_to_two_hours_after_history_and_is_over_before_midnight()
    {
        var after = StoryTrace.Scenes.Where(scene => scene.At > Homestead.HistoryEnd).ToList();
        var hot = after.Where(scene => scene.CuringRoom.AirC > CuringHighC).ToList();
        var peak = hot.MaxBy(scene => scene.CuringRoom.AirC)!;
        output.WriteLine($"above 60 F {Local(hot[0])} to {Local(hot[^1])}, peak {peak.CuringRoom.AirC * 1.8 + 32:0.0} F at {Local(peak)}");
        (hot[0].At - Homestead.HistoryEnd).TotalHours.Should().BeInRange(0.5, 2);
        (hot[^1].At - hot[0].At).TotalHours.Should().BeInRange(4, 10);
        hot.Should().HaveCount((int)(hot[^1].At - hot[0].At).TotalMinutes + 1, "it goes above once and comes back once");
        (peak.CuringRoom.AirC * 1.8 + 32).Should().BeInRange(69, 74);
        hot[^1].At.Should().BeBefore(Story.At(1, 0));
    }

    [Fact]
    public void Nothing_a_sensor_says_is_doubted_except_where_the_story_lets_it_fail()
    {
        var doubted = StoryTrace.Readings.Select(said => said.Reading).Where(reading => !reading.IsGood).ToList();
        output.WriteLine(string.Join('\n', doubted.CountBy(reading => (reading.Sensor, reading.Quantity, reading.Quality))));
        doubted.CountBy(reading => (reading.Sensor, reading.Quantity, reading.Quality)).Should()
            .BeEquivalentTo(new Dictionary<(string, Quantity, Quality), int>
            {
                [("curing-room/bin-probe", Quantity.Pulp, Quality.KnownFault)] = 4,
                // Four days and a half, every 5 minutes, less the first 12 hours in which 99.9 % might yet be true.
                [("cellar/door", Quantity.Humidity, Quality.Saturated)] = 4 * 288,
            });
    }

    /// <summary>
    /// Judged as the service does by default: medians of believed sensors every 5 minutes, 0.5 C and 3 %, 20 minutes on, 15 off.
    /// </summary>
    [Fact]
    public void History_rings_a_handful_of_times_and_the_hot_afternoon_rings_and_ends()
    {
        var events = Judge();
        foreach (var e in events)
            output.WriteLine($"{e.At.ToOffset(Story.LocalOffset):MM-dd HH:mm} {e.What} {e.Step}");

        events.Where(e => e.At <= Homestead.HistoryEnd && e.Step == LimitStep.Raised).Select(e => e.What)
            .Should().Equal("curing-room dry", "cellar light");

        var warm = events.Where(e => e.What == "curing-room warm").ToList();
        warm.Select(e => e.Step).Should().Equal(LimitStep.Raised, LimitStep.Returned);
        (warm[0].At - Homestead.HistoryEnd).TotalHours.Should().BeInRange(0.75, 2.5);
        warm[1].At.Should().BeBefore(Story.At(1, 1));
        events.Select(e => e.What).Distinct().Should().BeSubsetOf(["curing-room dry", "cellar light", "curing-room warm"]);
    }

    private static List<(DateTimeOffset At, string What, LimitStep Step)> Judge()
    {
        var (on, off) = (TimeSpan.FromMinutes(20), TimeSpan.FromMinutes(15));
        (string Place, string Name, Limit Limit, double At, Func<Func<Quantity, double?>, double?> Figure)[] limits =
        [
            ("curing-room", "warm", new(Side.Above, 0.5, on, off), CuringHighC, of => of(Quantity.Temperature)),
            ("curing-room", "cold", new(Side.Below, 0.5, on, off), CuringLowC, of => of(Quantity.Temperature)),
            ("curing-room", "dry", new(Side.Below, 3, on, off), 85, of => of(Quantity.Humidity)),
            ("curing-room", "dew", new(Side.Below, 0.5, on, off), 0, Margin),
            ("cellar", "warm", new(Side.Above, 0.5, on, off), CellarHighC, of => of(Quantity.Temperature)),
            ("cellar", "cold", new(Side.Below, 0.5, on, off), CellarLowC, of => of(Quantity.Temperature)),
            ("cellar", "dry", new(Side.Below, 3, on, off), 90, of => of(Quantity.Humidity)),
            ("cellar", "dew", new(Side.Below, 0.5, on, off), 0, Margin),
            ("cellar", "light", new(Side.Above, 2, on, off), 10, of => of(Quantity.Light)),
        ];

        Dictionary<(string Place, string Sensor, Quantity Quantity), double> latest = [];
        List<(DateTimeOffset, string, LimitStep)> events = [];
        var heard = 0;
        for (var at = StoryTrace.Begin.AddMinutes(15); at <= StoryTrace.End; at += TimeSpan.FromMinutes(5))
        {
            for (; heard < StoryTrace.Readings.Count && StoryTrace.Readings[heard].Reading.At <= at; heard++)
                Take(StoryTrace.Readings[heard]);
            foreach (var (place, name, limit, bound, figure) in limits)
            {
                var step = limit.Observe(figure(quantity => Median(place, quantity)), bound, at - StoryTrace.Begin);
                if (step != LimitStep.None)
                    events.Add((at, $"{place} {name}", step));
            }
        }

        return events;

        void Take((string Place, Reading Reading) said)
        {
            var key = (said.Place, said.Reading.Sensor, said.Reading.Quantity);
            if (said.Reading.IsGood)
                latest[key] = said.Reading.Value;
            else if (said.Reading.Quality == Quality.Saturated)
                latest.Remove(key);
        }

        double? Median(string place, Quantity quantity)
        {
            var values = latest.Where(pair => pair.Key.Place == place && pair.Key.Quantity == quantity).Select(pair => pair.Value).Order()
                .ToArray();
            return values.Length == 0 ? null : (values[(values.Length - 1) / 2] + values[values.Length / 2]) / 2;
        }

        static double? Margin(Func<Quantity, double?> of) =>
            of(Quantity.Temperature) is { } t && of(Quantity.Humidity) is { } rh
                ? of(Quantity.Pulp) - MoistAir.DewPointC(MoistAir.VapourPressurePa(t, rh)) : null;
    }

    private static IEnumerable<IGrouping<int, Scene>> Days(IEnumerable<Scene> scenes) => scenes.GroupBy(DayOf);

    private static int DayOf(Scene scene) => (int)Math.Floor((scene.At - Story.At(0, 0)).TotalDays);

    private static List<string> Outside(List<Scene> scenes, Func<Scene, double> figure, double low, double high) =>
        [.. scenes.Where(scene => figure(scene) < low || figure(scene) > high)
            .Select(scene => $"{scene.At:MM-dd HH:mm}Z {figure(scene):0.00}").Take(5)];

    private static string Local(Scene scene) => $"{scene.At.ToOffset(Story.LocalOffset):HH:mm}";

    private static string Line(IGrouping<int, Scene> day)
    {
        return $"day {day.Key} out {Range(s => s.Outdoor.TemperatureC)} C {Range(s => s.Outdoor.RelativeHumidityPercent)} %"
            + $" | curing {Range(s => s.CuringRoom.AirC)} C pulp {Range(s => s.CuringRoom.PulpC)} {Range(StoryTrace.CuringHumidity)} %"
            + $" | cellar {Range(s => s.Cellar.AirC)} C pulp {Range(s => s.Cellar.PulpC)} {Range(StoryTrace.CellarHumidity)} % CO2 {Range(s => s.Cellar.Co2Ppm)}";

        string Range(Func<Scene, double> figure) => $"{day.Min(figure):0.0}..{day.Max(figure):0.0}";
    }
}
