using RootCellar.Science.Air;

namespace RootCellar.Science.Keeping;

/// <summary>
/// What the air has done to a lot so far. A pure function of the traits it started with and the air since: no clock, no chance,
/// the same bits on every machine (<see cref="Portable"/>). Shares are of the weight it was dug at.
/// </summary>
public readonly partial record struct LotState
{
    // A step is taken in parts, so that 5 minutes and 6 hours come to the same.
    private const double LongPartHours = 0.5;
    private const double ShortPartHours = 1.0 / 12;

    // Nearer to where it is going than this, produce changes so little in half an hour that long parts do, C.
    private const double NearC = 0.1;

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

    /// <summary>
    /// Hours with water on the produce, films of less than half an hour left out. Of produce at the mean temperature (or the probe's): a
    /// colder spot is wet longer.
    /// </summary>
    public double WetHours { get; private init; }

    /// <summary>Hours below the crop's chilling edge.</summary>
    public double ColdHours { get; private init; }

    /// <summary>How far and how long below the crop's chilling edge: degree-days, C d. Never falls.</summary>
    public double ChillDegreeDays { get; private init; }

    /// <summary>Hours below the crop's freezing point.</summary>
    public double FreezingHours { get; private init; }

    /// <summary>
    /// Cold that makes a potato sweet, degree-days below 7.2 C less what warmth has taken back (<see cref="Sweetening"/>).
    /// </summary>
    public double SweetDegreeDays { get; private init; }

    /// <summary>Hours the present film of water has lasted; 0 when dry.</summary>
    public double WetRunHours { get; private init; }

    /// <summary>All weight lost, as a share of the first weight.</summary>
    public double Lost => WaterLost + Breathed;

    /// <summary>The healing stage.</summary>
    public HealingStage Stage => Curing.StageAfter(Traits.Rule, HealedDays / Traits.HealingMultiplier);

    /// <summary>Share of the tubers with a sprout of 5 mm or more; 0 where dormancy is not followed.</summary>
    public double SproutedShare => Dormancy.ShareSprouted(SproutMm);

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
        var next = state;
        double vapour = MoistAir.VapourPressurePa(air.TemperatureC, Math.Min(100, air.RelativeHumidityPercent));
        if (double.IsNaN(air.PulpC))
        {
            // While produce still follows the air, it may go from wet to dry within the step: small parts, until it is near.
            double target = air.TemperatureC + state.Traits.WarmerC;
            for (; hours > ShortPartHours && Math.Abs(next.PulpC - target) > NearC; hours -= ShortPartHours)
                next = Part(next, air, vapour, ShortPartHours);
        }

        int parts = Math.Max(1, (int)Math.Ceiling(hours / LongPartHours - 1e-9));
        for (int i = 0; i < parts; i++)
            next = Part(next, air, vapour, hours / parts);
        return next;
    }

    /// <summary>As <see cref="Advance(in LotState, in LotAir, double)"/>.</summary>
    public LotState Advance(in LotAir air, double hours) => Advance(this, air, hours);

    /// <summary>The lot in air that has nothing to do with the air before: its produce takes on the temperature of what comes.</summary>
    public LotState Elsewhere() => this with { PulpC = double.NaN, WetRunHours = 0 };

    /// <summary>The lot after a step through air that was only assumed, which wets nothing.</summary>
    /// <param name="wetHours">Its wet hours before the step.</param>
    public LotState NotWet(double wetHours) => this with { WetHours = wetHours, WetRunHours = 0 };

    private static LotState Part(in LotState s, in LotAir air, double vapourPa, double hours)
    {
        var traits = s.Traits;
        double days = hours / 24;
        bool probed = !double.IsNaN(air.PulpC);
        double target = probed ? air.PulpC : air.TemperatureC + traits.WarmerC;
        // Produce follows the air with a lag; the first air, and a probe, are taken as its own temperature.
        double start = probed || double.IsNaN(s.PulpC) ? target : s.PulpC;
        double lag = hours / traits.LagHours;
        double end = target + (start - target) * Fall(lag);
        double pulp = target + (start - target) * MeanFall(lag);

        double deficit = Saturation.OverWaterPa(pulp) - vapourPa;
        bool wet = deficit < 0;
        double run = wet ? s.WetRunHours + hours : 0;
        double wetHours = wet ? Wetness.CountedHours(s.WetRunHours, run) : 0;

        double healed = days * Curing.RatePerDay(traits.Rule, pulp, air.RelativeHumidityPercent, wet, air.Co2Ppm);

        double share = s.SproutedShare;
        double perHour = traits.ClosedPerHourPa;
        double early = 0;
        if (double.IsFinite(traits.AgeScaleDays))
        {
            // A skin closes by healing, or by drying and age, whichever has come further.
            double closed = Math.Max(s.HealedDays / traits.HealingScaleDays, s.AgeDays / traits.AgeScaleDays);
            double closing = Math.Max((s.HealedDays + healed) / traits.HealingScaleDays, (s.AgeDays + days) / traits.AgeScaleDays) - closed;
            double before = Portable.Exp(-closed);
            double after = before * Fall(closing);
            perHour += traits.OpenPerHourPa * (before + after) / 2;
            early = traits.EarlyShare * (before - after);
        }

        double surfacePa = traits.RegainedC == 0 ? deficit + vapourPa : Saturation.OverWaterPa(pulp - traits.RegainedC);
        double drive = WaterLoss.DrivePa(traits.VapourPressureLowering * surfacePa - vapourPa, traits.Exponent);
        // No produce gives more water than it holds.
        double water = Math.Min(traits.WaterShare - s.WaterLost,
            perHour * drive * hours * WaterLoss.SproutFactor(share, s.SproutMm) + early);
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
            ColdHours = s.ColdHours + hours * Cold.ShareBelow(traits.ChillingBelowC, start, end),
            ChillDegreeDays = s.ChillDegreeDays + days * Cold.DepthBelow(traits.ChillingBelowC, start, end),
            FreezingHours = s.FreezingHours + hours * Cold.ShareBelow(traits.FreezingBelowC, start, end),
            SweetDegreeDays = traits.IsPotato ? Sweetening.After(s.SweetDegreeDays, pulp, days, traits.SweetEdgeC) : 0,
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
        return (used, s.SproutMm + growing * Dormancy.SproutMmPerDay(pulp, traits.SproutMmPerDegreeDay) * (
            1 - Dormancy.LightInhibition(lux)));
    }

    /// <summary>exp(-x) for the small x of one part: Pade (2,2), off by less than 1e-6 up to 0.25.</summary>
    private static double Fall(double x) => (1 - x / 2 + x * x / 12) / (1 + x / 2 + x * x / 12);

    /// <summary>Mean of exp(-t) for t from 0 to x, by the same.</summary>
    private static double MeanFall(double x) => 1 / (1 + x / 2 + x * x / 12);
}
