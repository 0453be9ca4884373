using RootCellar.Household;
using RootCellar.Lots;

namespace RootCellar.Pages.Bins;

/// <summary>What an estimate of weight was learned from.</summary>
internal static class LearnedWords
{
    /// <param name="from">The weigh-ins.</param>
    /// <param name="place">What the place is called where the bin stands.</param>
    /// <param name="variety">Its variety; null where nobody said.</param>
    /// <returns>Nothing, where nothing was weighed.</returns>
    public static IEnumerable<string> Of(LearnedFrom from, string? place, string? variety)
    {
        if (from is { Own: > 0 } or { Others: > 0 }) yield return Of(from.Own, from.Others);
        if (from.Variety > 0 && variety is not null) yield return Strings.LearnedVariety.With(variety, from.Variety);
        if (from.Place > 0 && place is not null) yield return Strings.LearnedPlace.With(place, from.Place);
    }

    private static string Of(int own, int others) => (own, others) switch
    {
        (1, 0) => Strings.LearnedOwnOne,
        (_, 0) => Strings.LearnedOwn.With(own),
        (0, 1) => Strings.LearnedOthersOne,
        (0, _) => Strings.LearnedOthers.With(others),
        _ => Strings.LearnedBoth.With(own, others),
    };
}
