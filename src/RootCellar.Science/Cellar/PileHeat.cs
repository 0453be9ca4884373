using RootCellar.Science.Air;

namespace RootCellar.Science.Cellar;

/// <summary>How a heap is made and kept, for the height that is still prudent without a fan.</summary>
public enum PileCondition
{
    /// <summary>Immature: breathes fast.</summary>
    Immature,

    /// <summary>Mature.</summary>
    Mature,

    /// <summary>Mature, free of soil, and stored for a short time only.</summary>
    MatureCleanShort,
}

/// <summary>Heat of a heap with no air blown through it.</summary>
public static class PileHeat
{
    private const double MetresPerFoot = 0.3048;

    /// <summary>Density of a heap of potatoes, kg/m3: middle of 641 to 689 (Olsen and Teixeira, University of Idaho: 40 to 43 lb/ft3).</summary>
    public const double PotatoBulkKgPerM3 = 660;

    /// <summary>Conductivity of a heap in still air, W/(m K): 0.3 to 0.6 (from memory, little sure of).</summary>
    public const double StillPileWattsPerMK = 0.45;

    /// <summary>
    /// Mean of a heap without a fan above the store's air, C per metre of height: 2/3 F per foot, a rough guide for mature potatoes
    /// in mid-season, 6 to 12 ft high and twice as wide as high (The storage of ware potatoes in permanent buildings, II: The temperature of
    /// unventilated stacks of potatoes, J. Agric. Sci., summary; Burton, Mann and Wager 1955 from memory). More just after harvest and in spring.
    /// </summary>
    public const double MeanExcessCPerMetre = 2.0 / 3 / 1.8 / MetresPerFoot;

    /// <summary>Warmest part of a heap without a fan above the store's air, C per metre of height: 1 F per foot (same source).</summary>
    public const double TopExcessCPerMetre = 1 / 1.8 / MetresPerFoot;

    /// <summary>
    /// Height above which a heap wants a fan, m: 3 ft immature, 6 ft mature, 12 ft mature, clean and for a short time (same source). A
    /// caution, not a promise below it.
    /// </summary>
    public static double CautionHeightM(PileCondition condition) => MetresPerFoot * condition switch
    {
        PileCondition.Immature => 3,
        PileCondition.Mature => 6,
        PileCondition.MatureCleanShort => 12,
        _ => throw new ArgumentOutOfRangeException(nameof(condition), condition, "No such condition."),
    };

    /// <summary>Mean of the heap above the store's air, C, from its height, 0 to 6 m; the source stands for 1.8 to 3.7 m.</summary>
    public static double MeanExcessC(double heightM)
    {
        Require.Within(heightM, 0, 6, nameof(heightM));
        return heightM * MeanExcessCPerMetre;
    }

    /// <summary>Warmest part of the heap, near its top, above the store's air, C, from its height, 0 to 6 m; the source stands for 1.8 to 3.7 m.</summary>
    public static double TopExcessC(double heightM)
    {
        Require.Within(heightM, 0, 6, nameof(heightM));
        return heightM * TopExcessCPerMetre;
    }

    /// <summary>
    /// Rise of a heap that loses no heat at all, K per day: 86.4 q/(1000 c), with q in mW/kg and c in kJ/(kg K) (energy
    /// balance, derived). An upper bound: it forgets the evaporation, which takes a part.
    /// </summary>
    public static double AdiabaticRiseKPerDay(double respirationMilliwattsPerKg, double specificHeatKJPerKgK)
    {
        Require.Within(respirationMilliwattsPerKg, 0, 1000, nameof(respirationMilliwattsPerKg));
        Require.Within(specificHeatKJPerKgK, 1, 5, nameof(specificHeatKJPerKgK));
        return respirationMilliwattsPerKg * 86.4 / (1000 * specificHeatKJPerKgK);
    }

    /// <summary>
    /// Time constant of a heap that loses heat by conduction only, days: L2/((pi2/4) alpha), alpha = k/(rho c): the slowest term of
    /// the series for a slab of half-depth L with its faces held at air temperature (Carslaw and Jaeger, Conduction of Heat in
    /// Solids, 1959, from memory). Natural draught makes it shorter.
    /// </summary>
    /// <param name="halfDepthM">Half the depth where both faces are open; all of it on a floor that passes no heat, m.</param>
    /// <param name="conductivityWattsPerMK">W/(m K).</param>
    /// <param name="bulkKgPerM3">kg/m3 of heap.</param>
    /// <param name="specificHeatKJPerKgK">kJ/(kg K).</param>
    public static double TimeConstantDays(
        double halfDepthM, double conductivityWattsPerMK = StillPileWattsPerMK, double bulkKgPerM3 = PotatoBulkKgPerM3, double specificHeatKJPerKgK = 3.6)
    {
        Require.Within(halfDepthM, 0.01, 20, nameof(halfDepthM));
        Require.Within(conductivityWattsPerMK, 0.01, 10, nameof(conductivityWattsPerMK));
        Require.Within(bulkKgPerM3, 50, 2000, nameof(bulkKgPerM3));
        Require.Within(specificHeatKJPerKgK, 1, 5, nameof(specificHeatKJPerKgK));
        double alpha = conductivityWattsPerMK / (bulkKgPerM3 * specificHeatKJPerKgK * 1000);
        return halfDepthM * halfDepthM / (Math.PI * Math.PI / 4 * alpha) / 86400;
    }
}
