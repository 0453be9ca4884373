using RootCellar.Ledger;
using RootCellar.Lots;
using RootCellar.Places;

namespace RootCellar.Pages.Bins;

/// <summary>Where a bin goes next, so that one tap is enough: the place its dates are reckoned with.</summary>
internal static class MoveTo
{
    /// <summary>
    /// The place its estimate has it go to. A bin without an estimate goes from the curing room, or from nowhere, to the only storage
    /// place. Null where nothing speaks for one place, and where it is thought to stay.
    /// </summary>
    public static Place? Proposed(LotViews views, BinView bin, IReadOnlyList<Place> places)
    {
        // An estimate of before the last move says nothing of the next.
        if (bin.Place is not null && views.Of(bin) is { } estimate && estimate.Place == bin.Place)
            return estimate.Advice.Says == AdviceSays.Chilling ? places.FirstOrDefault(p => p.Id == estimate.Advice.Figures.To)
                : estimate.Way.Moves ? places.FirstOrDefault(p => p.Id == estimate.Way.Place) : null;
        if (bin.Place is not null && places.FirstOrDefault(p => p.Id == bin.Place) is { Purpose: not Purpose.Curing }) return null;
        return places.Where(p => p.Purpose == Purpose.Storage).Take(2).ToList() is [var only] ? only : null;
    }
}
