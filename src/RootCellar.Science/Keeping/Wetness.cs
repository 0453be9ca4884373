namespace RootCellar.Science.Keeping;

/// <summary>How near a lot is to getting wet.</summary>
public enum WetnessLevel
{
    /// <summary>The coldest produce is well above the dew point.</summary>
    Dry,

    /// <summary>The sensor is too near its ceiling to tell.</summary>
    MaybeSaturated,

    /// <summary>Little is left.</summary>
    Caution,

    /// <summary>A film forms, for less than the grace so far.</summary>
    Wetting,

    /// <summary>It is wet.</summary>
    Wet,
}

/// <summary>
/// Water on the produce. It falls out where the coldest produce is below the dew point of the air, which is what every drop
/// in skin resistance measured in stores turned out to be (Pringle and Robinson 1996).
/// </summary>
/// <remarks>
/// At 95 % the margin is 0.8 C, and an error of 3 % in humidity moves the dew point 0.5 C (derived): a margin alone tells
/// little in a damp cellar; air warming past the produce, or a door opened to warm air, tells more.
/// </remarks>
public static class Wetness
{
    /// <summary>Margin below which it is said, C (assumed; AHDB 2014: a change of 1.5 C is enough at 90 %).</summary>
    public const double CautionMarginC = 1.0;

    /// <summary>A film gone sooner than this does nothing yet, h (assumed).</summary>
    public const double GraceHours = 0.5;

    /// <summary>
    /// Readings above this may be of saturated air, percent (cheap parts are not specified better than 3 to 5 % there: their data sheets).
    /// </summary>
    public const double MaybeSaturatedPercent = 95;

    /// <summary>
    /// Wet hours a step adds: none while the film is within the grace, then the whole of it at once, so that the sum is the
    /// length of every film that outlasted the grace.
    /// </summary>
    /// <param name="runBeforeHours">Hours the film had lasted before the step.</param>
    /// <param name="runAfterHours">Hours it has lasted after it; 0 once dry.</param>
    public static double CountedHours(double runBeforeHours, double runAfterHours)
    {
        if (runAfterHours <= GraceHours)
            return 0;
        return runBeforeHours <= GraceHours ? runAfterHours : runAfterHours - runBeforeHours;
    }

    /// <summary>How it stands now.</summary>
    /// <param name="marginC">Margin, C; NaN where not known.</param>
    /// <param name="runHours">Hours the present film has lasted.</param>
    /// <param name="relativeHumidityPercent">The reading, percent; NaN where not known.</param>
    public static WetnessLevel Level(double marginC, double runHours, double relativeHumidityPercent = double.NaN)
    {
        if (marginC < 0)
            return runHours > GraceHours ? WetnessLevel.Wet : WetnessLevel.Wetting;
        if (relativeHumidityPercent > MaybeSaturatedPercent)
            return WetnessLevel.MaybeSaturated;
        return marginC < CautionMarginC ? WetnessLevel.Caution : WetnessLevel.Dry;
    }

    /// <summary>What to say of it now.</summary>
    public static string Words(double marginC, double runHours, double relativeHumidityPercent = double.NaN) =>
        Level(marginC, runHours, relativeHumidityPercent) switch
        {
            WetnessLevel.Wet =>
                $"Water has stood on the coldest produce for about {Said.Hours(runHours)}: wounds do not heal under it and rot spreads; move dry air through, and keep warm damp air out.",
            WetnessLevel.Wetting =>
                "The coldest produce is below the dew point, so water is forming on it: keep damp air out and let dry air through.",
            WetnessLevel.MaybeSaturated =>
                $"The sensor reads {Said.Number(relativeHumidityPercent)} %, so near its ceiling that the air may be saturated: feel the produce for water.",
            WetnessLevel.Caution =>
                $"The coldest produce is only {Said.DegreesApart(marginC)} above the dew point: warm or damp air let in now would wet it.",
            _ => double.IsNaN(marginC)
                ? "Whether water forms on the produce is not known: dew point or produce temperature is missing."
                : $"The coldest produce is {Said.DegreesApart(marginC)} above the dew point: no water forms on it.",
        };
}
