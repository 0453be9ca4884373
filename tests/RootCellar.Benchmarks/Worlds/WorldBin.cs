namespace RootCellar.Benchmarks.Worlds;

/// <summary>A weigh-in as it was written down.</summary>
internal sealed record WorldWeighing(WorldBin Bin, int Step, double GrossKg, double TareKg, double StepKg)
{
    public double NetKg => GrossKg - TareKg;

    public int Day => Step / WorldAir.StepsADay;
}

/// <summary>A bin: what is truly in it, from filling to spring.</summary>
internal sealed class WorldBin
{
    // A crate follows the air within 18 hours, and is kept 0.2 C warmer by its own breath.
    private const double PulpDays = 0.75, OwnC = 0.2;

    private const double RotDoublesDays = 8, RotFirst = 0.0005, RotMost = 0.01;

    private readonly double factor;
    private readonly double rotsAt;
    private double pulpC = 15;
    private double produceKg;
    private double freeWaterKg;

    public WorldBin(WorldPlan plan, WorldLot lot, int number, int weighings, WorldChance chance)
    {
        (Lot, Number, Weighings) = (lot, number, weighings);
        Name = $"{lot.Name}.{number + 1}";
        produceKg = chance.Within(17, 27);
        factor = Math.Exp(0.08 * chance.Bell());
        double water = chance.Within(0.25, 1) * plan.FreeWater * produceKg;
        if (chance.Once(0.5)) freeWaterKg = water;
        CrateKg = plan.CrateSdKg > 0 ? Math.Max(0.8, 1.8 + (plan.CrateSdKg * chance.Bell())) : chance.Within(1.5, 2.1);
        double begins = chance.Within(50, 120);
        rotsAt = chance.Once(plan.RottenShare) ? begins : double.PositiveInfinity;
    }

    public WorldLot Lot { get; }

    public int Number { get; }

    public string Name { get; }

    /// <summary>How often it is put on the scale.</summary>
    public int Weighings { get; }

    public double CrateKg { get; }

    /// <summary>What a perfect scale would show without the crate: produce, its sprouts and the water on it.</summary>
    public double NetKg => produceKg + freeWaterKg;

    /// <summary>Net weight at each midnight; not a number before it was filled.</summary>
    public double[] AtMidnight { get; } = [.. Enumerable.Repeat(double.NaN, WorldAir.Days)];

    public List<int> WeighedDays { get; } = [];

    /// <summary>The day some was taken out that nobody wrote down.</summary>
    public int? StolenDay { get; set; }

    /// <summary>Whether some was taken out of it unseen, and it was not weighed since: nobody can know.</summary>
    public bool IsUnknowable(int day) => StolenDay < day && !WeighedDays.Exists(d => d > StolenDay && d < day);

    public void Live(WorldAir air, int step)
    {
        const double days = 1.0 / WorldAir.StepsADay;
        var room = Lot.RoomAt(step);
        pulpC += (air.C(room, step) + OwnC - pulpC) * days / PulpDays;
        double age = (step - Lot.DugStep) * days;
        double rot = age < rotsAt ? 0 : Math.Min(RotMost, RotFirst * Math.Pow(2, (age - rotsAt) / RotDoublesDays));
        double rate = Lot.RateADay(step, WorldAir.SaturationPa(pulpC) - air.VapourPa(room, step), pulpC);
        produceKg *= 1 - (days * ((factor * rate) + rot));
        freeWaterKg *= 1 - (days / 3);
    }

    public void Take(double kg)
    {
        double share = 1 - (kg / NetKg);
        (produceKg, freeWaterKg) = (produceKg * share, freeWaterKg * share);
    }
}
