namespace RootCellar.Science.Keeping;

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

    /// <summary>
    /// The edge for immature lots and chips, C (UC Davis early crop: as little as 3 days below 10 to 13 C; Plants 13:2868, 2024: below 10
    /// C).
    /// </summary>
    public const double TenderEdgeC = 10;

    /// <summary>Warmth takes sugar back only above this, C (assumed).</summary>
    public const double TakenBackAboveC = 13;

    /// <summary>Warmth takes sugar back at full speed from here up, C (Zommick et al. 2014 used 16 C).</summary>
    public const double ReconditionC = 16;

    /// <summary>
    /// Days of reconditioning in which half of what is left is taken back (assumed, from 1 to 2 weeks; so never all of it).
    /// </summary>
    public const double HalvingDays = 7;

    /// <summary>
    /// Marked sweetening, degree-days below 7.2 C: thirty days at 5 C (derived; most of the rise in reducing sugar comes within the first
    /// thirty days of cold storage, from a thesis of Cyprus, and below 6 C potatoes taste sweet, FAO 2009).
    /// </summary>
    public const double MarkedDegreeDays = 66;

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

    /// <summary>Speed of reconditioning, 0 at 13 C and below, 1 from 16 C up (straight between: assumed).</summary>
    private static double Warmth(double pulpC) =>
        pulpC > TakenBackAboveC ? Math.Min(1, (pulpC - TakenBackAboveC) / (ReconditionC - TakenBackAboveC)) : 0;
}
