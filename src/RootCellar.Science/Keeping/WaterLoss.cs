namespace RootCellar.Science.Keeping;

/// <summary>
/// Water a lot loses: a transpiration coefficient that falls as the skin heals, times a drive that grows less than in
/// proportion to the vapour pressure deficit, times what the packing lets through, and an early loss that no humidity stops.
/// docs/science/water-loss.md has the trials, the other structures tried and how each predicts a source left out.
/// </summary>
public static class WaterLoss
{
    /// <summary>
    /// The drive of a potato goes with the square root of the deficit: coefficients implied by trials fall as stores get drier.
    /// A half is the round value nearest the fitted exponent (docs/science/water-loss.md), and needs no power function.
    /// </summary>
    public const double PotatoExponent = 0.5;

    /// <summary>Deficit at which the drive is the deficit itself, Pa (1 mbar).</summary>
    public const double ReferenceDeficitPa = 100;

    /// <summary>
    /// Share of a single layer's loss in a crate, sack, bin or heap: fitted to the trials (docs/science/water-loss.md). No weighed trial of
    /// a bin is in hand: texts reckon with less (0.3 to 0.5 of a layer), practice figures of deep stores show more.
    /// </summary>
    public const double PotatoPackedCoupling = 0.74;

    /// <summary>
    /// More early loss of a scuffed lot, percent (fitted to Daniels-Lake et al. 2014: abraded 0.5 more after a week, 0.7 after five).
    /// </summary>
    public const double ScuffedPercent = 0.65;

    /// <summary>
    /// More early loss of a lot with cuts, percent (fitted to Daniels-Lake et al. 2014: 0.9 more after a week, 1.3 after five).
    /// </summary>
    public const double CutPercent = 1.15;

    /// <summary>
    /// A tender skin's fresh coefficient against a set one's: assumed. Lulai and Orr 1994, American Potato Journal 71, found
    /// immature periderm up to 28 times as permeable, over the whole tuber far less shows.
    /// </summary>
    public const double TenderFactor = 2;

    /// <summary>
    /// The 5 to 95 % factor about the coefficient of an unknown lot, either way: the spread between trials left out and between the lots of
    /// one trial, rounded (docs/science/water-loss.md).
    /// </summary>
    public const double UnknownLotFactor = 2;

    /// <summary>
    /// The same for a crop whose row says no spread of its own: as far, 5 to 95 %, as published losses of all crops but potatoes lie from ours
    /// (docs/science/validation.md).
    /// </summary>
    public const double OtherCropFactor = 3.5;

    /// <summary>Where <see cref="OtherCropFactor"/> is from.</summary>
    internal const string OtherCropSource =
        "the distance between ours and the published losses of all crops but potatoes, source by source (docs/science/validation.md)";

    /// <summary>Weight of the tuber the coefficients stand for, g (assumed).</summary>
    public const double ReferenceTuberGrams = 150;

    /// <summary>
    /// Drive, Pa: the deficit itself, or bent by an exponent; 0 where the air would wet the produce (wetting is not regained weight).
    /// </summary>
    /// <param name="deficitPa">Vapour pressure at the produce less that of the air, Pa.</param>
    /// <param name="exponent">1 for a plain law, <see cref="PotatoExponent"/> for potatoes.</param>
    public static double DrivePa(double deficitPa, double exponent)
    {
        if (!(deficitPa > 0))
            return 0;
        return exponent switch
        {
            1 => deficitPa,
            0.5 => ReferenceDeficitPa * Math.Sqrt(deficitPa / ReferenceDeficitPa),
            _ => ReferenceDeficitPa * Portable.Pow(deficitPa / ReferenceDeficitPa, exponent),
        };
    }

    /// <summary>
    /// Smaller tubers have more skin to the pound: coefficient over that of <see cref="ReferenceTuberGrams"/>, as weight to
    /// the power of -0.29 (surface from Tabatabaeefar 2002, International Agrophysics 16: projected area 1.1 V^0.71; derived).
    /// </summary>
    public static double SizeFactor(double tuberGrams) => Portable.Pow(tuberGrams / ReferenceTuberGrams, -0.29);

    /// <summary>
    /// A sprout loses water easily: the rate doubles when sprouts weigh 1 % of the tuber (Burton 1966, from memory), taken as
    /// sprouts of 30 mm on every tuber (assumed).
    /// </summary>
    public static double SproutFactor(double sproutedShare, double sproutMm) => 1 + sproutedShare * sproutMm / 30;

    /// <summary>
    /// Share of a single layer's loss where the air between the produce is fed by it: the produce gives K times the deficit to
    /// the bin's air, which passes G times its own excess to the room, so G / (K + G) of the drive is left (mass balance, steady).
    /// </summary>
    public static double BinAirCoupling(double coefficient, double airConductance) =>
        double.IsPositiveInfinity(airConductance) ? 1 : airConductance / (coefficient + airConductance);
}
