using RootCellar.Ledger;

namespace RootCellar.Lots;

/// <summary>Whether the promises of now can be met: worked out once for each book and each look at the lots, however many ask. Safe from any thread.</summary>
internal sealed class PromisePlans(LedgerDoor door, LotKeeper keeper)
{
    private volatile Made? made;

    public IReadOnlyList<PromisePlan> Now
    {
        get
        {
            var (book, views) = (door.Book, keeper.Views);
            if (made is { } last && ReferenceEquals(last.Book, book) && ReferenceEquals(last.Views, views)) return last.Plans;
            var next = new Made(book, views, AcrossBins.Promises(book, views));
            made = next;
            return next.Plans;
        }
    }

    private sealed record Made(Book Book, LotViews Views, IReadOnlyList<PromisePlan> Plans);
}
