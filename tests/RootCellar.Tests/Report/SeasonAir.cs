using RootCellar.Science.Air;
using RootCellar.Science.Keeping;
using RootCellar.Tests.Lots;

namespace RootCellar.Tests.Report;

/// <summary>The rooms of a simulated season: their true air, and what their sensors make of it. Everything assumed.</summary>
internal sealed class SeasonAir
{
    public const string Loft = "loft";
    public const string DryCellar = "dry-cellar";

    /// <summary>Hours of a step of the truth; the record has pieces of five minutes.</summary>
    public const double StepHours = 0.25;

    // Bias of a cheap sensor, one standard deviation: 0.2 C and 1.5 % (assumed, of the order makers give); it stays as it is all season.
    private readonly Dictionary<string, (double C, double Percent)> bias;
    private readonly Dictionary<string, LotAir[]> steps = new(StringComparer.Ordinal);
    private readonly DateTimeOffset start;

    public SeasonAir(DateTimeOffset start, DateTimeOffset end, SeasonChance chance)
    {
        this.start = start;
        bias = Places.ToDictionary(p => p, _ => (0.2 * chance.Bell(), 1.5 * chance.Bell()), StringComparer.Ordinal);
        int count = (int)((end - start).TotalHours / StepHours);
        foreach (string place in Places)
            steps[place] = [.. Enumerable.Range(0, count).Select(i => True(place, start.AddHours((i + 0.5) * StepHours)))];
    }

    public static IReadOnlyList<string> Places { get; } = [Cellar.CuringRoom, Cellar.StoreRoom, DryCellar, Loft];

    /// <summary>The true air over step <paramref name="step"/> since the start.</summary>
    public LotAir At(string place, int step) => steps[place][step];

    /// <summary>What the sensor said.</summary>
    public (double C, double Percent) Recorded(string place, DateTimeOffset at)
    {
        var air = True(place, at);
        var (c, percent) = bias[place];
        return (Math.Round(air.TemperatureC + c, 1), Math.Clamp(Math.Round(air.RelativeHumidityPercent + percent, 1), 0, 100));
    }

    /// <summary>For nine days around midwinter nothing was heard from the sensor of the dry cellar.</summary>
    public static DateTimeOffset SilentFrom { get; } = new(2025, 12, 18, 0, 0, 0, TimeSpan.Zero);

    public static DateTimeOffset SilentTo { get; } = SilentFrom.AddDays(9);

    /// <summary>A fall, a winter and a spring: seasons, days, and weather of some days' length.</summary>
    private LotAir True(string place, DateTimeOffset at)
    {
        double day = (at - start).TotalDays;
        double season = Math.Cos(2 * Math.PI * (day - 140) / 365);
        double daily = Math.Sin(2 * Math.PI * (day - 0.4));
        double weather = Math.Sin(2 * Math.PI * day / 6.3) + Math.Sin(2 * Math.PI * day / 11.7);
        return place switch
        {
            DryCellar => new LotAir(7.5 - (4.5 * season) + (0.4 * daily) + (0.5 * weather),
                84 - (4 * season) - (2 * daily) + (2 * weather)),
            Loft => new LotAir(9 - (7 * season) + (2 * daily) + weather, 68 - (3 * season) - (4 * daily) + (3 * weather)),
            Cellar.StoreRoom => new LotAir(7 - (3.5 * season) + (0.3 * daily) + (0.4 * weather), 91 - season - daily + weather),
            _ => new LotAir(14 + (0.8 * daily) + (0.6 * weather), 88 - (2 * daily) + (1.5 * weather)),
        };
    }
}

/// <summary>Chance that is the same on every machine.</summary>
internal sealed class SeasonChance(int seed)
{
    private readonly Random random = new(seed);

    public double Within(double low, double high) => low + ((high - low) * random.NextDouble());

    public bool Once(double in1) => random.NextDouble() < in1;

    /// <summary>Standard normal.</summary>
    public double Bell() => Science.Portable.NormalQuantile(Math.Clamp(random.NextDouble(), 1e-9, 1 - 1e-9));

    /// <summary>A factor about 1 whose 5 to 95 % factor, either way, is given.</summary>
    public double Factor(double factor90) => Math.Exp(Bell() * Math.Log(factor90) / 1.6448536269514722);
}
