namespace RootCellar.Science.Keeping;

/// <summary>
/// Dormancy and sprouting of potatoes in two stages: rest is used up at a rate that grows with temperature, then sprouts
/// lengthen. What a lot "has used" is the share of its rest that is gone; at 1 the first tubers peep.
/// </summary>
/// <remarks>
/// Fitted to Alpine Russet, Univ. Idaho (Brandt, Olsen et al. 2009: 185, 165, 140 d at 42, 45, 48 F) with curing and cooling
/// counted. Three points cannot fix the temperature response: forecasts hold from 2 to 10 C and widen beyond. Maturity class
/// does not tell dormancy (Sowa-Niedzialkowska, 46 cultivars, 1985 to 2002; CPRI).
/// </remarks>
public static class Dormancy
{
    /// <summary>Rest goes this many times faster for every 10 C (1.6 to 2.5 fit as well).</summary>
    public const double Q10 = 2.25;

    /// <summary>The 5 to 95 % factor about <see cref="Q10"/>, either way (derived from the range that fits).</summary>
    public const double Q10Factor = 1.25;

    /// <summary>No faster above this, C: warm-store cultivars of 56 to 70 d (Bangladesh) show no further gain (assumed).</summary>
    public const double WarmestC = 20;

    /// <summary>Below this sprouts do not lengthen, C (1 to 3 fit; text books say 4, growth from 2 to 4 C being slow rather than none).</summary>
    public const double SproutBaseC = 2;

    /// <summary>Sprouts lengthen no faster above this, C (optimum 15 to 18 C, European cultivars; McGee et al., Potato Research, from memory).</summary>
    public const double SproutBestC = 17;

    /// <summary>Lengthening, mm per C and day (0.03 to 0.08).</summary>
    public const double SproutMmPerDegreeDay = 0.05;

    /// <summary>A lot counts as sprouted when 80 % of its tubers have a sprout of this length, mm (Univ. Idaho, Kimberly).</summary>
    public const double SproutedMm = 5;

    /// <summary>The share of tubers at <see cref="SproutedMm"/> that counts as a sprouted lot.</summary>
    public const double SproutedShare = 0.8;

    /// <summary>Share of the way from digging to "sprouted" that is lengthening, not rest, at store temperatures (derived: 19 of 165 d at 7.2 C).</summary>
    internal const double LengtheningShare = 0.12;

    /// <summary>Spread between the tubers of a lot, as a share of the way to "sprouted" (10 to 20 d in 150; van Ittersum 1992, from memory).</summary>
    internal const double TuberSpread = 0.10;

    /// <summary>Rest used per day at a temperature, against that at 10 C.</summary>
    public static double TemperatureFactor(double pulpC, double q10 = Q10) =>
        FactorOfLog(pulpC, Portable.Log(q10));

    internal static double FactorOfLog(double pulpC, double logQ10) => Portable.Exp(logQ10 * (Math.Min(pulpC, WarmestC) - 10) / 10);

    /// <summary>Lengthening of sprouts in the dark, mm per day.</summary>
    public static double SproutMmPerDay(double pulpC, double mmPerDegreeDay = SproutMmPerDegreeDay) =>
        mmPerDegreeDay * Math.Max(0, Math.Min(pulpC, SproutBestC) - SproutBaseC);

    /// <summary>
    /// Share of the lengthening that light takes away: none below 2.5 lx, half at about 15 lx, 95 % at most, straight in the
    /// logarithm (McGee et al. 1988, Annals of Applied Biology: 0.01 and 0.04 to 0.1 W/m2; 250 lx per W/m2, derived).
    /// </summary>
    public static double LightInhibition(double lux)
    {
        if (!(lux > 2.5))
            return 0;
        return Math.Min(0.95, 0.5 * Portable.Log(lux / 2.5) / Log6);
    }

    /// <summary>Share of the tubers with a sprout of 5 mm or more, 0 to 1.</summary>
    /// <param name="used">Share of the rest used, 0 to 1.</param>
    /// <param name="sproutMm">Length of the sprouts of the lot's late tubers (the 80th in a hundred), mm.</param>
    public static double ShareSprouted(double used, double sproutMm) => ShareLongerThan(SproutedMm, used, sproutMm);

    /// <summary>Share of the tubers with a sprout of so many mm or more, 0 to 1.</summary>
    /// <param name="mm">Length looked for, mm, from 0 up; the eye sees about 2.</param>
    /// <param name="used">Share of the rest used, 0 to 1.</param>
    /// <param name="sproutMm">Length of the sprouts of the lot's late tubers (the 80th in a hundred), mm.</param>
    public static double ShareLongerThan(double mm, double used, double sproutMm)
    {
        double way = (1 - LengtheningShare) * Math.Min(used, 1) + LengtheningShare * sproutMm / SproutedMm;
        double there = (1 - LengtheningShare) + LengtheningShare * mm / SproutedMm;
        return Portable.NormalCdf(Quantile80 + (way - there) / TuberSpread);
    }

    /// <summary>
    /// Days of rest at 10 C of a lot that would be sprouted (80 % at 5 mm) after so many days if held at one temperature.
    /// </summary>
    /// <exception cref="ArgumentOutOfRangeException">A temperature at which sprouts do not lengthen (2 C and below) or above 30 C, or days that the lengthening alone would take.</exception>
    public static double RestDaysAt10C(double sproutedAfterDays, double heldAtC, double q10 = Q10, double mmPerDegreeDay = SproutMmPerDegreeDay)
    {
        Air.Require.Within(heldAtC, 2.5, 30, nameof(heldAtC));
        double rest = sproutedAfterDays - SproutedMm / SproutMmPerDay(heldAtC, mmPerDegreeDay);
        if (!(rest > 0))
        {
            throw new ArgumentOutOfRangeException(nameof(sproutedAfterDays), sproutedAfterDays,
                "The days must be more than the sprouts take to reach 5 mm at that temperature.");
        }

        return rest * TemperatureFactor(heldAtC, q10);
    }

    private static readonly double Quantile80 = Portable.NormalQuantile(SproutedShare);

    private static readonly double Log6 = Portable.Log(6);
}
