namespace RootCellar.Science.Keeping;

/// <summary>
/// What breathing costs. Carbon dioxide given off is turned into weight: of each gram, 12/44 is carbon that leaves; the
/// oxygen taken up and the water made stay behind (stoichiometry of glucose). The water that leaves is counted by
/// <see cref="WaterLoss"/>, so nothing is counted twice.
/// </summary>
public static class Breath
{
    /// <summary>Weight lost per weight of carbon dioxide.</summary>
    public const double CarbonShare = 12.0 / 44.0;

    /// <summary>Heat per gram of carbon dioxide, kJ/g (Becker and Fricke 1996; ASHRAE prints 10.1 in one place, uses 10.7).</summary>
    public const double HeatKJPerGram = 10.7;

    /// <summary>
    /// A potato breathes faster the fresher it is: 2.5 times at digging, falling over 2 to 4 weeks (UC Davis early crop
    /// against dormant figures; Burton et al.: 150 Btu/(ton h) just after harvest, then 30 to 50). Time constant 14 d.
    /// </summary>
    public static double FreshnessFactor(double ageDays) => 1 + 1.5 * Portable.Exp(-ageDays / 14);

    /// <summary>Sprouting raises it 1.5 to 2 times (Burton; from memory): to 1.75 once sprouts of 10 mm stand on every tuber.</summary>
    public static double SproutFactor(double sproutedShare, double sproutMm) => 1 + 0.75 * Math.Min(1, sproutedShare * sproutMm / 10);

    /// <summary>Share of the weight lost per hour at a rate of carbon dioxide, mg/(kg h).</summary>
    public static double LossPerHour(double mgCo2PerKgHour) => CarbonShare * 1e-6 * mgCo2PerKgHour;

    /// <summary>Heat at a rate of carbon dioxide, mW/kg.</summary>
    public static double MilliwattsPerKg(double mgCo2PerKgHour) => mgCo2PerKgHour * HeatKJPerGram / 3.6;
}
