namespace RootCellar.Science.Keeping;

/// <summary>How far a wound or a tender skin has closed. Never goes back.</summary>
public enum HealingStage
{
    /// <summary>No closed layer yet.</summary>
    Open,

    /// <summary>The suberin layer has closed.</summary>
    Sealed,

    /// <summary>Healed far enough to be moved and stored.</summary>
    Adequate,

    /// <summary>Full wound periderm.</summary>
    Healed,
}

/// <summary>
/// Wound healing (suberization and wound periderm) of potato tubers, counted in days at 20 C: a day at 20 C in damp air adds one.
/// </summary>
/// <remarks>
/// Temperature: Wigginton 1974, Potato Research 17: three times from 5 to 10 C and three times from 10 to 20 C, which a power of
/// the Celsius temperature with exponent log2 3 meets exactly (derived). Optimum near 26 C for suberin (Dean 1989, Plant
/// Physiology, from memory); too slow to protect above 35 C (soft-rot bulletin); straight line between 25 and 35 C assumed.
/// </remarks>
public static class WoundHealing
{
    /// <summary>log2 3, so that doubling the Celsius temperature triples the rate.</summary>
    public const double Exponent = 1.5849625007211562;

    /// <summary>
    /// Days at 20 C to the closed suberin layer. Valley Potato Grower 2023: about 3 d at 11 to 15.6 C (1.2 to 2.0);
    /// Voss, Baghott and Timm, Univ. California: 3 to 5 d at 15.6 to 18.3 C (2.0 to 4.3). Good to 30 % (derived).
    /// </summary>
    public const double SealedDays = 2;

    /// <summary>Days at 20 C until fit to move: Suslow and Voss, UC Davis, 8 d at 15 C (5.1). Good to 30 % (derived).</summary>
    public const double AdequateDays = 5;

    /// <summary>Days at 20 C to full wound periderm: Univ. Idaho CIS 1134, 14 d at 12.8 C. Good to 30 % (derived).</summary>
    public const double HealedDays = 6.9;

    /// <summary>The 5 to 95 % factor about the stages' days, either way (assumed from the spread of the anchors).</summary>
    public const double StageFactor = 1.3;

    /// <summary>Healing per day, in days at 20 C, by temperature alone. 0 at 0 C and below and from 35 C up.</summary>
    /// <param name="pulpC">Temperature of the tuber, C.</param>
    public static double TemperatureRate(double pulpC)
    {
        if (!(pulpC > 0) || pulpC >= 35)
            return 0;
        return pulpC <= 25
            ? Portable.Exp(Exponent * Portable.Log(pulpC / 20))
            : RateAt25 * (35 - pulpC) / 10;
    }

    /// <summary>
    /// Share of the rate that the humidity leaves. Wigginton 1974: fastest from 70 to 100 % at 20 C and from 80 to 100 % at
    /// 10 C; straight between; below it falls to nothing over 40 % (assumed).
    /// </summary>
    public static double HumidityFactor(double relativeHumidityPercent, double pulpC)
    {
        double enough = 80 - Math.Clamp(pulpC - 10, 0, 10);
        return Math.Clamp(1 - (enough - relativeHumidityPercent) / 40, 0, 1);
    }

    /// <summary>
    /// Share of the rate that carbon dioxide leaves: all of it up to 0.5 %, none at 10 % (a storage course's figure), straight
    /// between (assumed; Wigginton 1974 saw a progressive loss from the air's own upwards). Unknown (NaN) counts as none.
    /// </summary>
    public static double Co2Factor(double co2Ppm) =>
        double.IsNaN(co2Ppm) ? 1 : Math.Clamp(1 - (co2Ppm - 5_000) / 95_000, 0, 1);

    /// <summary>Healing per day, in days at 20 C. A wet skin gets no oxygen and does not heal (Univ. Nebraska CropWatch).</summary>
    public static double RatePerDay(double pulpC, double relativeHumidityPercent, bool wet, double co2Ppm = double.NaN) =>
        wet ? 0 : TemperatureRate(pulpC) * HumidityFactor(relativeHumidityPercent, pulpC) * Co2Factor(co2Ppm);

    // (25/20)^log2(3)
    private static readonly double RateAt25 = Portable.Exp(Exponent * Portable.Log(1.25));
}
