namespace RootCellar.Ledger;

/// <summary>What there is of one crop and grade (null: no grade) and what is promised of it.</summary>
/// <param name="ExpectedShrinkKg">What is expected to be lost until the date; null while nobody estimates it.</param>
internal sealed record StockLine(string Crop, string? Grade, double BookKg, double? ExpectedShrinkKg, double PromisedKg)
{
    public double LessPromisedKg => Math.Round(BookKg - (ExpectedShrinkKg ?? 0) - PromisedKg, 3);
}

/// <summary>Stock by crop and grade.</summary>
internal static class Stock
{
    /// <summary>
    /// What is in bins by the book, less what is promised up to a day and has not gone out yet. A promise without a grade stands in the line
    /// without one, which may be below 0 while the graded lines of the crop cover it.
    /// </summary>
    /// <param name="expectedShrinkKg">What a bin is expected to lose until that day, where somebody estimates it.</param>
    public static IReadOnlyList<StockLine> On(Book book, DateOnly day, Func<BinView, double>? expectedShrinkKg = null)
    {
        var there = book.AllBins.Where(b => b.EmptiedAt is null).ToLookup(b => (book.Lots[b.Lot].Crop, b.Grade));
        var open = book.Orders.Where(p => p.Due is not { } due || due <= day).ToLookup(p => (p.Crop, p.Grade));
        return
        [
            .. there.Select(g => g.Key).Union(open.Where(g => g.Any(p => p.OpenGrams > 0)).Select(g => g.Key))
                .OrderBy(k => k.Crop, StringComparer.Ordinal)
                .ThenBy(k => k.Grade, StringComparer.Ordinal)
                .Select(k => new StockLine(
                    k.Crop,
                    k.Grade,
                    there[k].Sum(b => b.Grams) / 1000.0,
                    expectedShrinkKg is null ? null : there[k].Sum(expectedShrinkKg),
                    open[k].Sum(p => p.OpenGrams) / 1000.0)),
        ];
    }
}
