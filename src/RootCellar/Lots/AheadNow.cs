using System.Collections.Concurrent;
using RootCellar.Ledger;

namespace RootCellar.Lots;

/// <summary>
/// What is ahead as it stands now: worked out once for each book, each look at the lots and each air asked about, however many ask. Safe
/// from any thread.
/// </summary>
internal sealed class AheadNow(LedgerDoor door, LotKeeper keeper)
{
    // Beside the one without: who tries one air after the other does not fill the memory.
    private const int HoldsKept = 8;

    private readonly Lock one = new();
    private volatile Picture? made;

    /// <param name="hold">Air to be held beside the present course; null: none.</param>
    public AheadReading Of(Hold? hold)
    {
        var now = Now;
        return now.Readings.TryGetValue(hold ?? default, out var known) ? known : Make(now, hold);
    }

    // One after the other: whoever asks for many airs at once waits, and the rest of the service does not.
    private AheadReading Make(Picture now, Hold? hold)
    {
        lock (one)
        {
            if (now.Readings.TryGetValue(hold ?? default, out var known)) return known;
            if (now.Readings.Count > HoldsKept) now.Readings.Clear();
            return now.Readings[hold ?? default] = new AheadMaker(now.Book, now.Views, hold).Make(now.Today);
        }
    }

    /// <summary>One thing as long as every answer stays the same.</summary>
    public object Key => Now;

    private Picture Now
    {
        get
        {
            var (book, views, today) = (door.Book, keeper.Views, door.Today);
            return made is { } last && ReferenceEquals(last.Book, book) && ReferenceEquals(last.Views, views) && last.Today == today
                ? last : made = new Picture(book, views, today);
        }
    }

    /// <param name="today">Days to come are the household's, counted from it.</param>
    private sealed class Picture(Book book, LotViews views, DateOnly today)
    {
        public Book Book => book;

        public LotViews Views => views;

        public DateOnly Today => today;

        /// <summary>By the air asked about; where none was, under no air at all (0 C and 0 %, which nobody can ask for).</summary>
        public ConcurrentDictionary<Hold, AheadReading> Readings { get; } = new();
    }
}
