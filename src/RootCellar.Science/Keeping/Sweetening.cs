namespace RootCellar.Science.Keeping;

/// <summary>How sweet the cold may have made a potato lot, as far as frying goes.</summary>
public enum SweeteningLevel
{
    /// <summary>Hardly.</summary>
    Low,

    /// <summary>Fry colour may suffer.</summary>
    Some,

    /// <summary>As after a month below 5 C.</summary>
    High,
}

/// <summary>
/// Cold sweetening: degree-days below 7.2 C, less what warmth has taken back. It is a risk for fry colour and browning, not a
/// sugar content. Not in it: senescent sweetening, which comes with age in warm stores and is not taken back; maturity at
/// digging; varieties that resist (Clearwater Russet kept its colour at 7.2 C for up to 250 days without reconditioning,
/// Palisade and Premier Russet stand 5.6 C; Russet Burbank and Defender none at 4 C). Hertog et al. 1997 have a full model.
/// </summary>
public static class Sweetening
{
    /// <summary>No cold sweetening from here up, C (45 F: Gupta, Univ. Idaho; UC).</summary>
    public const double EdgeC = 7.2;

    /// <summary>The edge for immature lots and chips, C (UC Davis early crop: as little as 3 days below 10 to 13 C; Plants 13:2868, 2024: below 10 C).</summary>
    public const double TenderEdgeC = 10;

    /// <summary>Warmth takes sugar back only above this, C (assumed).</summary>
    public const double TakenBackAboveC = 13;

    /// <summary>Reconditioning temperature, low end, C (Zommick et al. 2014 used 16 C).</summary>
    public const double ReconditionLowC = 16;

    /// <summary>Reconditioning temperature, high end, C (70 F for 1 to 2 weeks: Michigan State Univ. Extension).</summary>
    public const double ReconditionHighC = 21;

    /// <summary>Days of reconditioning in which half of what is left is taken back (assumed, from 1 to 2 weeks; so never all of it).</summary>
    public const double HalvingDays = 7;

    /// <summary>Degree-days from which fry colour may suffer (assumed: a week at 4.4 C, 40 F).</summary>
    public const double SomeDegreeDays = 20;

    /// <summary>Degree-days from which a lot may not come all the way back: 30 d at 5 C (derived; the sugar rises sharply in the first 30 d of cold, Cyprus thesis).</summary>
    public const double HighDegreeDays = 66;

    /// <summary>Days below 5 C after which a lot may not come all the way back (assumed from the same).</summary>
    public const double LongDaysBelow5C = 30;

    private const double Ln2 = 0.6931471805599453;

    /// <summary>Degree-days after a time at one temperature. The same whatever steps the time is cut into.</summary>
    /// <param name="degreeDays">Degree-days before.</param>
    /// <param name="pulpC">Temperature of the produce, C; NaN changes nothing.</param>
    /// <param name="days">Length, d.</param>
    /// <param name="edgeC"><see cref="EdgeC"/>, or <see cref="TenderEdgeC"/> for an immature or chip lot.</param>
    public static double After(double degreeDays, double pulpC, double days, double edgeC = EdgeC)
    {
        if (pulpC < edgeC)
            return degreeDays + (edgeC - pulpC) * days;
        return pulpC > TakenBackAboveC ? degreeDays * Portable.Exp(-Ln2 / HalvingDays * Warmth(pulpC) * days) : degreeDays;
    }

    /// <summary>The level of a lot.</summary>
    /// <param name="degreeDays">Degree-days.</param>
    /// <param name="daysBelow5C">Days it has been below 5 C, whatever warmth came after; NaN where not counted.</param>
    public static SweeteningLevel Level(double degreeDays, double daysBelow5C = double.NaN) =>
        degreeDays >= HighDegreeDays || (daysBelow5C > LongDaysBelow5C && degreeDays >= SomeDegreeDays) ? SweeteningLevel.High
        : degreeDays >= SomeDegreeDays ? SweeteningLevel.Some
        : SweeteningLevel.Low;

    /// <summary>
    /// Days at a temperature until half of it is taken back, and half again, down to <see cref="SomeDegreeDays"/>; held between
    /// 7 and 14 at reconditioning temperature, the 1 to 2 weeks of extension bulletins. 0 where nothing calls for it; null
    /// where this temperature takes nothing back.
    /// </summary>
    public static double? ReconditioningDays(double degreeDays, double pulpC = 18)
    {
        if (!(degreeDays >= SomeDegreeDays))
            return 0;
        double warmth = Warmth(pulpC);
        if (!(warmth > 0))
            return null;
        double halvings = Portable.Log(degreeDays / SomeDegreeDays) / Ln2;
        return Math.Clamp(halvings * HalvingDays, 7, 14) / warmth;
    }

    // US FDA, "Acrylamide and diet, food storage, and food preparation": golden yellow rather than brown (from memory).
    private const string Browning = "to light gold only, for browning makes acrylamide";

    /// <summary>What to say to one who means to fry or roast them.</summary>
    public static string Words(double degreeDays, double daysBelow5C = double.NaN)
    {
        string band = $"{Said.Degrees(ReconditionLowC)} to {Said.Degrees(ReconditionHighC)}";
        return Level(degreeDays, daysBelow5C) switch
        {
            SweeteningLevel.High =>
                $"Long cold has likely made this lot sweet, so it would brown when fried: recondition it 1 to 2 weeks at {band}, then test fry {Browning}; it may not fully recover.",
            SweeteningLevel.Some =>
                $"The cold may have made this lot somewhat sweet: before frying keep it about {Said.Number(ReconditioningDays(degreeDays)!.Value)} days at {band} and test fry {Browning}.",
            _ => "The cold has hardly sweetened this lot; a test fry still says more than the count, and age sweetens potatoes too.",
        };
    }

    /// <summary>Speed of reconditioning, 0 at 13 C and below, 1 from 16 C up (straight between: assumed).</summary>
    private static double Warmth(double pulpC) =>
        pulpC > TakenBackAboveC ? Math.Min(1, (pulpC - TakenBackAboveC) / (ReconditionLowC - TakenBackAboveC)) : 0;
}
