using RootCellar.Advice;
using RootCellar.Household;
using RootCellar.Places;
using RootCellar.Tell;
using RootCellar.Watch;

namespace RootCellar.Tests.Tell;

/// <summary>Every message the program can send: each rule with each way it can be measured, raised, reminded and over.</summary>
internal static class Messages
{
    private static readonly TemplateSet Shipped = new();

    public static readonly DateTimeOffset At = new(2025, 10, 14, 19, 40, 0, TimeSpan.Zero);

    public static readonly Place Curing = new("curing", "Curing room", Purpose.Curing, 30, ["potato"]);
    public static readonly Place Cellar = new("cellar", "Cellar", Purpose.Storage, 60, ["potato"]);

    public static readonly Band Held = new(
        new ClimateBand(30.0 / 9, 65.0 / 9, 90, 95),
        new AlarmLimits(1.1, 10, 80, 100, [new LimitReason(LimitSide.Cold, "potato", 1.1, "USDA AIB 410")],
            [new LimitReason(LimitSide.Wet, "onion", 80, "USDA AIB 410")]),
        -0.8, 10,
        [new BandReason("potato", Purpose.Storage, new ClimateBand(30.0 / 9, 65.0 / 9, 90, 95), "USDA AIB 410")],
        [new BandReason("onion", Purpose.Storage, new ClimateBand(0, 0, 65, 70), "USDA AH-66")],
        []);

    private static readonly (Rule Rule, Measure Measure, double? Value, double? Limit, double? Back, double? Worst)[] Rows =
    [
        (Rule.TooWarm, Measure.Air, 21.7, 140.0 / 9, 15, 23.4),
        (Rule.TooWarm, Measure.Air, 15.6, 140.0 / 9, 15, 15.9),
        (Rule.TooWarm, Measure.Pulp, 18, 140.0 / 9, 15, 18.4),
        (Rule.TooCold, Measure.Air, 2.1, 30.0 / 9, 4, 1.2),
        (Rule.FreezingNear, Measure.Pulp, -0.2, 0, 0.6, -0.9),
        (Rule.FreezingNear, Measure.Air, -3.4, 0, 1, -12),
        (Rule.SensorsDisagree, Measure.AirSpread, 8.3, 2.5, 1.2, 9.1),
        (Rule.SensorsDisagree, Measure.HumiditySpread, 21, 15.75, 6, 24),
        (Rule.TooDry, Measure.Humidity, 78.2, 85, 88.4, 71),
        (Rule.TooWet, Measure.DewMargin, -0.3, 0, 0.6, -1.4),
        (Rule.TooWet, Measure.Humidity, 98.6, 98, 94, 99.2),
        (Rule.TooWet, Measure.Humidity, 82, 70, 66, 85),
        (Rule.LightInTheDark, Measure.Light, 123.4, 10, 0, 15000),
        (Rule.Co2High, Measure.Co2, 6230, 5000, 2980, 12040),
        (Rule.SensorSilent, Measure.None, null, null, null, null),
        (Rule.SensorNotBelievable, Measure.None, null, null, null, null),
        (Rule.PlaceSilent, Measure.None, null, null, null, null),
        (Rule.AllSilent, Measure.None, null, null, null, null),
        (Rule.DiskFull, Measure.DiskFree, 2.8, 3, 12.4, 0.4),
        (Rule.ClockStepped, Measure.Step, -10_860, null, null, null),
    ];

    public static IEnumerable<(AlarmChange Change, Place Place)> All(
        TimeSpan lasted, string sensor = "cellar/bin-4", string detail = "99.9 % flat, as a wet DHT22 shows")
    {
        foreach (var row in Rows)
        {
            foreach (var place in new[] { Curing, Cellar })
            {
                foreach (var tell in new[] { Telling.Raised, Telling.Reminder, Telling.Over })
                {
                    if (row.Rule == Rule.ClockStepped && tell != Telling.Raised)
                        continue;

                    var perSensor = row.Rule is Rule.SensorSilent or Rule.SensorNotBelievable or Rule.SensorsDisagree or Rule.FreezingNear
                        || row.Measure == Measure.DewMargin;
                    var house = row.Rule is Rule.AllSilent or Rule.ClockStepped or Rule.DiskFull;
                    var over = tell == Telling.Over;
                    var alarm = new Alarm(
                        $"{place.Id}-{row.Rule.Slug()}-7", 7, row.Rule, house ? "" : place.Id, perSensor ? sensor : null,
                        row.Rule.Priority(),
                        over ? AlarmState.ReturnedUnacknowledged : AlarmState.Unacknowledged, !over, row.Measure,
                        over ? row.Back : row.Value, row.Limit, row.Worst,
                        At, At - lasted, Detail: row.Rule == Rule.SensorNotBelievable ? detail : null,
                        Other: row.Rule == Rule.SensorsDisagree ? sensor + "-2" : null);
                    yield return (new AlarmChange(null, alarm, tell, lasted), place);
                }
            }
        }
    }

    public static TextRenderer Renderer(TemperatureScale scale = TemperatureScale.Fahrenheit, TemplateSet? templates = null,
        string? page = null) =>
        new(templates ?? Shipped, new RootCellar.Household.HouseholdOptions { TimeZone = "UTC", Temperature = scale == TemperatureScale.Celsius ? "C" : "F" }, page is null ? null : () => new Uri(page));

    public static AlarmChange Change(Rule rule, Telling tell, int minutes) =>
        All(TimeSpan.FromMinutes(minutes)).First(m => m.Change.After.Rule == rule && m.Change.Tell == tell).Change;
}
