using RootCellar.Science.Air;
using RootCellar.Science.Crops;

namespace RootCellar.Science.Keeping;

/// <summary>What is known of how long a potato lot rests.</summary>
/// <param name="SproutedAfterDays">Days from digging until 80 % of the tubers have a sprout of 5 mm.</param>
/// <param name="HeldAtC">The temperature its store was held at, C, 2.5 to 30; the tubers are taken a little warmer, as packed
/// (<see cref="PackingTraits.WarmerC"/>).</param>
/// <param name="Factor">The 5 to 95 % factor about the days, either way; 1.25 from season to season even where the variety is
/// known.</param>
/// <param name="CuredFirst">Whether the days hold curing of 14 d at 12.8 C and cooling by 0.5 F a day (Univ. Idaho protocol) before the
/// holding.</param>
public sealed record RestPrior(double SproutedAfterDays, double HeldAtC, double Factor = 1.25, bool CuredFirst = false)
{
    /// <summary>
    /// A potato nothing is known of: 120 d at 7.2 C (75 to 175), assumed from the published varieties. Maturity class does not
    /// tell it (<see cref="Dormancy"/>).
    /// </summary>
    public static RestPrior Unknown { get; } = new(120, 7.2, 1.53, CuredFirst: true);

    /// <summary>What is published of a variety. Its days are Univ. Idaho's, curing and cooling counted.</summary>
    public static RestPrior Of(Variety variety)
    {
        ArgumentNullException.ThrowIfNull(variety);
        var known = variety.Dormancy;
        return new RestPrior(known.DaysAt, known.TemperatureC, Math.Sqrt(known.HighDays / known.LowDays), CuredFirst: true);
    }

    internal double RestDaysAt10C(double q10, double mmPerDegreeDay, double warmerC)
    {
        double heldAtC = Math.Clamp(HeldAtC + warmerC, 2.5, 31);
        if (!CuredFirst)
            return Dormancy.RestDaysAt10C(SproutedAfterDays, heldAtC, q10, mmPerDegreeDay);
        // The lengthening falls into the holding: what comes before it is rest, day by day.
        double restEnds = Dormancy.RestDays(SproutedAfterDays, heldAtC, mmPerDegreeDay);
        double used = 0;
        for (double day = 0; day < restEnds; day++)
        {
            double at = Math.Max(heldAtC, 12.8 + warmerC - Math.Max(0, day + 0.5 - 14) * 0.5 * 5 / 9);
            used += Math.Min(1, restEnds - day) * Dormancy.TemperatureFactor(at, q10);
        }

        return Math.Max(1, used);
    }
}

/// <summary>
/// A lot as far as it is known, from which members are made: one with every figure in its middle, and sixty-four that
/// between them span what is not known. Quantiles, not random draws: the same members every time.
/// </summary>
public sealed record LotPrior
{
    /// <summary>How many members span what is not known.</summary>
    public const int Members = 64;

    // Steps through the quantiles, one per unknown, all odd, so that each walks through every one of the 64 once; chosen so
    // that no two unknowns go hand in hand (tested).
    private static readonly int[] Steps = [1, 59, 37, 53, 21, 29];

    /// <summary>The crop.</summary>
    public required Crop Crop { get; init; }

    /// <summary>The skin it came in with.</summary>
    public SkinState Skin { get; init; }

    /// <summary>How it stands.</summary>
    public Packing Packing { get; init; } = Packing.Crate;

    /// <summary>Mean weight of a potato, g; NaN where not known.</summary>
    public double PieceGrams { get; init; } = double.NaN;

    /// <summary>How long it rests; null for a crop whose dormancy is not followed.</summary>
    public RestPrior? Rest { get; init; }

    /// <summary>The middle of its water-loss multiplier: 1, or what its weigh-ins have taught.</summary>
    public double WaterMultiplier { get; init; } = 1;

    /// <summary>The 5 to 95 % factor about <see cref="WaterMultiplier"/>, either way.</summary>
    public double WaterFactor { get; init; } = WaterLoss.UnknownLotFactor;

    /// <summary>The 5 to 95 % factor about its breath, either way: published rows for one state lie within it (assumed).</summary>
    public double BreathFactor { get; init; } = 1.4;

    /// <summary>A lot of a crop with what is known by default: an unknown potato rests as <see cref="RestPrior.Unknown"/>.</summary>
    public static LotPrior Of(Crop crop)
    {
        ArgumentNullException.ThrowIfNull(crop);
        bool potato = Curing.RuleOf(crop) == CuringRule.Potato;
        return new LotPrior
        {
            Crop = crop,
            Rest = potato ? RestPrior.Unknown : null,
            WaterFactor = crop.Spread.Value,
        };
    }

    /// <summary>The lot with every figure in its middle.</summary>
    public LotTraits Middle() => Traits(0, 0, 0, 0, 0, 0);

    /// <summary>One of the <see cref="Members"/>.</summary>
    /// <param name="index">0 to 63.</param>
    public LotTraits Member(int index)
    {
        Require.Within(index, 0, Members - 1, nameof(index));
        return Traits(Z(index, 0), Z(index, 1), Z(index, 2), Z(index, 3), Z(index, 4), Z(index, 5));
    }

    internal static double Z(int index, int unknown) =>
        Portable.NormalQuantile(((index * Steps[unknown] + 7 * unknown) % Members + 0.5) / Members);

    private LotTraits Traits(double water, double breath, double healing, double rest, double response, double lengthening)
    {
        double q10 = Spread(Dormancy.Q10, Dormancy.Q10Factor, response);
        double mmPerDegreeDay = Spread(Dormancy.SproutMmPerDegreeDay, 1.6, lengthening);
        return new LotTraits(
            Crop,
            Skin,
            Packing,
            PieceGrams,
            Rest is null ? double.NaN
                : Spread(Rest.RestDaysAt10C(q10, mmPerDegreeDay, PackingTraits.Of(Packing).WarmerC), Rest.Factor, rest),
            q10,
            mmPerDegreeDay,
            Spread(WaterMultiplier, WaterFactor, water),
            Spread(1, BreathFactor, breath),
            Spread(1, WoundHealing.StageFactor, healing));
    }

    /// <summary>A lognormal figure: its middle, its 5 to 95 % factor, and where in the spread, in standard deviations.</summary>
    private static double Spread(double middle, double factor90, double z) =>
        middle * Portable.Exp(z * Portable.Log(factor90) / 1.6448536269514722);
}
