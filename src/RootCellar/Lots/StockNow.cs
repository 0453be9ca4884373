using System.Collections.Concurrent;
using RootCellar.Ledger;

namespace RootCellar.Lots;

/// <summary>
/// Stock and promises as they stand now: worked out once for each book and each look at the lots, however many ask. Safe from any thread.
/// </summary>
internal sealed class StockNow(LedgerDoor door, LotKeeper keeper)
{
    private const int DaysKept = 16;

    private volatile StockPicture? made;

    /// <summary>Whether each open promise can be met, and from which bins.</summary>
    public IReadOnlyList<PromisePlan> Promises => Now.Promises.Value;

    /// <summary>What will be left on a day, less all open promises.</summary>
    public ExpectedStock On(DateOnly on)
    {
        var now = Now;
        if (now.Days.Count >= DaysKept) now.Days.Clear();
        return now.Days.GetOrAdd(on, day => AcrossBins.On(now.Book, now.Views, day, now.Promises.Value));
    }

    private StockPicture Now
    {
        get
        {
            var (book, views) = (door.Book, keeper.Views);
            return made is { } last && ReferenceEquals(last.Book, book) && ReferenceEquals(last.Views, views) ? last : made =
                new StockPicture(book, views);
        }
    }

    private sealed class StockPicture(Book book, LotViews views)
    {
        public Book Book => book;

        public LotViews Views => views;

        public ConcurrentDictionary<DateOnly, ExpectedStock> Days { get; } = new();

        public Lazy<IReadOnlyList<PromisePlan>> Promises { get; } = new(() => AcrossBins.Promises(book, views));
    }
}
