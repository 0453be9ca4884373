using RootCellar.Ledger;

namespace RootCellar.Pages.Bins;

/// <summary>What empty bins weigh, as it was last taken off.</summary>
internal static class Tares
{
    /// <summary>
    /// The empty weight, kg, that was taken off a bin when it was last weighed, or off the last bin of the household where it is not known
    /// of this one; null where the scale was set to zero then.
    /// </summary>
    public static Func<string?, double?> Of(Book book)
    {
        var all = book.AllBins.SelectMany(b => Taken(b).Select(t => (b.Id, t.At, t.TareKg))).OrderBy(t => t.At).ToList();
        var of = new Dictionary<string, double?>(StringComparer.Ordinal);
        foreach (var (id, _, tare) in all) of[id] = tare;
        var last = all.LastOrDefault().TareKg;
        return id => id is not null && of.TryGetValue(id, out var its) ? its : last;
    }

    private static IEnumerable<(DateTimeOffset At, double? TareKg)> Taken(BinView bin)
    {
        foreach (var w in bin.Weighings) yield return (w.At, w.TareKg);
        if (bin.TareKg is { } filled) yield return (bin.FilledAt, filled);
    }
}
