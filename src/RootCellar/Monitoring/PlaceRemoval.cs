using RootCellar.Ledger;
using RootCellar.Storage;

namespace RootCellar.Monitoring;

/// <summary>What became of the wish to take a place away. Done where it was there and nothing stood in it.</summary>
/// <param name="Known">Whether there was such a place.</param>
/// <param name="Sensors">The sensors that are in it, by their name, or their topic where they have none.</param>
/// <param name="Bins">The bins that stand there by the book and are not empty.</param>
internal sealed record PlaceRemoved(bool Known, IReadOnlyList<string> Sensors, IReadOnlyList<string> Bins)
{
    public bool Done => Known && Sensors.Count == 0 && Bins.Count == 0;
}

/// <summary>Takes a place away that holds nothing. Neither a sensor nor a bin can come in while it is looked at.</summary>
internal sealed class PlaceRemoval(LedgerDoor ledger, Pipeline pipeline, Store store)
{
    /// <exception cref="StoreProblemException">The record cannot be read or written now, so what stands there is not known or would come
    /// back.</exception>
    public Task<PlaceRemoved> RemoveAsync(string place, CancellationToken cancellationToken)
    {
        if (store.StartProblem is { } problem) throw new StoreProblemException(problem);
        return ledger.HoldAsync(
            book => pipeline.AskAsync(
                (house, wall, mono) =>
                {
                    if (house.View(place) is not { } view) return new PlaceRemoved(false, [], []);
                    var found = new PlaceRemoved(true, [.. view.Sensors.Select(s => s.Called)], book.BinsAt(place));
                    if (found.Done) house.RemovePlace(place, mono, wall);
                    return found;
                },
                // Not in the middle of it: the book is held until the place is gone.
                CancellationToken.None),
            cancellationToken).WaitAsync(cancellationToken);
    }
}
