using RootCellar.Household;
using RootCellar.Science.Crops;

namespace RootCellar.Lots;

/// <summary>Dates to come and what is wrong with an air, in the words of the pages.</summary>
internal sealed class AheadWords(Show show)
{
    /// <summary>A date; what is further off than is looked ahead is said to be.</summary>
    /// <param name="when">The date.</param>
    /// <param name="until">So far is looked ahead.</param>
    public string Day(When when, DateOnly until) =>
        when.Likely is { } likely ? show.Day(likely) : Strings.AheadLater.With(show.Day(until));

    /// <summary>Its interval; null where it has none.</summary>
    public string? Between(When when) => when switch
    {
        { Early: { } early, Late: { } late } when show.Day(early) != show.Day(late) =>
            Strings.AheadBetween.With(show.Day(early), show.Day(late)),
        { Early: { } early, Likely: not null, Late: null } => Strings.DayNotBefore.With(show.Day(early)),
        { Early: { } early, Likely: null } => Strings.AheadEarliest.With(show.Day(early)),
        _ => null,
    };

    /// <summary>Until when it lasts.</summary>
    public string Lasts(LastsUntil lasts, DateOnly until) => lasts switch
    {
        { By: EndsBy.Frost, When.Likely: { } frost } => Strings.LastsTillFrost.With(show.Day(frost)),
        { When.Likely: { } likely } when likely <= show.Now => Strings.LastsOver,
        _ => Day(lasts.When, until),
    };

    /// <summary>The interval of that, and what ends it; null where nothing does in sight, or it has been said with the day.</summary>
    public string? By(LastsUntil lasts)
    {
        string? ends = lasts.By switch
        {
            EndsBy.Sprouts => Strings.EndsBySprouts,
            EndsBy.Shriveling => Strings.EndsByShriveling,
            EndsBy.Age => Strings.EndsByAge,
            _ => null,
        };
        if (ends is null || lasts.When.Likely <= show.Now) return ends;
        return Between(lasts.When) is { } between ? Strings.AheadBetweenThen.With(between, ends) : ends;
    }

    public string Held(Hold hold) => Strings.AheadHeldAt.With(Degrees(hold), Percent(hold));

    /// <summary>How heavy it would be if held, in a sentence.</summary>
    public string Held(Hold hold, string weight) => Strings.AheadHeldSays.With(Degrees(hold), Percent(hold), weight);

    private string Degrees(Hold hold) => Units.Number(show.Degrees(hold.TemperatureC), "0.#") + "\u00A0" + show.TemperatureUnit;

    private static string Percent(Hold hold) => Units.Number(hold.HumidityPercent, "0.#") + "\u00A0%";

    public string Caution(HoldCaution caution, Crop known, Hold hold)
    {
        var (name, at) = (CropWords.Name(known), show.Temperature(hold.TemperatureC));
        return caution switch
        {
            HoldCaution.Freezes => Strings.HoldFreezes.With(name, at, show.Temperature(known.FreezingPointC)),
            HoldCaution.NearFreezing => Strings.HoldNearFreezing.With(name, at, show.Temperature(known.FreezingPointC)),
            HoldCaution.Chills => Strings.HoldChills.With(name, show.Temperature(known.ChillingBelowC ?? 0)),
            _ => Strings.HoldTooDamp.With(
                name, Show.HumidityRange(known.Storage.HumidityLowPercent, known.Storage.HumidityHighPercent)),
        };
    }
}
