using RootCellar.Science.Crops;

namespace RootCellar.Science.Keeping;

/// <summary>
/// What a lot is, as far as its keeping goes: never changes while it is stored. The multipliers stand for what is not known of
/// it; 1 is the middle. Learning changes them by starting the fold anew with other traits.
/// </summary>
public sealed class LotTraits
{
    /// <summary>Lowest temperature the respiration table covers, C.</summary>
    internal const double LowestC = -5;

    private const double StepC = 0.5;

    private readonly double[] _breath = new double[101];

    /// <summary>Traits of a crop.</summary>
    /// <param name="crop">The crop.</param>
    /// <param name="skin">The skin it came in with; matters for potatoes.</param>
    /// <param name="packing">How it stands.</param>
    /// <param name="pieceGrams">Mean weight of a potato, g, 20 to 1,000; NaN where not known.</param>
    /// <param name="restDaysAt10C">Days of rest at 10 C of a potato lot (<see cref="Dormancy.RestDaysAt10C"/>); NaN for a crop whose
    /// dormancy is not followed.</param>
    /// <param name="restQ10">Temperature response of the rest.</param>
    /// <param name="sproutMmPerDegreeDay">Lengthening of sprouts, mm per C and day.</param>
    /// <param name="waterMultiplier">Water loss against the middle of what is published.</param>
    /// <param name="breathMultiplier">Breath against the middle of what is published.</param>
    /// <param name="healingMultiplier">Days to each healing stage against the middle of what is published.</param>
    /// <exception cref="ArgumentOutOfRangeException">A multiplier that is not above 0, or a weight outside its range.</exception>
    public LotTraits(
        Crop crop,
        SkinState skin = SkinState.Set,
        Packing packing = Packing.Crate,
        double pieceGrams = double.NaN,
        double restDaysAt10C = double.NaN,
        double restQ10 = Dormancy.Q10,
        double sproutMmPerDegreeDay = Dormancy.SproutMmPerDegreeDay,
        double waterMultiplier = 1,
        double breathMultiplier = 1,
        double healingMultiplier = 1)
    {
        ArgumentNullException.ThrowIfNull(crop);
        if (!double.IsNaN(restDaysAt10C))
            Air.Require.Within(restDaysAt10C, 1e-3, 1e5, nameof(restDaysAt10C));
        Air.Require.Within(restQ10, 1, 10, nameof(restQ10));
        Air.Require.Within(sproutMmPerDegreeDay, 1e-4, 10, nameof(sproutMmPerDegreeDay));
        Positive(waterMultiplier, nameof(waterMultiplier));
        Positive(breathMultiplier, nameof(breathMultiplier));
        Positive(healingMultiplier, nameof(healingMultiplier));
        if (!double.IsNaN(pieceGrams))
            Air.Require.Within(pieceGrams, 20, 1000, nameof(pieceGrams));
        Crop = crop;
        Skin = skin;
        Packing = packing;
        PieceGrams = pieceGrams;
        Rule = Curing.RuleOf(crop);
        IsPotato = Rule == CuringRule.Potato;
        var packed = PackingTraits.Of(packing);
        LagHours = packed.LagHours;
        WarmerC = packed.WarmerC;
        RegainedC = packed.RegainedC;
        RestDaysAt10C = restDaysAt10C;
        LogRestQ10 = Portable.Log(restQ10);
        SproutMmPerDegreeDay = sproutMmPerDegreeDay;
        HealingMultiplier = healingMultiplier;
        VapourPressureLowering = crop.VapourPressureLowering.Value;
        WaterShare = (crop.Thermal?.WaterPercent ?? 90) / 100;
        ChillingBelowC = crop.ChillingBelowC ?? double.NegativeInfinity;
        FreezingBelowC = crop.FreezingPointC;

        double closed = crop.Transpiration.Value;
        double fresh = closed;
        double early = 0;
        if (crop.Early is { } first)
        {
            fresh = first.FreshCoefficient ?? closed;
            early = first.Percent;
            if (first.CuringDays is { } curing) HealingScaleDays = curing * healingMultiplier;
            AgeScaleDays = first.Days;
        }

        if (IsPotato)
        {
            double size = double.IsNaN(pieceGrams) ? 1 : WaterLoss.SizeFactor(pieceGrams);
            double coupling = packing == Packing.SingleLayer ? 1 : WaterLoss.PotatoPackedCoupling;
            fresh = fresh * (skin == SkinState.Tender ? WaterLoss.TenderFactor : 1) * size * coupling;
            closed *= size * coupling;
            early += skin switch
            {
                SkinState.Scuffed or SkinState.Tender => WaterLoss.ScuffedPercent,
                SkinState.Cut => WaterLoss.CutPercent,
                _ => 0,
            };
            Exponent = WaterLoss.PotatoExponent;
        }
        else
        {
            // Dry scales are skin as a potato's is: stores of 60 to 70 % take far less than in proportion (3.3 % a month, 2 to 5, in warm
            // stores: Msika and Jackson 1997; a plain law would have 12). Assumed as potatoes.
            if (Rule == CuringRule.Drying) Exponent = WaterLoss.PotatoExponent;
            closed *= WaterLoss.BinAirCoupling(closed, packed.AirConductance);
            fresh *= WaterLoss.BinAirCoupling(fresh, packed.AirConductance);
        }

        const double perHour = 3600e-12;
        ClosedPerHourPa = closed * perHour * waterMultiplier;
        OpenPerHourPa = Math.Max(0, fresh - closed) * perHour * waterMultiplier;
        EarlyShare = early / 100 * waterMultiplier;
        for (int i = 0; i < _breath.Length; i++)
            _breath[i] = Breath.LossPerHour(crop.Respiration.At(LowestC + StepC * i)) * breathMultiplier;
    }

    /// <summary>The crop.</summary>
    public Crop Crop { get; }

    /// <summary>The skin it came in with.</summary>
    public SkinState Skin { get; }

    /// <summary>How it stands.</summary>
    public Packing Packing { get; }

    /// <summary>Mean weight of a potato, g; NaN where not known.</summary>
    public double PieceGrams { get; }

    /// <summary>The rule it cures by.</summary>
    public CuringRule Rule { get; }

    /// <summary>Whether it greens, sprouts and breathes as a potato.</summary>
    public bool IsPotato { get; }

    /// <summary>Days of rest at 10 C; NaN where dormancy is not followed.</summary>
    public double RestDaysAt10C { get; }

    /// <summary>Lengthening of sprouts, mm per C and day.</summary>
    public double SproutMmPerDegreeDay { get; }

    /// <summary>Days to each healing stage against the middle of what is published.</summary>
    public double HealingMultiplier { get; }

    internal double LogRestQ10 { get; }

    internal double LagHours { get; }

    internal double WarmerC { get; }

    internal double RegainedC { get; }

    internal double VapourPressureLowering { get; }

    /// <summary>Water it holds, share of its weight (90 % where the table has none, assumed).</summary>
    internal double WaterShare { get; }

    internal double ChillingBelowC { get; }

    internal double SweetEdgeC => Skin == SkinState.Tender ? Sweetening.TenderEdgeC : Sweetening.EdgeC;

    internal double FreezingBelowC { get; }

    /// <summary>How its water loss goes with the deficit: as its power of this.</summary>
    public double Exponent { get; } = 1;

    internal double HealingScaleDays { get; } = double.PositiveInfinity;

    internal double AgeScaleDays { get; } = double.PositiveInfinity;

    /// <summary>Share of the weight per hour and Pa of drive through closed skin.</summary>
    internal double ClosedPerHourPa { get; }

    /// <summary>What an open skin adds to <see cref="ClosedPerHourPa"/>.</summary>
    internal double OpenPerHourPa { get; }

    /// <summary>Early loss no humidity stops, as a share of the weight.</summary>
    internal double EarlyShare { get; }

    /// <summary>Share of the weight breathed away per hour when rested, at a pulp temperature from -5 to 45 C (held at the ends).</summary>
    internal double BreathPerHour(double pulpC)
    {
        // Every published point lies on a multiple of the step, so this is the table's own straight line.
        double at = Math.Clamp((pulpC - LowestC) / StepC, 0, _breath.Length - 1);
        int i = Math.Min((int)at, _breath.Length - 2);
        return _breath[i] + (at - i) * (_breath[i + 1] - _breath[i]);
    }

    private static void Positive(double value, string name)
    {
        if (!(value > 0 && value < 1000))
            throw new ArgumentOutOfRangeException(name, value, "A multiplier must be above 0 and below 1,000.");
    }
}
