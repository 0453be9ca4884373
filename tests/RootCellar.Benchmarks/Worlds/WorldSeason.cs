using System.Text.Json.Nodes;

namespace RootCellar.Benchmarks.Worlds;

/// <summary>Something that was written down.</summary>
/// <param name="Weighing">Of a weigh-in.</param>
internal sealed record WorldEntry(int Step, string Event, JsonObject Fields, WorldWeighing? Weighing = null);

/// <summary>A world from digging to spring: what was so, and what was written down.</summary>
internal sealed class WorldSeason
{
    private const double ScaleSdKg = 0.02, ZeroDays = 10;

    private static readonly string?[] Varieties = ["Kennebec", "Russet Burbank", "Yukon Gold", null];

    // Of forty bins 14 are never weighed (10 of them in lots no bin of which is), 13 three times, 13 seven times.
    private static readonly int[][] Schedules =
        [[0, 7, 3, 7, 3], [0, 7, 3, 7, 3], [0, 7, 3, 7, 3], [0, 7, 3, 7, 3], [7, 3, 7, 3, 3], [7, 3, 7, 3, 7], [0, 0, 0, 0, 0],
            [0, 0, 0, 0, 0]];

    private static readonly int[] Three = [21, 60, 110];
    private static readonly int[] Seven = [7, 20, 35, 55, 80, 110, 145];

    private readonly WorldPlan plan;
    private readonly WorldChance chance;
    private readonly List<WorldBin> bins = [];
    private readonly List<WorldEntry> entries = [];
    private readonly List<(int Step, int N, Action Do)> deeds = [];
    private readonly double[] zeroKg = new double[WorldAir.Days + 1];

    public WorldSeason(WorldPlan plan, int seed, int count)
    {
        (this.plan, chance) = (plan, new WorldChance(seed));
        Air = new WorldAir(plan, chance);
        double keep = Math.Exp(-1 / ZeroDays);
        for (int day = 1; day < zeroKg.Length; day++)
            zeroKg[day] = (keep * zeroKg[day - 1]) + (Math.Sqrt(1 - (keep * keep)) * plan.ZeroSdKg * chance.Bell());
        // What all lots of the house, and what all lots of a variety share.
        double house = 0.15 * chance.Bell();
        double[] varieties = [.. Varieties.Select(_ => 0.15 * chance.Bell())];
        for (int lot = 0; lot * 5 < count; lot++)
        {
            int of = lot % Varieties.Length;
            var there = new WorldLot(plan, lot, TrueCrop.Potato, Varieties[of], Math.Exp(house + varieties[of]), chance);
            Plan(there, Schedules[lot % Schedules.Length].Take(count - (lot * 5)));
        }

        if (plan.OtherCrops)
        {
            Plan(new WorldLot(plan, 40, TrueCrop.Carrot, variety: null, Math.Exp(house), chance), [0, 3, 7, 7]);
            Plan(new WorldLot(plan, 41, TrueCrop.Onion, variety: null, Math.Exp(house), chance), [0, 3, 7, 7]);
        }

        Live();
    }

    public WorldAir Air { get; }

    public IReadOnlyList<WorldBin> Bins => bins;

    /// <summary>In order of time.</summary>
    public IReadOnlyList<WorldEntry> Entries => entries;

    public IEnumerable<WorldWeighing> Weighings => entries.Select(e => e.Weighing).OfType<WorldWeighing>();

    private void Live()
    {
        deeds.Sort(static (a, b) => a.Step != b.Step ? a.Step.CompareTo(b.Step) : a.N.CompareTo(b.N));
        var next = 0;
        for (int step = 0; step < WorldAir.Steps; step++)
        {
            foreach (var bin in bins)
            {
                if (step % WorldAir.StepsADay == 0 && step > bin.Lot.DugStep) bin.AtMidnight[step / WorldAir.StepsADay] = bin.NetKg;
            }

            for (; next < deeds.Count && deeds[next].Step == step; next++) deeds[next].Do();
            foreach (var bin in bins)
            {
                if (step >= bin.Lot.DugStep) bin.Live(Air, step);
            }
        }
    }

    private void Plan(WorldLot lot, IEnumerable<int> schedule)
    {
        var dug = new JsonObject { ["lot"] = lot.Name, ["crop"] = lot.Crop.Id, ["skin"] = "set" };
        if (lot.Variety is not null) dug["variety"] = lot.Variety;
        if (plan.FreeWater > 0) dug["flags"] = new JsonArray("wet-soil");
        On(lot.DugStep, () => entries.Add(new WorldEntry(lot.DugStep, "dug", dug)));
        // The bins of a lot are weighed on the same days.
        int[] three = Days(Three), seven = Days(Seven);
        foreach (int weighings in schedule)
        {
            var bin = new WorldBin(plan, lot, bins.Count(b => b.Lot == lot), weighings, chance);
            bins.Add(bin);
            lot.IsWeighed |= weighings > 0;
            int filled = lot.DugStep + 6;
            On(filled, () => entries.Add(new WorldEntry(filled, "filled", new JsonObject
            {
                ["bin"] = bin.Name,
                ["lot"] = lot.Name,
                ["weightKg"] = Math.Round(Weigh(bin, filled).NetKg, 3),
                ["place"] = lot.RoomAt(filled).Id,
            })));
            if (lot.MovedStep is { } moved)
                On(moved, () => Write(moved, "moved", bin, ("place", lot.Store.Id)));
            foreach (int step in weighings switch { 3 => three, 7 => seven, _ => [] })
            {
                bin.WeighedDays.Add(step / WorldAir.StepsADay);
                On(step, () => WriteWeighing(bin, step));
            }

            int eaten = Step(lot, chance.Within(60, 150)), gone = Step(lot, chance.Within(30, 150));
            double kg = chance.Within(2, 4), stolen = chance.Within(1, 4);
            if (chance.Once(0.15)) On(eaten, () => Eat(bin, eaten, kg));
            if (chance.Once(plan.StolenShare)) On(gone, () => Steal(bin, gone, stolen));
        }

        // Half an hour after a midnight, so that the estimate of that midnight is the one just before.
        int[] Days(int[] ages) =>
            [.. ages.Select(a => (((lot.DugStep / WorldAir.StepsADay) + a + chance.Below(5) - 2) * WorldAir.StepsADay) + 3)];
    }

    private static int Step(WorldLot lot, double age) => lot.DugStep + (int)(age * WorldAir.StepsADay);

    private void On(int step, Action deed) => deeds.Add((step, deeds.Count, deed));

    private void Eat(WorldBin bin, int step, double kg)
    {
        bin.Take(kg);
        Write(step, "eaten", bin, ("weightKg", Math.Round(Math.Round((kg + (ScaleSdKg * chance.Bell())) / 0.05) * 0.05, 3)));
    }

    private void WriteWeighing(WorldBin bin, int step)
    {
        var weighing = Weigh(bin, step);
        var fields = new JsonObject
        {
            ["bin"] = bin.Name,
            ["weightKg"] = Math.Round(weighing.GrossKg, 4),
            ["tareKg"] = Math.Round(weighing.TareKg, 3),
            ["resolutionKg"] = Math.Round(weighing.StepKg, 4),
        };
        entries.Add(new WorldEntry(step, "weighed", fields, weighing));
    }

    private static void Steal(WorldBin bin, int step, double kg)
    {
        bin.Take(kg);
        bin.StolenDay = step / WorldAir.StepsADay;
    }

    private void Write(int step, string what, WorldBin bin, params (string Field, JsonNode Value)[] fields)
    {
        var written = new JsonObject { ["bin"] = bin.Name };
        foreach (var (field, value) in fields) written[field] = value;
        entries.Add(new WorldEntry(step, what, written));
    }

    /// <summary>The bin on the scale. Its crate was weighed empty on the same scale, or one weight stands for all crates.</summary>
    private WorldWeighing Weigh(WorldBin bin, int step)
    {
        double stepKg = !plan.CoarseScale ? 0.05 : bin.Number % 2 == 0 ? 0.2 : 0.2268;
        double noise = plan.CoarseScale ? 2 * ScaleSdKg * chance.Student(2.5) : ScaleSdKg * chance.Bell();
        double gross = bin.NetKg + bin.CrateKg + zeroKg[step / WorldAir.StepsADay] + noise;
        double tare = plan.CrateSdKg > 0 ? 1.8 : Math.Round(bin.CrateKg / 0.05) * 0.05;
        return new WorldWeighing(bin, step, Math.Max(tare, Math.Round(gross / stepKg) * stepKg), tare, stepKg);
    }
}
