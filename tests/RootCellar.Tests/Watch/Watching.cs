using RootCellar.Places;
using RootCellar.Watch;

namespace RootCellar.Tests.Watch;

/// <summary>A watchman on fake clocks with a cellar's air, for tests that tell a story minute by minute.</summary>
internal sealed class Watching(WatchOptions? options = null)
{
    /// <summary>Limits of 38-45 F and 90 %, for how alarms live; freezing point -0.8 C (UC Davis).</summary>
    public static readonly Band Potato = Held(new ClimateBand(30.0 / 9, 65.0 / 9, 90, 95), -0.8, 10);

    /// <summary>Kept dry: limits of 32-40 F, 65-70 %.</summary>
    public static readonly Band Onion = Held(new ClimateBand(0, 40.0 / 9, 65, 70), -0.8);

    public static readonly DateTimeOffset Start = new(2025, 10, 4, 6, 0, 0, TimeSpan.Zero);

    private TimeSpan wallOffset;

    public WatchOptions Options { get; } = options ?? new WatchOptions();

    public Watchman Man { get; private set; } = new(options ?? new WatchOptions());

    public TimeSpan Mono { get; private set; }

    public DateTimeOffset Wall => Start + Mono + wallOffset;

    public List<AlarmChange> Changes { get; } = [];

    /// <summary>What was told, "raised too-warm" and so on, since the last call.</summary>
    public string Told
    {
        get
        {
            var told = string.Join(", ", Changes.Where(c => c.Tell != Telling.None).Select(c => $"{c.Tell} {c.After.Rule.Slug()}")
                .Select(s => s.ToLowerInvariant()));
            Changes.Clear();
            return told;
        }
    }

    /// <summary>A band whose edges are the limits: what is judged here is how a limit is kept, not where it stands.</summary>
    public static Band Held(ClimateBand air, double freezingC, double? lux = null) => new(
        air, new AlarmLimits(air.TemperatureLowC, air.TemperatureHighC, air.HumidityLowPercent,
            air.HumidityHighPercent < 90 ? air.HumidityHighPercent : 100, [], []),
        freezingC, lux, [], [], []);

    public static Watching AtOnce() => new(new WatchOptions { OnDelaySeconds = 0, OffDelaySeconds = 0 });

    public static PlaceAir Air(
        double? c = 5, double? rh = 92, double? dew = null, double? pulp = null, double? lux = 0, double? co2 = null,
        string place = "cellar") =>
        new(place, Start, c, rh, dew ?? c - 1.2, null, pulp, pulp, lux, co2, c is null ? AirQuality.None : AirQuality.Good);

    public Watching Wait(double minutes)
    {
        Mono += TimeSpan.FromMinutes(minutes);
        return this;
    }

    public Watching See(PlaceAir air, Band? band = null)
    {
        Changes.AddRange(Man.Observe(air, band ?? Potato, Mono, Wall));
        return this;
    }

    /// <summary>The same air every 5 minutes, with a tick each time, for so long; the first one now.</summary>
    public Watching Hold(PlaceAir air, double minutes, Band? band = null)
    {
        See(air, band).Tick();
        for (var gone = 5.0; gone <= minutes; gone += 5)
            Wait(5).See(air, band).Tick();
        return this;
    }

    public Watching Tick()
    {
        Changes.AddRange(Man.Tick(Mono, Wall));
        return this;
    }

    public Watching Ticks(double minutes)
    {
        for (var gone = 0.0; gone < minutes; gone++)
            Wait(1).Tick();
        return this;
    }

    public Watching Silent(bool? silent, params string[] sensors)
    {
        foreach (var sensor in sensors)
            Man.SensorSilent(sensor, sensor.Split('/')[0], silent, TimeSpan.FromMinutes(3), Mono, Wall);
        return this;
    }

    public Watching StepClock(TimeSpan by)
    {
        wallOffset += by;
        return this;
    }

    public Watching Restart()
    {
        var open = Man.Open;
        Man = new Watchman(Options);
        Mono = TimeSpan.FromSeconds(3);
        wallOffset += TimeSpan.FromHours(1);
        Man.Restore(open, Mono, Wall, open.Count == 0 ? 0 : open[^1].Sequence);
        return this;
    }
}
