using RootCellar.Household;
using RootCellar.Ledger;
using RootCellar.Lots;
using RootCellar.Places;

namespace RootCellar.Pages.Bins;

/// <summary>What dates to come rest on, in the words of the pages: the way a bin is thought to take, and what a person saw.</summary>
internal sealed class WayWords(Show show)
{
    /// <summary>"if moved to Cellar about 14 Oct", "if left here".</summary>
    public string Of(WayAhead way, IReadOnlyList<Place> places)
    {
        string says = !way.Moves ? Strings.WayIfLeft
            : way.Since <= show.Now.AddDays(1) ? Strings.WayIfMovedNow.With(PlaceName(way, places))
            : Strings.WayIfMoved.With(PlaceName(way, places), show.Day(way.Since!.Value));
        return way.Assumed ? Strings.WayAirAssumed.With(says) : says;
    }

    /// <summary>"You saw a few sprouts on 15 Sep".</summary>
    public string Saw(SproutsLook look) => (look.Share switch
    {
        "few" => Strings.SawFewSprouts,
        "half" => Strings.SawHalfSprouted,
        "most" => Strings.SawMostSprouted,
        _ => Strings.SawNoSprouts,
    }).With(show.Day(look.At));

    /// <summary>A date with its interval.</summary>
    public string Between(When when, DateTimeOffset likely) => when is { Early: { } early, Late: { } late }
        && show.Day(early) != show.Day(late)
        ? Strings.DayBetween.With(show.Day(likely), show.Day(early), show.Day(late))
        : show.Day(likely);

    private static string PlaceName(WayAhead way, IReadOnlyList<Place> places) =>
        way.Place is null ? Strings.WayAStore : EntryWords.PlaceName(way.Place, places);
}
