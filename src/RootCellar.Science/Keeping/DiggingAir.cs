namespace RootCellar.Science.Keeping;

/// <summary>An hour of outdoor air.</summary>
/// <param name="HoursAgo">0 for the hour that runs.</param>
/// <param name="HourOfDay">0 to 23 on the household's clock.</param>
/// <param name="TemperatureC">Mean of the hour, C; NaN where unknown.</param>
/// <param name="RelativeHumidityPercent">Mean of the hour, percent; NaN where unknown.</param>
public readonly record struct OutdoorHour(int HoursAgo, int HourOfDay, double TemperatureC, double RelativeHumidityPercent);

/// <summary>What the air outside says about digging.</summary>
public enum DiggingCaution
{
    /// <summary>Too little of the last day is known.</summary>
    Unknown,

    /// <summary>Frost that may have reached the tubers near the surface.</summary>
    HardFrost,

    /// <summary>A light frost, which kills vines.</summary>
    LightFrost,

    /// <summary>The soil is likely so cold that tubers bruise.</summary>
    ColdSoil,

    /// <summary>The morning is too cold, the afternoon is not.</summary>
    ColdMorning,

    /// <summary>Warm: dig early in the day.</summary>
    Warm,

    /// <summary>Hot: dig at daybreak, or wait.</summary>
    Hot,

    /// <summary>The air was saturated for half of a day or more: the soil is likely wet.</summary>
    Wet,

    /// <summary>The pulp or the soil, as measured, is out of the best range.</summary>
    Pulp,
}

/// <summary>A caution and the sentence for it.</summary>
/// <param name="What">What it is about.</param>
/// <param name="Words">In English, temperatures in both scales.</param>
/// <param name="TemperatureC">The temperature it is about, C; null where it is about none.</param>
public readonly record struct DiggingWord(DiggingCaution What, string Words, double? TemperatureC = null);

/// <summary>What the last two days' air says about digging today.</summary>
/// <param name="Cautions">The gravest first; empty where nothing speaks against it.</param>
/// <param name="KnownHours">How many of the last 24 hours are known.</param>
/// <param name="SaturatedHours">How many of them were saturated.</param>
/// <param name="LowC">Lowest hour of the last 24, C; NaN where none is known.</param>
/// <param name="HighC">Highest hour of the last 24, C; NaN where none is known.</param>
/// <param name="BestFrom">The hour of the day from which digging is best; null where one hour is as good as another.</param>
/// <param name="BestTo">The hour at which that ends.</param>
public sealed record DiggingToday(
    IReadOnlyList<DiggingWord> Cautions, int KnownHours, int SaturatedHours, double LowC, double HighC, int? BestFrom, int? BestTo);

/// <summary>
/// Cautions for digging potatoes from the air outside. Nothing here measures the soil or the rain: the soil at the depth of
/// tubers follows the air a few hours late and evened out, and damp air tells of wet soil only by likelihood.
/// </summary>
public static class DiggingAir
{
    /// <summary>Above this air, dig in the cool of the day, C: 70 F for soil and air (Univ. Nebraska CropWatch, soft rot).</summary>
    public const double WarmAboveC = 21.1;

    /// <summary>Above this air it is hot for digging, C: 80 F (common practice).</summary>
    public const double HotAboveC = 26.7;

    /// <summary>
    /// Below this tubers are harmed in the ground, C: 30 F; a light frost of 30 to 32 F they stand (Univ. Nebraska, Browning; Bethke).
    /// </summary>
    public const double HardFrostC = -1.1;

    /// <summary>Humidity from which a cheap sensor's air is taken as saturated, percent (assumed: 100 less its error of 3).</summary>
    public const double SaturatedPercent = 97;

    /// <summary>
    /// Saturated hours in 24 from which the soil is likely wet (assumed: dew alone takes a night, not half of the day and more).
    /// </summary>
    public const int WetHours = 12;

    /// <summary>Known hours in 24 that are asked for (assumed).</summary>
    public const int EnoughHours = 12;

    // A swing below this makes no hour better than another (assumed).
    private const double SwingC = 5;

    // Hours one digs in (common practice).
    private const int FirstHour = 6;
    private const int LastHour = 20;
    private const int Noon = 12;

    /// <summary>The cautions.</summary>
    /// <param name="hours">Up to 48 hours, in any order; those older than that are left out.</param>
    /// <param name="pulpC">Temperature inside a tuber or of the soil at its depth, C; NaN where no probe tells it.</param>
    public static DiggingToday Of(IEnumerable<OutdoorHour> hours, double pulpC)
    {
        ArgumentNullException.ThrowIfNull(hours);
        var known = hours.Where(h => h.HoursAgo is >= 0 and < 48 && !double.IsNaN(h.TemperatureC)).ToList();
        var day = known.Where(h => h.HoursAgo < 24).ToList();
        if (day.Count < EnoughHours)
        {
            DiggingWord little = new(DiggingCaution.Unknown,
                $"Only {day.Count} of the last 24 hours outside are known: put a thermometer into a potato, and look at the soil.");
            var measured = Measured(pulpC);
            return new(measured is { } m ? [m, little] : [little], day.Count, 0, double.NaN, double.NaN, null, null);
        }

        double low = day.Min(h => h.TemperatureC), high = day.Max(h => h.TemperatureC);
        int saturated = day.Count(h => h.RelativeHumidityPercent >= SaturatedPercent);
        var best = Best(day, high - low);
        // Where warmth says dig in the morning, and the morning was wet, no hour is best.
        if (high > WarmAboveC && best is { From: >= Noon })
            best = null;
        return new([.. Cautions(known, low, high, saturated, pulpC)], day.Count, saturated, low, high, best?.From, best?.To);
    }

    private static IEnumerable<DiggingWord> Cautions(List<OutdoorHour> known, double low, double high, int saturated, double pulpC)
    {
        double coldest = known.Min(h => h.TemperatureC);
        if (coldest < HardFrostC)
            yield return new(DiggingCaution.HardFrost,
                $"The air was down to {Said.Degrees(coldest)} in the last two days: potatoes near the surface may have frozen. Dig a few and cut them; do not dig while they are frozen, and keep what comes from near the surface apart.", coldest);
        else if (coldest < 0)
            yield return new(DiggingCaution.LightFrost,
                $"A light frost, {Said.Degrees(coldest)}: potatoes stand it in the ground, vines do not. If they are dead, write it down.",
                coldest);
        if (Measured(pulpC) is { } pulp)
            yield return pulp;
        else if (double.IsNaN(pulpC) && known.Sum(h => h.TemperatureC) / known.Count < RotRisk.AvoidBelowC)
            yield return new(DiggingCaution.ColdSoil,
                $"The last two days were cold: the soil at the potatoes is likely below {Said.Degrees(RotRisk.AvoidBelowC)}, where they bruise. Put a thermometer into a potato, and dig in the middle of the afternoon.");
        else if (double.IsNaN(pulpC) && low < RotRisk.AvoidBelowC)
            yield return new(DiggingCaution.ColdMorning,
                $"The night was down to {Said.Degrees(low)}: potatoes bruise most in the cold of the morning, so begin when the soil has warmed.", low);
        if (high > HotAboveC)
            yield return new(DiggingCaution.Hot,
                $"It reached {Said.Degrees(high)} outside: warm potatoes rot. Dig at daybreak, stop when the pulp is above {Said.Degrees(RotRisk.StopAboveC)}, and get them out of the sun within the hour.", high);
        else if (high > WarmAboveC)
            yield return new(DiggingCaution.Warm,
                $"It reached {Said.Degrees(high)} outside: dig in the cool of the morning, stop when the pulp is above {Said.Degrees(RotRisk.StopAboveC)}, and leave no potatoes in the sun.", high);
        if (saturated >= WetHours)
            yield return new(DiggingCaution.Wet,
                $"The air outside was saturated for {saturated} of the last 24 hours, so the soil is likely wet. Soil wet for more than a day before digging makes rot likelier: let it dry, or say so when you dig.");
    }

    private static DiggingWord? Measured(double pulpC) =>
        RotRisk.AtDigging(pulpC) is null or DiggingPulp.Best ? null : new(DiggingCaution.Pulp, RotRisk.DiggingWords(pulpC), pulpC);

    // The longest run of hours neither cold nor warm, by the last day's air.
    private static (int From, int To)? Best(List<OutdoorHour> day, double swing)
    {
        if (swing < SwingC)
            return null;
        bool[] good = new bool[24];
        foreach (var hour in day)
            good[hour.HourOfDay] = hour.TemperatureC is >= RotRisk.AvoidBelowC and <= WarmAboveC
                && !(hour.RelativeHumidityPercent >= SaturatedPercent);
        (int From, int To)? best = null;
        for (int from = FirstHour; from < LastHour; from++)
        {
            int to = from;
            while (to < LastHour && good[to])
                to++;
            if (to - from >= 2 && (best is not { } b || to - from > b.To - b.From))
                best = (from, to);
        }

        return best is { From: FirstHour, To: LastHour } ? null : best;
    }
}
