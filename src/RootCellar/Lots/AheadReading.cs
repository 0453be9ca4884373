using RootCellar.Science;
using RootCellar.Science.Air;

namespace RootCellar.Lots;

/// <summary>Air somebody asks about: "if you held it at".</summary>
internal readonly record struct Hold(double TemperatureC, double HumidityPercent)
{
    /// <summary>What a cellar for potatoes and roots is often held at: 40 F and 92 %.</summary>
    public static readonly Hold Usual = new(Math.Round(Fahrenheit.ToCelsius(40), 2), 92);

    public const double ColdestC = -20, WarmestC = 50, DriestPercent = 1, DampestPercent = 100;

    /// <summary>Null where no lot can be reckoned in it.</summary>
    public static Hold? Of(double temperatureC, double humidityPercent) =>
        temperatureC is >= ColdestC and <= WarmestC && humidityPercent is >= DriestPercent and <= DampestPercent
            ? new Hold(Math.Round(temperatureC, 2), Math.Round(humidityPercent, 2)) : null;
}

/// <summary>What is wrong with air a crop would be held in, that the reckoning does not show.</summary>
internal enum HoldCaution
{
    /// <summary>It may freeze.</summary>
    Freezes,

    /// <summary>The coldest corner may be near freezing.</summary>
    NearFreezing,

    /// <summary>Cold hurts this crop without freezing it.</summary>
    Chills,

    /// <summary>Much damper than it wants: rot and mold, which are not foreseen.</summary>
    TooDamp,
}

/// <summary>A day to come of a lot: its beginning, but for today, which is now.</summary>
/// <param name="Kg">What is there now will weigh then, with its 90 % interval.</param>
/// <param name="HealedPercent">Of full healing, by its middle; null where it is not cured.</param>
internal sealed record AheadStep(DateOnly On, DateTimeOffset At, Interval Kg, double? HealedPercent);

/// <summary>What a lot comes to along one way.</summary>
/// <param name="Steps">Week by week until it ends, four weeks at least.</param>
/// <param name="Fit">When it is fit to move; null where it is not cured.</param>
/// <param name="Healed">When it is fully healed; null where it is not cured.</param>
/// <param name="Sprouts">When the first sprouts show, or were seen; null where dormancy is not followed.</param>
/// <param name="Sprouted">When most of it has sprouted; null where dormancy is not followed.</param>
internal sealed record AheadCourse(
    IReadOnlyList<AheadStep> Steps, When? Fit, When? Healed, When? Sprouts, When? Sprouted, LastsUntil Lasts);

/// <summary>A lot as it goes and, where somebody asked, as it would if held.</summary>
/// <param name="Lot">As it is now.</param>
/// <param name="Assumed">Whether the air it stands in is assumed, nothing having been measured for three days.</param>
internal sealed record LotAhead(LotEstimate Lot, bool Assumed, AheadCourse Present, AheadCourse? Held, IReadOnlyList<HoldCaution> Cautions);

/// <summary>A day to come of several lots together.</summary>
/// <param name="Kg">All that is there now will weigh then.</param>
/// <param name="LastsKg">Of that, what is in lots that still last then.</param>
internal sealed record CellarStep(DateOnly On, DateTimeOffset At, Interval Kg, Interval LastsKg);

/// <summary>All lots of a crop, or all together.</summary>
/// <param name="Crop">Null: all of them.</param>
/// <param name="Present">As it goes, week by week.</param>
/// <param name="Held">If held; null where nobody asked.</param>
internal sealed record CellarAhead(string? Crop, IReadOnlyList<CellarStep> Present, IReadOnlyList<CellarStep>? Held);

/// <summary>What is ahead, as everybody is told it. Never changes; safe from any thread.</summary>
/// <param name="At">The moment it starts from; null before the first look at the lots.</param>
/// <param name="Until">So far is looked ahead.</param>
/// <param name="Hold">The air that was asked about.</param>
/// <param name="Cellar">All of it; null where nothing is in bins.</param>
/// <param name="Crops">The same by crop.</param>
/// <param name="Lots">Those with something in bins that are followed, the first to end first.</param>
/// <param name="NotFollowed">Those with something in bins that are not, and why: counted by the book.</param>
/// <param name="NotInBins">Dug, and in no bin yet.</param>
internal sealed record AheadReading(
    DateTimeOffset? At, DateOnly Until, Hold? Hold, CellarAhead? Cellar, IReadOnlyList<CellarAhead> Crops, IReadOnlyList<LotAhead> Lots,
    IReadOnlyList<Unfollowed> NotFollowed, IReadOnlyList<string> NotInBins)
{
    public const int StepDays = 7;

    /// <summary>The last whole week that is looked ahead from a day.</summary>
    public static DateOnly Horizon(DateOnly today) => today.AddDays(Ahead.Days / StepDays * StepDays);

    public LotAhead? Of(string lot) => Lots.FirstOrDefault(l => string.Equals(l.Lot.Lot, lot, StringComparison.Ordinal));
}
