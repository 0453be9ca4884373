namespace RootCellar.Science.Keeping;

/// <summary>
/// Dormancy and sprouting of potatoes in two stages: rest is used up at a rate that grows with temperature, then sprouts
/// lengthen. What a lot "has used" is the share of its rest that is gone; at 1 its eyes begin to move, and sprouts of some length follow.
/// </summary>
/// <remarks>
/// Fitted to Alpine Russet, Univ. Idaho (Brandt, Olsen et al. 2009: 185, 165, 140 d at 42, 45, 48 F) with curing and cooling
/// counted. Three points cannot fix the temperature response: forecasts hold from 2 to 10 C and widen beyond. Maturity class
/// does not tell dormancy (Sowa-Niedzialkowska, 46 cultivars, 1985 to 2002; CPRI).
/// </remarks>
public static class Dormancy
{
    /// <summary>Rest goes this many times faster for every 10 C (1.6 to 2.5 fit nearly as well).</summary>
    public const double Q10 = 2.25;

    /// <summary>
    /// The 5 to 95 % factor about <see cref="Q10"/>, either way: 1.8 to 2.8 (assumed; published days do not fix it better).
    /// </summary>
    public const double Q10Factor = 1.25;

    /// <summary>No faster above this, C: warm-store cultivars of 56 to 70 d (Bangladesh) show no further gain (assumed).</summary>
    public const double WarmestC = 20;

    /// <summary>
    /// Below this sprouts do not lengthen, C (1 to 3 fit; text books say 4, growth from 2 to 4 C being slow rather than none).
    /// </summary>
    public const double SproutBaseC = 2;

    /// <summary>
    /// Sprouts lengthen no faster above this, C (optimum 15 to 18 C, European cultivars; McGee et al., Potato Research, from memory).
    /// </summary>
    public const double SproutBestC = 17;

    /// <summary>Lengthening, mm per C and day (0.03 to 0.08).</summary>
    public const double SproutMmPerDegreeDay = 0.05;

    /// <summary>
    /// The shortest sprout the eye counts, mm: trials call a tuber sprouted, and its rest over, from 2 to 3 mm on (2 mm: Reust 1986,
    /// Potato Research 29, from memory; 3 mm: O'Brien et al. 1983, AHDB).
    /// </summary>
    public const double VisibleMm = 2;

    /// <summary>A lot counts as sprouted when 80 % of its tubers have a sprout of this length, mm (Univ. Idaho, Kimberly).</summary>
    public const double SproutedMm = 5;

    /// <summary>The share of tubers at <see cref="SproutedMm"/> that counts as a sprouted lot.</summary>
    public const double SproutedShare = 0.8;

    /// <summary>
    /// Spread of sprout lengths between the tubers of a lot: standard deviation of the logarithm of the length (assumed).
    /// </summary>
    internal const double LengthSpread = 0.8;

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
    /// <param name="sproutMm">Length of the sprouts of the lot's late tubers (the 80th in a hundred), mm.</param>
    public static double ShareSprouted(double sproutMm) => ShareLongerThan(SproutedMm, sproutMm);

    /// <summary>
    /// Share of the tubers with a sprout of so many mm or more, 0 to 1: none before the rest is over, 80 % when the late tubers have that length.
    /// </summary>
    /// <param name="mm">Length looked for, mm, above 0; the eye sees about 2.</param>
    /// <param name="sproutMm">Length of the sprouts of the lot's late tubers (the 80th in a hundred), mm.</param>
    public static double ShareLongerThan(double mm, double sproutMm) =>
        sproutMm > 0 ? Portable.NormalCdf(Quantile80 + Portable.Log(sproutMm / mm) / LengthSpread) : 0;

    /// <summary>
    /// Days of rest at 10 C of a lot that would be sprouted (80 % at 5 mm) after so many days if held at one temperature.
    /// </summary>
    /// <exception cref="ArgumentOutOfRangeException">A temperature at which sprouts hardly lengthen (below 2.5 C) or above 31 C, or days
    /// outside 1 to 2,000.</exception>
    public static double RestDaysAt10C(double sproutedAfterDays, double heldAtC, double q10 = Q10,
        double mmPerDegreeDay = SproutMmPerDegreeDay)
    {
        Air.Require.Within(heldAtC, 2.5, 31, nameof(heldAtC));
        Air.Require.Within(sproutedAfterDays, 1, 2000, nameof(sproutedAfterDays));
        return RestDays(sproutedAfterDays, heldAtC, mmPerDegreeDay) * TemperatureFactor(heldAtC, q10);
    }

    /// <summary>
    /// Days of rest before the lengthening, which is held to half of the time: near 2 C sprouts hardly grow, and the figure could not be
    /// met.
    /// </summary>
    internal static double RestDays(double sproutedAfterDays, double heldAtC, double mmPerDegreeDay) =>
        sproutedAfterDays - Math.Min(sproutedAfterDays / 2, SproutedMm / SproutMmPerDay(heldAtC, mmPerDegreeDay));

    private static readonly double Quantile80 = Portable.NormalQuantile(SproutedShare);

    private static readonly double Log6 = Portable.Log(6);
}
