using RootCellar.Science.Crops;

namespace RootCellar.Watch;

/// <summary>A crop of a place, where harm begins for it, and whether the place is set up for it.</summary>
internal sealed record CropHarm(string Crop, HarmLimits Limits, bool Own);

/// <summary>Which limit of a room's air.</summary>
internal enum LimitSide
{
    Cold = 1,
    Warm = 2,
    Dry = 3,
    Wet = 4,
}

/// <summary>The crop that sets a limit, where it is harmed, and who says so.</summary>
/// <param name="At">C, or percent.</param>
internal sealed record LimitReason(LimitSide Side, string Crop, double At, string Source);

/// <summary>
/// The limits of a place's air that alarms go by: the strictest of every crop there, where a room can hold them apart. Where it cannot,
/// it does not suit some crop, which is named; temperature and humidity apart.
/// </summary>
/// <param name="ColdC">Too cold below, C.</param>
/// <param name="WarmC">Too warm above, C.</param>
/// <param name="DryPercent">Too dry below, %.</param>
/// <param name="WetPercent">Too damp above, %; 100 where nothing there is kept dry.</param>
/// <param name="Why">Which crop sets which limit.</param>
/// <param name="Unsuited">Crops that are harmed within the limits, once for each limit of theirs that is not held.</param>
internal sealed record AlarmLimits(
    double ColdC, double WarmC, double DryPercent, double WetPercent, IReadOnlyList<LimitReason> Why, IReadOnlyList<LimitReason> Unsuited)
{
    private const double NeverWet = 100;

    public bool KeptDry => WetPercent < NeverWet;

    /// <summary>
    /// In each figure the limits of as many crops as a room can serve at once, first of those it is set up for; of as many,
    /// those of the crop it is set up for first, then the widest.
    /// Temperature goes with whom humidity serves, where it might go with either.
    /// </summary>
    public static AlarmLimits Of(IReadOnlyList<CropHarm> crops)
    {
        var humidity = Held(
            [.. crops.Select(c => new Range(
                c, c.Limits.Dry, c.Limits.Wet ?? new Sourced(NeverWet, ""), LimitSide.Dry, LimitSide.Wet))],
            HarmLimits.LeastApartPercent, []);
        var temperature = Held(
            [.. crops.Select(c => new Range(c, c.Limits.Cold, c.Limits.Warm, LimitSide.Cold, LimitSide.Warm))], HarmLimits.LeastApartC,
            humidity.Unheld);
        return new AlarmLimits(
            temperature.Low.Low.Value, temperature.High.High.Value, humidity.Low.Low.Value, humidity.High.High.Value,
            [
                temperature.Low.AtLow, temperature.High.AtHigh, humidity.Low.AtLow,
                .. humidity.High.High.Value < NeverWet ? [humidity.High.AtHigh] : Array.Empty<LimitReason>(),
            ],
            [.. temperature.Unheld, .. humidity.Unheld]);
    }

    private static (Range Low, Range High, IReadOnlyList<LimitReason> Unheld) Held(
        IReadOnlyList<Range> all, double apart, IReadOnlyList<LimitReason> already)
    {
        // The slack is for limits converted from whole degrees F.
        var (low, high) = all.SelectMany(low => all.Select(high => (Low: low, High: high)))
            .Where(pair => pair.High.High.Value - pair.Low.Low.Value >= apart - 1e-9)
            .OrderByDescending(pair => all.Count(r => r.Harm.Own && Serves(pair.Low, pair.High, r)))
            .ThenByDescending(pair => all.Count(r => Serves(pair.Low, pair.High, r)))
            .ThenByDescending(pair => all.Count(r => Serves(pair.Low, pair.High, r) && already.All(u => u.Crop != r.Harm.Crop)))
            // Of as many, that crop's which the household named first.
            .ThenByDescending(pair => all.FirstOrDefault(r => r.Harm.Own) is { } first && Serves(pair.Low, pair.High, first))
            // No limit at all is wider than any.
            .ThenByDescending(pair => pair.High is { HighSide: LimitSide.Wet, High.Value: NeverWet })
            .ThenByDescending(pair => pair.High.High.Value - pair.Low.Low.Value)
            .First();
        return (low, high,
        [
            .. all.SelectMany(r => new[]
            {
                r.Low.Value > low.Low.Value ? r.AtLow : null,
                r.High.Value < high.High.Value ? r.AtHigh : null,
            }).OfType<LimitReason>(),
        ]);
    }

    private static bool Serves(Range low, Range high, Range crop) => low.Low.Value >= crop.Low.Value && high.High.Value <= crop.High.Value;

    private sealed record Range(CropHarm Harm, Sourced Low, Sourced High, LimitSide LowSide, LimitSide HighSide)
    {
        public LimitReason AtLow => new(LowSide, Harm.Crop, Low.Value, Low.Source);

        public LimitReason AtHigh => new(HighSide, Harm.Crop, High.Value, High.Source);
    }
}
