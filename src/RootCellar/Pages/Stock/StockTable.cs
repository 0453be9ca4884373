using RootCellar.Household;
using RootCellar.Ledger;
using RootCellar.Lots;
using RootCellar.Science.Air;

namespace RootCellar.Pages.Stock;

/// <summary>A row of what there will be: a grade, or a crop's sum. Null words: nothing to say there.</summary>
/// <param name="Short">Not enough for what is promised.</param>
internal sealed record StockRow(string Name, int Bins, string There, string? ThereSure, string? Promised, string Left, string? LeftSure,
    bool Short, bool Whole);

/// <summary>A crop with its grades, its sum last; seed stands apart below it.</summary>
internal sealed record StockCrop(string Name, IReadOnlyList<StockRow> Rows, StockRow? Seed);

/// <summary>Puts what is expected on a day into rows a person at market can read.</summary>
internal static class StockTable
{
    public static IReadOnlyList<StockCrop> Of(ExpectedStock stock, Show show) =>
        [.. stock.Lines.GroupBy(l => l.Crop, StringComparer.Ordinal)
            .Select(g => Crop(g.Key, [.. g], stock.Crops.FirstOrDefault(c => c.Crop == g.Key), show))
                .OrderBy(c => c.Name, NameOrder.Instance)];

    private static StockCrop Crop(string crop, IReadOnlyList<ExpectedLine> lines, ExpectedLine? whole, Show show)
    {
        var seed = lines.FirstOrDefault(l => AcrossBins.IsSeed(l.Grade));
        var grades = lines.Where(l => l.Grade is not null && !AcrossBins.IsSeed(l.Grade)).ToList();
        var rows = grades.ConvertAll(l => Row(l.Grade!, l, show));
        if (whole is not null)
        {
            // Without grades the sum is all there is. With them, what was promised of any grade is taken off the sum only.
            if (grades.Count > 0 && lines.FirstOrDefault(l => l.Grade is null) is { Bins: > 0 } ungraded)
                rows.Add(Row(Strings.NoGrade, ungraded with { PromisedKg = 0, UnmetKg = 0 }, show));
            if (rows.Count != 1 || whole.PromisedKg > grades[0].PromisedKg)
                rows.Add(Row(grades.Count > 0 ? Strings.AllGrades : Strings.AllOfIt, whole, show) with { Whole = grades.Count > 0 });
        }

        return new StockCrop(CropWords.Name(crop), rows, seed is null ? null : Row(Strings.SeedApart, seed, show));
    }

    private static StockRow Row(string name, ExpectedLine line, Show show)
    {
        var there = line.ExpectedKg;
        var left = new Interval(there.Low - line.PromisedKg, line.FreeKg, there.High - line.PromisedKg);
        var falls = line.ShortKg > 0;
        return new StockRow(
            name,
            line.Bins,
            line.Bins == 0 ? Strings.NothingThere : show.About(there),
            line.Bins == 0 ? null : show.AtLeast(there),
            line.PromisedKg > 0 ? show.Exact(line.PromisedKg) : null,
            falls ? Strings.ShortBy.With(show.Missing(line.ShortKg, there)) : show.About(left),
            falls ? null : line.SurelyFreeKg >= 0 ? show.AtLeast(left) : Strings.MayBeShort.With(show.Missing(-line.SurelyFreeKg, there)),
            falls,
            Whole: false);
    }
}
