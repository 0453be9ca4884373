using RootCellar.Ledger;
using RootCellar.Places;

namespace RootCellar.Watch;

/// <summary>
/// The limits in force in a place over time: what it is set up for, and the crops of the bins that stood there by the book.
/// </summary>
internal static class BandsOver
{
    public static IReadOnlyList<(DateTimeOffset From, DateTimeOffset To, Band Band)> Of(
        Book book, BandsInForce bands, Place place, DateTimeOffset from, DateTimeOffset to)
    {
        if (place.Purpose == Purpose.Outdoors) return [];
        var changes = new SortedDictionary<DateTimeOffset, List<(string Crop, int By)>>();
        foreach (var (bin, _, came, went) in StaysIn(book, place.Id))
        {
            Change(came, book.Lots[bin.Lot].Crop, 1);
            if (went is { } end) Change(end, book.Lots[bin.Lot].Crop, -1);
        }

        var there = new Dictionary<string, int>(StringComparer.Ordinal);
        var used = false;
        var stretches = new List<(DateTimeOffset From, DateTimeOffset To, Band Band)>();
        var begun = from;
        var band = InForce();
        foreach (var (at, list) in changes)
        {
            foreach (var (crop, by) in list) there[crop] = there.GetValueOrDefault(crop) + by;
            used = true;
            var next = InForce();
            if (next?.Figures == band?.Figures) continue;
            Close(at);
            (begun, band) = (at > from ? at : from, next);
        }

        Close(to);
        return stretches;

        void Change(DateTimeOffset at, string crop, int by)
        {
            if (!changes.TryGetValue(at, out var list)) changes.Add(at, list = []);
            list.Add((crop, by));
        }

        // Once emptied, nothing goes by its air until something stands there again.
        Band? InForce() => used && !place.WatchEmpty && there.Values.All(n => n <= 0) ? null : bands.For(
            place, there.Where(t => t.Value > 0).Select(t => t.Key).Order(StringComparer.Ordinal));

        void Close(DateTimeOffset at)
        {
            var end = at < to ? at : to;
            if (band is not null && end > begun) stretches.Add((begun, end, band));
        }
    }

    /// <summary>Every stay of a bin in a place, with where it went next; null: it was emptied there, or stands there still.</summary>
    public static IEnumerable<(BinView Bin, string? Next, DateTimeOffset Came, DateTimeOffset? Went)> StaysIn(Book book, string place)
    {
        foreach (var bin in book.AllBins)
        {
            for (int i = 0; i < bin.Stays.Count; i++)
            {
                if (bin.Stays[i].Place != place) continue;
                bool last = i + 1 == bin.Stays.Count;
                yield return (bin, last ? null : bin.Stays[i + 1].Place, bin.Stays[i].From, last ? bin.EmptiedAt : bin.Stays[i + 1].From);
            }
        }
    }
}
