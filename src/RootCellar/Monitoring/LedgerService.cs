using RootCellar.Diagnostics;
using RootCellar.Ledger;
using RootCellar.Storage;

namespace RootCellar.Monitoring;

/// <summary>Opens the book, and tells the house what stands where whenever it changes.</summary>
internal sealed class LedgerService(LedgerDoor door, Store store, Pipeline pipeline, FailedWork failed) : IHostedService
{
    public async Task StartAsync(CancellationToken cancellationToken)
    {
        door.KnownPlaces = () => pipeline.Snapshot.Places.Select(p => p.Place.Id).ToHashSet(StringComparer.Ordinal);
        door.BookChanged += Follow;
        door.Load();
        if (door.Trouble is null && store.StartProblem is null) await OwnCropFile.TakeAsync(door, store.Folder);
    }

    public Task StopAsync(CancellationToken cancellationToken)
    {
        door.BookChanged -= Follow;
        return Task.CompletedTask;
    }

    // The first try begins here and now, so that whoever changed the book finds it followed; a later one takes the book as it is then.
    private void Follow(object? sender, BookChange change) => failed.Run("watch", "following what stands in which place", stopping =>
    {
        var book = door.Book;
        var (crops, used) = (book.CropsByPlace(), book.PlacesUsed());
        return pipeline.AskAsync(
            (house, _, _) =>
            {
                house.SetBins(crops, used, book.Crops);
                return true;
            },
            stopping);
    });
}
