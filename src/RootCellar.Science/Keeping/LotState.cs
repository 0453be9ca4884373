using RootCellar.Science.Air;

namespace RootCellar.Science.Keeping;

/// <summary>
/// What the air has done to a lot so far. A pure function of the traits it started with and the air since: no clock, no chance,
/// the same bits on every machine (<see cref="Portable"/>). Shares are of the weight it was dug at.
/// </summary>
public readonly record struct LotState
{
    // A step longer than this is taken in equal parts, so that 5 minutes and 6 hours come to the same.
    private const double LongestPartHours = 0.5;

    // A film of water that is gone sooner does nothing yet (30 minutes).
    private const double WetGraceHours = 0.5;

    private LotState(LotTraits traits) => Traits = traits;

    /// <summary>What the lot is.</summary>
    public LotTraits Traits { get; private init; }

    /// <summary>Days since digging.</summary>
    public double AgeDays { get; private init; }

    /// <summary>Temperature of the produce, C; NaN before the first air.</summary>
    public double PulpC { get; private init; }

    /// <summary>Healing so far, in days at 20 C for potatoes and at the rule's own temperature for other crops. Never falls.</summary>
    public double HealedDays { get; private init; }

    /// <summary>Water lost, as a share of the first weight.</summary>
    public double WaterLost { get; private init; }

    /// <summary>Weight breathed away, as a share of the first weight.</summary>
    public double Breathed { get; private init; }

    /// <summary>Share of the rest used; 1 is peeping. Held at 1 from there.</summary>
    public double RestUsed { get; private init; }

    /// <summary>Length of the sprouts of the lot's late tubers, mm.</summary>
    public double SproutMm { get; private init; }

    /// <summary>Light taken, in hours of saturating light at 20 C (<see cref="Greening"/>). Never falls.</summary>
    public double LightHours { get; private init; }

    /// <summary>Hours with water on the coldest produce, films of less than half an hour left out.</summary>
    public double WetHours { get; private init; }

    /// <summary>Hours below the crop's chilling edge.</summary>
    public double ColdHours { get; private init; }

    /// <summary>Hours below the crop's freezing point.</summary>
    public double FreezingHours { get; private init; }

    /// <summary>Cold that makes a potato sweet, degree-days below 7.2 C less what warmth has taken back (<see cref="Sweetening"/>).</summary>
    public double SweetDegreeDays { get; private init; }

    /// <summary>Hours the present film of water has lasted; 0 when dry.</summary>
    public double WetRunHours { get; private init; }

    /// <summary>All weight lost, as a share of the first weight.</summary>
    public double Lost => WaterLost + Breathed;

    /// <summary>The healing stage.</summary>
    public HealingStage Stage => Curing.StageAfter(Traits.Rule, HealedDays / Traits.HealingMultiplier);

    /// <summary>Share of the tubers with a sprout of 5 mm or more; 0 where dormancy is not followed.</summary>
    public double SproutedShare => double.IsNaN(Traits.RestDaysAt10C) ? 0 : Dormancy.ShareSprouted(RestUsed, SproutMm);

    /// <summary>A lot as it comes out of the ground.</summary>
    public static LotState Dug(LotTraits traits)
    {
        ArgumentNullException.ThrowIfNull(traits);
        return new LotState(traits) { PulpC = double.NaN };
    }

    /// <summary>The lot after so many hours in one air.</summary>
    /// <param name="state">The lot before.</param>
    /// <param name="air">The air, taken as steady over the step. From -40 to 60 C and 0 to 100 % (above counts as 100).</param>
    /// <param name="hours">Length of the step, h, up to 48.</param>
    /// <exception cref="ArgumentOutOfRangeException">Air or hours outside those ranges, or not a number.</exception>
    public static LotState Advance(in LotState state, in LotAir air, double hours)
    {
        Require.Within(air.TemperatureC, -40, 60, nameof(air));
        Require.Within(air.RelativeHumidityPercent, 0, 500, nameof(air));
        Require.Within(hours, 0, 48, nameof(hours));
        int parts = Math.Max(1, (int)Math.Ceiling(hours / LongestPartHours));
        double part = hours / parts;
        var next = state;
        double vapour = MoistAir.VapourPressurePa(air.TemperatureC, Math.Min(100, air.RelativeHumidityPercent));
        for (int i = 0; i < parts; i++)
            next = Part(next, air, vapour, part);
        return next;
    }

    /// <summary>As <see cref="Advance(in LotState, in LotAir, double)"/>.</summary>
    public LotState Advance(in LotAir air, double hours) => Advance(this, air, hours);

    private static LotState Part(in LotState s, in LotAir air, double vapourPa, double hours)
    {
        var traits = s.Traits;
        double days = hours / 24;
        double end = double.IsNaN(air.PulpC) ? Follow(s.PulpC, air.TemperatureC + traits.WarmerC, hours / traits.LagHours) : air.PulpC;
        double pulp = double.IsNaN(s.PulpC) || !double.IsNaN(air.PulpC) ? end : (s.PulpC + end) / 2;

        double deficit = Saturation.OverWaterPa(pulp) - vapourPa;
        bool wet = deficit < 0;
        double run = wet ? s.WetRunHours + hours : 0;
        double wetHours = run <= WetGraceHours ? 0 : s.WetRunHours <= WetGraceHours ? run : hours;

        double healed = days * Curing.RatePerDay(traits.Rule, pulp, air.RelativeHumidityPercent, wet, air.Co2Ppm);

        double share = s.SproutMm > 0 ? s.SproutedShare : 0;
        double perHour = traits.ClosedPerHourPa;
        double early = 0;
        if (traits.OpenPerHourPa > 0)
        {
            double before = Portable.Exp(-s.HealedDays / traits.HealingScaleDays);
            double after = before * Fall(healed / traits.HealingScaleDays);
            perHour += traits.OpenPerHourPa * (before + after) / 2;
            early = traits.EarlyShare * (before - after);
        }

        double drive = WaterLoss.DrivePa(deficit - (1 - traits.VapourPressureLowering) * (deficit + vapourPa), traits.Exponent);
        double water = perHour * drive * hours * WaterLoss.SproutFactor(share, s.SproutMm) + early;
        double breath = traits.BreathPerHour(pulp) * hours;
        if (traits.IsPotato)
            breath *= Breath.FreshnessFactor(s.AgeDays + days / 2) * Breath.SproutFactor(share, s.SproutMm);
        double left = 1 - s.Lost;

        (double used, double sprout) = Rest(s, traits, pulp, air.LightLux, days);
        return s with
        {
            AgeDays = s.AgeDays + days,
            PulpC = end,
            HealedDays = s.HealedDays + healed,
            WaterLost = s.WaterLost + water * left,
            Breathed = s.Breathed + breath * left,
            RestUsed = used,
            SproutMm = sprout,
            LightHours = s.LightHours + (traits.Crop.GreensInLight ? Greening.DoseHoursPerHour(air.LightLux, pulp) * hours : 0),
            WetHours = s.WetHours + wetHours,
            WetRunHours = run,
            ColdHours = s.ColdHours + (pulp < traits.ChillingBelowC ? hours : 0),
            FreezingHours = s.FreezingHours + (pulp < traits.FreezingBelowC ? hours : 0),
            SweetDegreeDays = traits.IsPotato ? Sweetening.After(s.SweetDegreeDays, pulp, days) : 0,
        };
    }

    private static (double Used, double SproutMm) Rest(in LotState s, LotTraits traits, double pulp, double lux, double days)
    {
        if (double.IsNaN(traits.RestDaysAt10C))
            return (0, 0);
        double used = s.RestUsed;
        double growing = days;
        if (used < 1)
        {
            double perDay = Dormancy.FactorOfLog(pulp, traits.LogRestQ10) / traits.RestDaysAt10C;
            double toPeeping = (1 - used) / perDay;
            used = toPeeping > days ? used + perDay * days : 1;
            growing = Math.Max(0, days - toPeeping);
        }

        if (growing <= 0)
            return (used, s.SproutMm);
        return (used, s.SproutMm + growing * Dormancy.SproutMmPerDay(pulp, traits.SproutMmPerDegreeDay) * (1 - Dormancy.LightInhibition(lux)));
    }

    /// <summary>First-order lag; the first air is taken as the produce's own temperature.</summary>
    private static double Follow(double pulpC, double targetC, double steps) =>
        double.IsNaN(pulpC) ? targetC : targetC + (pulpC - targetC) * Fall(steps);

    /// <summary>exp(-x) for the small x of one part: Pade (2,2), off by less than 1e-6 up to 0.25.</summary>
    private static double Fall(double x) => (1 - x / 2 + x * x / 12) / (1 + x / 2 + x * x / 12);
}
