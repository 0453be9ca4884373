namespace RootCellar.Benchmarks.Worlds;

/// <summary>How the loss grows with the vapour pressure deficit. All three give the same at 80 Pa.</summary>
internal enum LossLaw
{
    Linear,
    Root,

    /// <summary>Half of each.</summary>
    Mixed,
}

/// <summary>How the loss falls from digging on: what is lost faster at first, and over how many days it falls to a third.</summary>
/// <param name="Quick">Times the settled rate, the quick part.</param>
/// <param name="Slow">The slow part.</param>
/// <param name="Free">Share of the weight that no humidity stops, let go over the quick part's days.</param>
internal sealed record EarlyCurve(double Quick, double QuickDays, double Slow, double SlowDays, double Free)
{
    public static readonly EarlyCurve Usual = new(4, 6, 0, 1, 0.004);

    /// <summary>Half as much again in the first month: one part dries within two days, another closes over weeks.</summary>
    public static readonly EarlyCurve High = new(8, 2, 2.2, 25, 0.008);

    public double At(double ageDays) => 1 + (Quick * Math.Exp(-ageDays / QuickDays)) + (Slow * Math.Exp(-ageDays / SlowDays));

    public double FreeADay(double ageDays) => Free / QuickDays * Math.Exp(-ageDays / QuickDays);
}

/// <summary>A world: what is so in it that a program would have to find out. Every figure is assumed.</summary>
/// <param name="Name">Its name on the command line.</param>
/// <param name="Half">First: may be looked at while something is being built. Second: looked at once, at the end.</param>
/// <param name="What">One line for the table.</param>
internal sealed record WorldPlan(string Name, WorldHalf Half, string What)
{
    public LossLaw Law { get; init; } = LossLaw.Mixed;

    public EarlyCurve Early { get; init; } = EarlyCurve.Usual;

    /// <summary>Multipliers of the lots, taken in turn; empty: drawn.</summary>
    public IReadOnlyList<double> LotFactors { get; init; } = [];

    /// <summary>Lots drawn from Student's t with 3 degrees in place of a normal.</summary>
    public bool HeavyTails { get; init; }

    /// <summary>Day of the season from which all lots lose twice as much.</summary>
    public double DoublesFromDay { get; init; } = double.PositiveInfinity;

    /// <summary>Share of the lots that sprout at 60 to 95 days and then come to three times the rate.</summary>
    public double SproutingShare { get; init; }

    /// <summary>What every humidity sensor reads too high, %.</summary>
    public double ReadsHighPercent { get; init; }

    /// <summary>From this day of the season on the cellars are damp and their sensors stand at 99.5 %.</summary>
    public double SaturatedFromDay { get; init; } = double.PositiveInfinity;

    /// <summary>The most free water at filling, a share of the weight; half of the bins have some.</summary>
    public double FreeWater { get; init; }

    /// <summary>How far an empty crate is from the one weight entered for all, kg, one standard deviation; 0: each was weighed.</summary>
    public double CrateSdKg { get; init; }

    /// <summary>How far the scale's zero wanders, kg, one standard deviation, with a memory of ten days.</summary>
    public double ZeroSdKg { get; init; }

    /// <summary>Steps of half a pound or 0.2 kg, and an error of Student's t with 2.5 degrees.</summary>
    public bool CoarseScale { get; init; }

    /// <summary>Share of the bins out of which 1 to 4 kg are taken once and never written down.</summary>
    public double StolenShare { get; init; }

    /// <summary>Share of the bins that begin to rot at 50 to 120 days.</summary>
    public double RottenShare { get; init; }

    /// <summary>No readings from day 75 to 85, while the air is ten points drier than usual.</summary>
    public bool Silent { get; init; }

    /// <summary>A lot of carrots and one of onions beside the potatoes.</summary>
    public bool OtherCrops { get; init; }
}

internal enum WorldHalf
{
    First,
    Second,
}

/// <summary>All worlds.</summary>
internal static class WorldList
{
    public static readonly IReadOnlyList<WorldPlan> All =
    [
        new("plain", WorldHalf.First, "nothing out of the way"),
        new("linear", WorldHalf.First, "loss in proportion to the deficit; carrots and onions beside it")
            { Law = LossLaw.Linear, OtherCrops = true },
        new("early", WorldHalf.First, "another early curve, half as much again in the first month") { Early = EarlyCurve.High },
        new("far", WorldHalf.First, "lots at 0.4 and 2.5 times the usual loss") { LotFactors = [0.4, 1, 2.5, 1, 0.4, 2.5, 1, 2.5] },
        new("drift", WorldHalf.First, "the loss doubles from day 70") { DoublesFromDay = 70 },
        new("sprouting", WorldHalf.First, "five lots of eight sprout early, three times the rate") { SproutingShare = 0.625 },
        new("high", WorldHalf.First, "every sensor reads 4 % RH high") { ReadsHighPercent = 4 },
        new("crates", WorldHalf.First, "crates of +-0.2 kg, one empty weight entered for all") { CrateSdKg = 0.2 },
        new("stolen", WorldHalf.First, "1 to 4 kg gone from two bins of ten, not written down") { StolenShare = 0.2 },
        new("silent", WorldHalf.First, "ten days without readings, and drier meanwhile") { Silent = true },
        new("root", WorldHalf.Second, "loss by the square root of the deficit") { Law = LossLaw.Root },
        new("tails", WorldHalf.Second, "lots with heavy tails") { HeavyTails = true },
        new("saturated", WorldHalf.Second, "damp cellars, sensors stuck at 99.5 % from day 40") { SaturatedFromDay = 40 },
        new("wet", WorldHalf.Second, "half of the bins filled wet, up to 4 % free water") { FreeWater = 0.04 },
        new("zero", WorldHalf.Second, "the scale's zero wanders by 0.15 kg") { ZeroSdKg = 0.15 },
        new("coarse", WorldHalf.Second, "steps of half a pound or 0.2 kg, errors with heavy tails") { CoarseScale = true },
        new("rot", WorldHalf.Second, "a quarter of the bins rots") { RottenShare = 0.25 },
        new("muddle", WorldHalf.Second, "a little of many; carrots and onions beside it")
        {
            ReadsHighPercent = 2, CrateSdKg = 0.1, ZeroSdKg = 0.05, StolenShare = 0.1, RottenShare = 0.1, SproutingShare = 0.25,
            FreeWater = 0.02, OtherCrops = true,
        },
    ];
}
