using RootCellar.Household;
using RootCellar.Ledger;

namespace RootCellar.Lots;

/// <summary>A promise in words.</summary>
internal static class PromiseWords
{
    public static string Kind(Promise promise) => promise.Grade is { } grade
        ? Strings.CropOfGrade.With(CropWords.Name(promise.Crop), grade)
        : CropWords.Name(promise.Crop);

    public static string Verdict(PromisePlan plan, Show show) => plan.Answer switch
    {
        CanMeet.Yes => Strings.CanBeMet,
        CanMeet.Likely => Strings.OnlyJust,
        _ => Strings.CannotBeMet.With(show.Rough(plan.ShortKg)),
    };

    public static string Due(DateOnly? due, Show show)
    {
        if (due is not { } day) return Strings.NoDue;
        var days = day.DayNumber - show.Today.DayNumber;
        return days < 0 ? Strings.DueLate.With(show.Day(day), -days) : days == 0 ? Strings.DueToday : days == 1
            ? Strings.DueTomorrow : Strings.DueIn.With(show.Day(day), days);
    }
}
