namespace RootCellar.Science.Keeping;

/// <summary>
/// A state written down as plain figures and made again from them, bit for bit, so that a fold can go on where it stopped.
/// </summary>
public readonly partial record struct LotState
{
    private static readonly string[] Names =
    [
        nameof(AgeDays), nameof(PulpC), nameof(HealedDays), nameof(WaterLost), nameof(Breathed), nameof(RestUsed), nameof(SproutMm),
        nameof(LightHours), nameof(WetHours), nameof(ColdHours), nameof(FreezingHours), nameof(SweetDegreeDays), nameof(WetRunHours),
        nameof(ChillDegreeDays),
    ];

    /// <summary>What each figure of <see cref="CopyTo"/> is, in its order.</summary>
    public static IReadOnlyList<string> FigureNames => Names;

    /// <summary>Writes every figure down, in the order of <see cref="FigureNames"/>; the traits are not among them.</summary>
    /// <param name="figures">Room for them all.</param>
    /// <exception cref="ArgumentException">Too little room.</exception>
    public void CopyTo(Span<double> figures)
    {
        ReadOnlySpan<double> all =
        [
            AgeDays, PulpC, HealedDays, WaterLost, Breathed, RestUsed, SproutMm,
            LightHours, WetHours, ColdHours, FreezingHours, SweetDegreeDays, WetRunHours, ChillDegreeDays,
        ];
        all.CopyTo(figures);
    }

    /// <summary>The state a lot of these traits was in when its figures were written down.</summary>
    /// <param name="traits">The traits it was folded with.</param>
    /// <param name="figures">What <see cref="CopyTo"/> wrote.</param>
    /// <exception cref="ArgumentException">Not one figure for each name.</exception>
    public static LotState From(LotTraits traits, ReadOnlySpan<double> figures)
    {
        ArgumentNullException.ThrowIfNull(traits);
        if (figures.Length != Names.Length)
            throw new ArgumentException($"There must be {Names.Length} figures.", nameof(figures));
        return new LotState(traits)
        {
            AgeDays = figures[0],
            PulpC = figures[1],
            HealedDays = figures[2],
            WaterLost = figures[3],
            Breathed = figures[4],
            RestUsed = figures[5],
            SproutMm = figures[6],
            LightHours = figures[7],
            WetHours = figures[8],
            ColdHours = figures[9],
            FreezingHours = figures[10],
            SweetDegreeDays = figures[11],
            WetRunHours = figures[12],
            ChillDegreeDays = figures[13],
        };
    }
}
