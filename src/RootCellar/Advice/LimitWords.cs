using RootCellar.Household;
using RootCellar.Watch;

namespace RootCellar.Advice;

/// <summary>Where alarms begin, for whose sake, and whom a place does not suit; in the figures of whoever asks.</summary>
internal static class LimitWords
{
    /// <summary>"below 34 °F, above 45 °F, drier than 80 %".</summary>
    public static string Said(AlarmLimits limits, Func<double, string> degrees, Func<double, string> percent)
    {
        var said = Strings.LimitsSaid.With(degrees(limits.ColdC), degrees(limits.WarmC), percent(limits.DryPercent));
        return limits.KeptDry ? Strings.LimitsSaidWet.With(said, percent(limits.WetPercent)) : said;
    }

    /// <summary>"Potato is harmed below 34 °F."</summary>
    public static string Harmed(LimitReason reason, Func<double, string> degrees, Func<double, string> percent) =>
        Strings.Harmed.With(CropWords.Name(reason.Crop), Where(reason, degrees, percent));

    /// <summary>A sentence for each crop that the place does not suit.</summary>
    public static IEnumerable<string> DoesNotSuit(AlarmLimits limits, Func<double, string> degrees, Func<double, string> percent) =>
        Unsuited(limits, Strings.DoesNotSuit, degrees, percent);

    /// <summary>The same for a line among others.</summary>
    public static IEnumerable<string> DoesNotSuitShort(AlarmLimits limits, Func<double, string> degrees, Func<double, string> percent) =>
        Unsuited(limits, Strings.DoesNotSuitShort, degrees, percent);

    private static IEnumerable<string> Unsuited(
        AlarmLimits limits, string pattern, Func<double, string> degrees, Func<double, string> percent) => limits.Unsuited
        .GroupBy(u => u.Crop, StringComparer.Ordinal)
        .Select(crop => pattern.With(
            CropWords.Name(crop.Key), string.Join(", ", crop.Select(reason => Where(reason, degrees, percent)))));

    private static string Where(LimitReason reason, Func<double, string> degrees, Func<double, string> percent) => reason.Side switch
    {
        LimitSide.Cold => Strings.HarmCold.With(degrees(reason.At)),
        LimitSide.Warm => Strings.HarmWarm.With(degrees(reason.At)),
        LimitSide.Dry => Strings.HarmDry.With(percent(reason.At)),
        _ => Strings.HarmWet.With(percent(reason.At)),
    };
}
