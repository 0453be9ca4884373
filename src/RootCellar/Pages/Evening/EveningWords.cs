using Microsoft.AspNetCore.Mvc.ViewFeatures;
using RootCellar.Household;

namespace RootCellar.Pages.Evening;

/// <summary>What the steps of the first evening have in common.</summary>
internal static class EveningWords
{
    private const int MostNames = 4;

    /// <summary>The household's clock, units and language, in one line.</summary>
    public static string Household(HouseholdOptions household, Languages languages, Show show) =>
        $"{household.Zone().Id} · {show.TemperatureUnit}, {show.WeightUnit} · {languages.Household.Name}";

    public static string Names(IEnumerable<string> names) => PlaceForm.First([.. names], MostNames);

    /// <summary>A page's title, where it is in the row of steps, and the way back.</summary>
    public static void Head(ViewDataDictionary view, FirstEvening evening, EveningStep step, string? title = null, string? back = null)
    {
        view["Title"] = title ?? FirstEvening.Title(step);
        view["Back"] = evening.IsOver ? "/set-up" : back ?? (step == EveningStep.Household ? FirstEvening.Address : evening.AddressOf(step - 1));
        if (!evening.IsOver) view["Beside"] = Strings.EveningOf.With((int)step + 1, FirstEvening.Count);
        // Forms that are for more than this step fold what can wait.
        view["Brief"] = true;
    }
}
