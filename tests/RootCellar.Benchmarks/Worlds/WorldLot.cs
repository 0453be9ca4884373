namespace RootCellar.Benchmarks.Worlds;

/// <summary>How a crop loses, all assumed so that losses come out as published ones do (docs/science/worlds.md).</summary>
/// <param name="ADay">Share of the weight lost as water a day at 100 Pa once settled.</param>
/// <param name="BreathAMonth">Share of the weight breathed away in thirty days at 5 C.</param>
internal sealed record TrueCrop(string Id, double ADay, double BreathAMonth, EarlyCurve? Early)
{
    public static readonly TrueCrop Potato = new("potato", 0.00026, 0.001, Early: null);
    public static readonly TrueCrop Carrot = new("carrot", 0.0013, 0.003, new EarlyCurve(1, 5, 0, 1, 0.003));
    public static readonly TrueCrop Onion = new("onion", 0.00035, 0.001, new EarlyCurve(4, 8, 0, 1, 0.003));
}

/// <summary>A lot: dug on one day, cured, and moved as a whole.</summary>
internal sealed class WorldLot
{
    private const double CuringDays = 14;

    // The rate wanders by a tenth, with a memory of 25 days.
    private const double WanderSd = 0.1, WanderDays = 25;

    private readonly WorldPlan plan;
    private readonly double factor;
    private readonly double[] wander = new double[WorldAir.Days + 1];
    private readonly double sproutsAt;
    private readonly bool early;

    public WorldLot(WorldPlan plan, int number, TrueCrop crop, string? variety, double shared, WorldChance chance)
    {
        (this.plan, Crop, Variety) = (plan, crop, variety);
        Name = $"{crop.Id[0]}{number:00}";
        DugStep = ((1 + (number * 4 % 29)) * WorldAir.StepsADay) + (9 * WorldAir.StepsADay / 24);
        MovedStep = crop == TrueCrop.Carrot ? null : DugStep + (int)((CuringDays + 0.25) * WorldAir.StepsADay);
        Store = crop == TrueCrop.Carrot ? WorldAir.North : crop == TrueCrop.Onion || number % 2 == 1 ? WorldAir.South : WorldAir.North;
        double own = plan.HeavyTails ? 0.25 * chance.Student(3) : 0.25 * chance.Bell();
        factor = plan.LotFactors.Count > 0 ? plan.LotFactors[number % plan.LotFactors.Count] * Math.Exp(0.1 * own)
            : Math.Clamp(shared * Math.Exp(own), 0.2, 5);
        double keep = Math.Exp(-1 / WanderDays);
        for (int day = 1; day < wander.Length; day++)
            wander[day] = (keep * wander[day - 1]) + (Math.Sqrt(1 - (keep * keep)) * WanderSd * chance.Bell());
        early = number * 5 % 8 < 8 * plan.SproutingShare;
        sproutsAt = early ? chance.Within(60, 95) : chance.Within(140, 200);
    }

    public string Name { get; }

    public TrueCrop Crop { get; }

    public string? Variety { get; }

    public int DugStep { get; }

    /// <summary>Out of the curing room; null for what goes to its store at once.</summary>
    public int? MovedStep { get; }

    public WorldRoom Store { get; }

    /// <summary>Whether any bin of it is put on the scale.</summary>
    public bool IsWeighed { get; set; }

    public WorldRoom RoomAt(int step) => step < MovedStep ? WorldAir.Curing : Store;

    /// <summary>Share of the weight lost a day, and what of it is breath.</summary>
    /// <param name="deficitPa">Vapour pressure at the produce less that of the air, Pa.</param>
    public double RateADay(int step, double deficitPa, double pulpC)
    {
        double age = (double)(step - DugStep) / WorldAir.StepsADay, day = (double)step / WorldAir.StepsADay;
        var curve = Crop.Early ?? plan.Early;
        // Those that wake in spring come to twice the rate in two months, the early ones to three times in 25 days.
        double sprouts = Crop != TrueCrop.Potato ? 0 : Math.Clamp((age - sproutsAt) / (early ? 25 : 60), 0, 1);
        double times = factor * Math.Exp(wander[(int)day]) * (day >= plan.DoublesFromDay ? 2 : 1);
        double water = Crop.ADay * curve.At(age) * Drive(deficitPa) * (1 + ((early ? 2 : 1) * sprouts));
        double breath = Crop.BreathAMonth / 30 * Math.Pow(1.8, (pulpC - 5) / 10) * (1 + (1.5 * Math.Exp(-age / 15))) * (1 + sprouts);
        return (times * (water + curve.FreeADay(age))) + breath;
    }

    /// <summary>The deficit in units of 100 Pa, bent by the world's law; the three meet at 80 Pa.</summary>
    private double Drive(double deficitPa)
    {
        double straight = Math.Max(0, deficitPa) / 100, bent = Math.Sqrt(0.8 * straight);
        return plan.Law switch { LossLaw.Linear => straight, LossLaw.Root => bent, _ => (straight + bent) / 2 };
    }
}
