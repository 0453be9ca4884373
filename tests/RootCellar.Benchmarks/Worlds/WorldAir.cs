namespace RootCellar.Benchmarks.Worlds;

/// <summary>A room: its purpose, and its means at the beginning and in midwinter.</summary>
internal sealed record WorldRoom(string Id, string Purpose, double FallC, double WinterC, double Percent, double WeatherPercent);

/// <summary>The true air of a world's rooms in steps of ten minutes, and what their sensors say of it. Everything assumed.</summary>
internal sealed class WorldAir
{
    public const int StepsADay = 144;
    public const int Days = 205;
    public const int Steps = Days * StepsADay;

    public static readonly DateTimeOffset Start = new(2024, 9, 2, 0, 0, 0, TimeSpan.Zero);

    public static readonly WorldRoom Curing = new("curing-room", "curing", 15, 12, 89, 1.5);
    public static readonly WorldRoom North = new("north-cellar", "storage", 10, 4.5, 93, 1.2);
    public static readonly WorldRoom South = new("south-cellar", "storage", 11, 5.5, 89, 2);
    public static readonly IReadOnlyList<WorldRoom> Rooms = [Curing, North, South];

    private const double SilentFrom = 75, SilentTo = 85;

    private readonly WorldPlan plan;
    private readonly Dictionary<WorldRoom, (double[] C, double[] Percent)> air = [];
    private readonly Dictionary<WorldRoom, (double C, double Percent)> bias = [];

    public WorldAir(WorldPlan plan, WorldChance chance)
    {
        this.plan = plan;
        foreach (var room in Rooms)
        {
            air.Add(room, True(room, chance));
            // 0.2 C and 1.5 % of one standard deviation, as makers give for good parts; it lasts.
            bias.Add(room, (0.2 * chance.Bell(), (1.5 * chance.Bell()) + plan.ReadsHighPercent));
        }
    }

    public static DateTimeOffset At(int step) => Start.AddMinutes(step * (1440.0 / StepsADay));

    /// <summary>Saturation vapour pressure over water, Pa (Magnus; Alduchov and Eskridge 1996, from memory).</summary>
    public static double SaturationPa(double celsius) => 610.94 * Math.Exp(17.625 * celsius / (celsius + 243.04));

    public double C(WorldRoom room, int step) => air[room].C[step];

    /// <summary>Vapour pressure of the air, Pa.</summary>
    public double VapourPa(WorldRoom room, int step) => SaturationPa(air[room].C[step]) * air[room].Percent[step] / 100;

    /// <summary>What the sensors said, row by row of the file that <c>import</c> takes, up to a day.</summary>
    public void Write(TextWriter csv, WorldChance chance, double untilDay = Days)
    {
        csv.WriteLine("sensor,quantity,at,value,quality,reason");
        foreach (var room in Rooms)
        {
            foreach (bool humid in (bool[])[false, true])
            {
                string what = humid ? "humidity_pct" : "temperature_c";
                int atTop = 0;
                for (int step = 0; step < Steps; step++)
                {
                    double noise = chance.Bell();
                    if (IsSilent(room, step) || step >= untilDay * StepsADay) continue;
                    double value = humid ? Humidity(room, step, noise) : C(room, step) + bias[room].C + (0.05 * noise);
                    atTop = humid && value >= 99.5 ? atTop + 1 : 0;
                    // As the service keeps what stood at the top for twelve hours.
                    string quality = atTop > StepsADay / 2 ? "Saturated,\"at the top for 12 h, likely a wet sensor\"" : "Good,";
                    csv.WriteLine($"{room.Id}/air,{what},{At(step):yyyy-MM-dd'T'HH:mm:sszzz},{value:0.0},{quality}");
                }
            }
        }
    }

    private double Humidity(WorldRoom room, int step, double noise) =>
        IsStuck(room, step) ? 99.5 : Math.Clamp(air[room].Percent[step] + bias[room].Percent + (0.4 * noise), 0, 99.4);

    private bool IsStuck(WorldRoom room, int step) => room != Curing && step >= plan.SaturatedFromDay * StepsADay;

    private bool IsSilent(WorldRoom room, int step) =>
        plan.Silent && room != Curing && step >= SilentFrom * StepsADay && step < SilentTo * StepsADay;

    /// <summary>From a warm fall to midwinter at day 140, with days, and weather of some days' length.</summary>
    private (double[] C, double[] Percent) True(WorldRoom room, WorldChance chance)
    {
        var (c, percent) = (new double[Steps], new double[Steps]);
        double warm = chance.Bell(), damp = chance.Bell();
        double keep = Math.Exp(-1.0 / (1.5 * StepsADay)), push = Math.Sqrt(1 - (keep * keep));
        for (int step = 0; step < Steps; step++)
        {
            double day = (double)step / StepsADay;
            warm = (keep * warm) + (push * chance.Bell());
            damp = (keep * damp) + (push * chance.Bell());
            double winter = (1 - Math.Cos(Math.PI * Math.Min(1, day / 140))) / 2;
            double spring = Math.Max(0, day - 150) / 55;
            double daily = Math.Sin(2 * Math.PI * (day - 0.4));
            c[step] = room.FallC + ((room.WinterC - room.FallC) * winter) + (2 * spring) + (0.3 * daily) + (0.5 * warm);
            double mean = IsStuck(room, step) ? 96 : room.Percent - (IsSilent(room, step) ? 10 : 0);
            percent[step] = Math.Clamp(mean - (0.8 * daily) + (room.WeatherPercent * damp), 30, 99);
        }

        return (c, percent);
    }
}

/// <summary>Chance by a seed.</summary>
internal sealed class WorldChance(int seed)
{
    private readonly Random random = new(seed);

    public double Within(double low, double high) => low + ((high - low) * random.NextDouble());

    public bool Once(double in1) => random.NextDouble() < in1;

    public int Below(int end) => random.Next(end);

    /// <summary>Standard normal (Box and Muller).</summary>
    public double Bell() => Math.Sqrt(-2 * Math.Log(1 - random.NextDouble())) * Math.Cos(2 * Math.PI * random.NextDouble());

    /// <summary>Student's t, of a normal over the root of a mean of squares; half degrees by a part of one more square.</summary>
    public double Student(double degrees)
    {
        double squares = 0;
        for (double left = degrees; left > 0; left--)
        {
            double bell = Bell();
            squares += Math.Min(1, left) * bell * bell;
        }

        return Bell() / Math.Sqrt(squares / degrees);
    }
}
