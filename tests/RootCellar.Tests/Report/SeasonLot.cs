using System.Text.Json.Nodes;
using RootCellar.Lots;
using RootCellar.Science.Air;
using RootCellar.Science.Crops;
using RootCellar.Science.Keeping;
using RootCellar.Tests.Lots;

namespace RootCellar.Tests.Report;

/// <summary>How often the bins of a lot are put on the scale.</summary>
internal enum WeighedHow
{
    Never,
    Once,
    Monthly,
    Weekly,
}

/// <summary>
/// One lot of a simulated season, followed from digging to spring with figures of its own that the service is not told: how fast it loses
/// water, breathes, heals and wakes, how well its bins were weighed when filled. What the grower writes down is what the scale showed.
/// </summary>
/// <remarks>
/// The truth is drawn as the service assumes the world to be (the 5 to 95 % factors of <see cref="LotPrior"/>, docs/science/scale.md), so
/// that the intervals can be held to their word: whether the assumptions are true of cellars is asked in Published/. Beside them the water
/// loss itself wanders: 12 % (one standard deviation) with a memory of thirty days, which over a hundred days is the 8 % of the loss
/// that <see cref="ScaleBelief"/> takes the fold to be off; and every room's sensor is off by its own constant (<see cref="SeasonAir"/>).
/// </remarks>
internal sealed class SeasonLot
{
    private const double WanderSd = 0.12;
    private const double WanderDays = 30;
    private const double ScaleStepKg = 0.1;
    private const double ScaleSdKg = 0.04;

    // What the entry says a bushel weighs; it does not, by a tenth.
    private const double BushelKg = 25;

    private readonly SeasonAir air;
    private readonly SeasonChance chance;
    private readonly DateTimeOffset start;
    private readonly SortedList<(DateTimeOffset At, int N), Action<DateTimeOffset>> deeds = [];
    private readonly Dictionary<string, Bin> bins = new(StringComparer.Ordinal);
    private readonly LotTraits traits;
    private readonly DateTimeOffset dug;
    private readonly List<(double RestDays, double SproutMm)> growth = [];
    private double restDays;
    private double sproutMm;
    private string place;
    private readonly string? variety;
    private int planned;

    public SeasonLot(int number, SeasonAir air, SeasonChance chance, DateTimeOffset start, DateTimeOffset end, string? variety = null)
    {
        (this.air, this.chance, this.start, this.variety) = (air, chance, start, variety);
        Name = $"L{number:000}";
        Weighed = (WeighedHow)(number % 4);
        Crop = (number / 4 % 5) switch { 3 => "carrot", 4 => "onion", _ => "potato" };
        ByMeasure = number % 11 == 7;
        string skin = Crop != "potato" ? "set" : (number % 7) switch { 0 => "scuffed", 3 => "tender", _ => "set" };
        var prior = LotKnown.Prior(CropTable.Default.Find(Crop)!, variety, skin);
        double rest = prior.Middle().RestDaysAt10C;
        traits = new LotTraits(
            prior.Crop, prior.Skin, prior.Packing, prior.PieceGrams,
            double.IsNaN(rest) ? rest : rest * chance.Factor(prior.Rest!.Factor) * chance.Factor(LotUncertainty.ResponseFactor),
            waterMultiplier: chance.Factor(prior.WaterFactor), breathMultiplier: chance.Factor(prior.BreathFactor),
            healingMultiplier: chance.Factor(WoundHealing.StageFactor));
        dug = start.AddDays(3 + (number * 33 / 200)).AddHours(9);
        place = Crop switch { "onion" => SeasonAir.Loft, "carrot" => Cellar.StoreRoom, _ => Cellar.CuringRoom };
        Plan(skin, end);
    }

    public string Name { get; }

    public string Crop { get; }

    public WeighedHow Weighed { get; }

    public bool ByMeasure { get; }

    /// <summary>What was written down, in order of time.</summary>
    public List<(DateTimeOffset At, JsonObject Event)> Written { get; } = [];

    /// <summary>Truly lost as water and breath in each week since the start, kg.</summary>
    public List<double> LostKg { get; } = [];

    /// <summary>Truly there at the end of each week, kg.</summary>
    public List<double> LeftKg { get; } = [];

    /// <summary>Sprouts truly 5 mm long or more, share of the tubers at the end.</summary>
    public double Sprouted { get; private set; }

    public void Live(DateTimeOffset end)
    {
        var state = LotState.Dug(traits);
        double lost = 0, wander = chance.Bell();
        int step = (int)((dug - start).TotalHours / SeasonAir.StepHours);
        int perDay = (int)(24 / SeasonAir.StepHours), perWeek = 7 * perDay;
        for (int w = 0; w < step / perWeek; w++) Week(0);
        double keep = Math.Exp(-1 / WanderDays);
        for (; start.AddHours(step * SeasonAir.StepHours) < end; step++)
        {
            var at = start.AddHours(step * SeasonAir.StepHours);
            if (step % perDay == 0) growth.Add((restDays, sproutMm));
            while (deeds.Count > 0 && deeds.GetKeyAtIndex(0).At <= at)
            {
                var deed = deeds.GetValueAtIndex(0);
                deeds.RemoveAt(0);
                deed(at);
            }

            var next = state.Advance(air.At(place, step), SeasonAir.StepHours);
            double left = 1 - state.Lost;
            double share = (Math.Exp(WanderSd * wander) * (next.WaterLost - state.WaterLost) / left) + (
                (next.Breathed - state.Breathed) / left);
            foreach (var bin in bins.Values)
            {
                lost += bin.Kg * share;
                bin.Kg *= 1 - share;
            }

            state = next;
            restDays += SeasonAir.StepHours / 24 * Dormancy.TemperatureFactor(state.PulpC);
            sproutMm += SeasonAir.StepHours / 24 * Dormancy.SproutMmPerDay(state.PulpC);
            if ((step + 1) % perDay == 0) wander = (keep * wander) + (Math.Sqrt(1 - (keep * keep)) * chance.Bell());
            if ((step + 1) % perWeek != 0) continue;
            Week(lost);
            lost = 0;
        }

        Sprouted = state.SproutedShare;

        void Week(double kg)
        {
            LostKg.Add(kg);
            LeftKg.Add(bins.Values.Sum(b => b.Kg));
        }
    }

    /// <summary>Length of the sprouts by now of tubers that rest so many days at 10 C.</summary>
    private double Sprouts(double ofRest)
    {
        int i = growth.FindIndex(g => g.RestDays >= ofRest);
        if (i < 0) return 0;
        if (i == 0) return growth[^1].SproutMm;
        var (a, b) = (growth[i - 1], growth[i]);
        return growth[^1].SproutMm - (a.SproutMm + ((b.SproutMm - a.SproutMm) * (ofRest - a.RestDays) / (b.RestDays - a.RestDays)));
    }

    private void Plan(string skin, DateTimeOffset end)
    {
        int count = 1 + (int)chance.Within(0, 3);
        double[] kg = [.. Enumerable.Range(0, count).Select(_ => chance.Within(14, 30))];
        On(dug, at =>
        {
            var written = Write(at, "dug", ("lot", Name), ("crop", Crop), ("skin", skin), ("weightKg", Shown(1.02 * kg.Sum())));
            if (variety is not null) written["variety"] = variety;
        });
        for (int i = 0; i < count; i++)
        {
            string bin = $"{Name}.{i + 1}";
            double truly = kg[i];
            On(dug, at =>
            {
                bins[bin] = new Bin { Kg = truly };
                var written = Write(at, "filled", ("bin", bin), ("lot", Name), ("place", place));
                // A hundredth of a scale in the field, a tenth of a bushel: what the estimate takes them for (LotLearning).
                if (ByMeasure)
                    written["measure"] = new JsonObject
                    {
                        ["unit"] = "bushel",
                        ["kgPerUnit"] = BushelKg,
                        ["amount"] = Math.Round(truly / BushelKg / (1 + (LotLearning.MeasuredShare * chance.Bell())), 2)
                    };
                else
                    written["weightKg"] = Shown(truly * (1 + (LotLearning.WeighedShare * chance.Bell())));
            });
            PlanBin(bin, end);
        }

        if (Crop == "potato")
        {
            string cellar = chance.Once(0.5) ? Cellar.StoreRoom : SeasonAir.DryCellar;
            On(dug.AddDays(14).AddHours(3), at =>
            {
                foreach (string bin in bins.Keys.Order(StringComparer.Ordinal)) Write(at, "moved", ("bin", bin), ("place", cellar));
                place = cellar;
            });
            if (chance.Once(0.5))
            {
                foreach (int day in (int[])[130, 160, 190]) On(start.AddDays(day).AddHours(12), at => Look(at));
            }
        }

        if (chance.Once(0.15)) On(start.AddDays(chance.Within(110, 150)), Sort);
    }

    private void PlanBin(string bin, DateTimeOffset end)
    {
        int every = Weighed switch { WeighedHow.Weekly => 7, WeighedHow.Monthly => 28, _ => 0 };
        if (Weighed == WeighedHow.Once) On(dug.AddDays(30), at => Weigh(bin, at));
        for (int day = every; every > 0 && dug.AddDays(day) < end; day += every) On(dug.AddDays(day), at => Weigh(bin, at));
        if (chance.Once(0.3))
            On(start.AddDays(chance.Within(60, 200)), at => Take(bin, at, chance.Within(0.3, 2), "culled", ("reason", "rot")));
        if (chance.Once(0.3))
        {
            foreach (double day in (double[])[chance.Within(50, 120), chance.Within(121, 200)])
                On(start.AddDays(day), at => Take(bin, at, chance.Within(1, 3), "eaten"));
        }

        // Sold whole: the scale says how much, and nothing is left.
        if (chance.Once(0.15)) On(start.AddDays(chance.Within(80, 190)), at => Take(bin, at, double.MaxValue, "sold", ("empties", true)));
    }

    private void Weigh(string bin, DateTimeOffset at)
    {
        if (bins.TryGetValue(bin, out var there))
            Write(at, "weighed", ("bin", bin), ("weightKg", Shown(there.Kg + (ScaleSdKg * chance.Bell()))), ("resolutionKg", ScaleStepKg));
    }

    private void Take(string bin, DateTimeOffset at, double kg, string what, params (string, JsonNode)[] more)
    {
        if (!bins.TryGetValue(bin, out var there)) return;
        double truly = Math.Min(kg, there.Kg);
        if (truly < 0.2) return;
        there.Kg -= truly;
        if (there.Kg <= 0) bins.Remove(bin);
        Write(at, what, [("bin", bin), ("weightKg", Shown(truly + (ScaleSdKg * chance.Bell()))), .. more]);
    }

    private void Sort(DateTimeOffset at)
    {
        string bin = $"{Name}.1";
        if (!bins.TryGetValue(bin, out var there) || there.Kg < 8) return;
        double away = there.Kg * chance.Within(0.3, 0.6);
        there.Kg -= away;
        bins[$"{Name}.s"] = new Bin { Kg = away };
        Write(at, "sorted", ("bin", bin), ("into", new JsonArray(
            new JsonObject { ["bin"] = bin, ["weightKg"] = Shown(there.Kg + (ScaleSdKg * chance.Bell())) },
            new JsonObject { ["bin"] = $"{Name}.s", ["weightKg"] = Shown(away + (ScaleSdKg * chance.Bell())) })));
        if (Weighed is WeighedHow.Weekly or WeighedHow.Monthly)
        {
            int every = Weighed == WeighedHow.Weekly ? 7 : 28;
            for (int day = every; day < 120; day += every) On(at.AddDays(day), t => Weigh($"{Name}.s", t));
        }
    }

    private void Look(DateTimeOffset at)
    {
        foreach (string bin in bins.Keys.Order(StringComparer.Ordinal))
        {
            double share = SproutBelief.ShareVisible(traits.RestDaysAt10C, Sprouts);
            Write(at, "sprouts-seen", ("bin", bin),
                ("share", share switch { < 0.02 => "none", < 0.25 => "few", < 0.75 => "half", _ => "most" }));
        }
    }

    private void On(DateTimeOffset at, Action<DateTimeOffset> deed) => deeds.Add((at, planned++), deed);

    private JsonObject Write(DateTimeOffset at, string what, params IReadOnlyList<(string Field, JsonNode Value)> fields)
    {
        var written = new JsonObject { ["event"] = what, ["at"] = at.ToString("O") };
        foreach (var (field, value) in fields) written[field] = value;
        Written.Add((at, written));
        return written;
    }

    private static double Shown(double kg) => Math.Round(Math.Max(0, Math.Round(kg / ScaleStepKg) * ScaleStepKg), 1);

    private sealed class Bin
    {
        public double Kg { get; set; }
    }
}
