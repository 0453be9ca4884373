using RootCellar.Household;
using RootCellar.Lots;
using RootCellar.Pages.Bins;
using RootCellar.Science.Crops;

namespace RootCellar.Pages.Foreseen;

/// <summary>Dates to come and what is wrong with an air, in the words of the pages.</summary>
internal sealed class AheadWords(WayWords ways, Show show)
{
    /// <summary>A date with its interval; what is further off than is looked ahead is said to be.</summary>
    /// <param name="until">So far is looked ahead.</param>
    public string Day(When when, DateOnly until) => when switch
    {
        { Likely: { } likely, Late: not null } => ways.Between(when, likely),
        { Likely: { } likely, Early: { } early } => Strings.DayNotBefore.With(show.Day(likely), show.Day(early)),
        { Early: { } early } => Strings.AheadLaterFrom.With(show.Day(until), show.Day(early)),
        _ => Strings.AheadLater.With(show.Day(until)),
    };

    public string Lasts(LastsUntil lasts, DateOnly until) => lasts switch
    {
        { By: EndsBy.Frost, When.Likely: { } frost } => Strings.LastsTillFrost.With(show.Day(frost)),
        { When.Likely: { } likely } when likely <= show.Now => Strings.LastsOver,
        _ => Day(lasts.When, until),
    };

    /// <summary>What ends it; null where nothing does in sight, or it has been said with the day.</summary>
    public static string? By(LastsUntil lasts) => lasts.By switch
    {
        EndsBy.Sprouts => Strings.EndsBySprouts,
        EndsBy.Shriveling => Strings.EndsByShriveling,
        EndsBy.Age => Strings.EndsByAge,
        _ => null,
    };

    public string Held(Hold hold) => Strings.AheadHeldAt.With(
        Units.Number(show.Degrees(hold.TemperatureC), "0.#") + "\u00A0" + show.TemperatureUnit,
        Units.Number(hold.HumidityPercent, "0.#") + "\u00A0%");

    public string Caution(HoldCaution caution, string crop, Hold hold)
    {
        var (name, known, at) = (CropWords.Name(crop), CropTable.Default.Find(crop)!, show.Temperature(hold.TemperatureC));
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
