using RootCellar.Ledger;
using RootCellar.Science.Air;

namespace RootCellar.Lots;

/// <summary>What there will be of a crop and grade on a day, less all that is promised and open, due or not, kg.</summary>
/// <param name="Grade">Null: bins without one, or promises of any grade.</param>
/// <param name="ExpectedKg">What the bins of today will weigh, if nothing is taken out.</param>
/// <param name="DueKg">What of the promised is due by that day.</param>
/// <param name="UnmetKg">What the bins cannot meet of single promises, each on the day it is due.</param>
internal sealed record ExpectedLine(string Crop, string? Grade, int Bins, double BookKg, Interval ExpectedKg, double PromisedKg,
    double DueKg, double UnmetKg)
{
    /// <summary>What will have gone by then since the scale last said: <see cref="Shrink.ByEstimateGrams"/> of that day.</summary>
    public double ShrinkKg => BookKg - ExpectedKg.Value;

    /// <summary>What is missing, from the day it is known: in the sum on this day, or for one promise on its own.</summary>
    public double ShortKg => Math.Max(UnmetKg, Math.Max(0, -FreeKg));

    public double FreeKg => ExpectedKg.Value - PromisedKg;

    /// <summary>What is free even if the bins come out at the low end.</summary>
    public double SurelyFreeKg => ExpectedKg.Low - PromisedKg;
}

/// <summary>
/// Stock on a day: by crop and grade, and each crop as a whole but for its seed (a promise of any grade is in the whole only).
/// </summary>
internal sealed record ExpectedStock(DateOnly On, IReadOnlyList<ExpectedLine> Lines, IReadOnlyList<ExpectedLine> Crops);

/// <summary>Whether a promise can be met.</summary>
internal enum CanMeet
{
    /// <summary>Even if the bins come out at the low end of their intervals.</summary>
    Yes,

    /// <summary>If they come out as expected.</summary>
    Likely,

    /// <summary>Not from what there is.</summary>
    No,
}

/// <summary>A part of a promise out of one bin, as it will weigh on the day.</summary>
/// <param name="All">Whether it takes all that is in the bin.</param>
internal sealed record Pick(string Bin, double Kg, bool All);

/// <summary>A promise and the bins to meet it from, after those due before it.</summary>
internal sealed record PromisePlan(Promise Promise, double OpenKg, CanMeet Answer, IReadOnlyList<Pick> Picks, double ShortKg);

/// <summary>Sums across bins.</summary>
internal static class AcrossBins
{
    /// <summary>The grade kept for planting: it is no stock to sell from, unless it is promised as seed.</summary>
    public const string Seed = "seed";

    public static bool IsSeed(string? grade) => string.Equals(grade, Seed, StringComparison.OrdinalIgnoreCase);

    /// <summary>
    /// What will be left when a day of the household begins, less every open promise: what is promised for later is not free today.
    /// </summary>
    public static ExpectedStock On(Book book, LotViews views, DateOnly on, IReadOnlyList<PromisePlan> plans)
    {
        var begins = book.Calendar.StartOf(on);
        var bins = book.AllBins.Where(b => b.EmptiedAt is null && b.Grams > 0)
            .Select(b => (Crop: book.Lots[b.Lot].Crop, b.Grade, b.BookKg, Kg: Expected(views, b, begins))).ToList();
        var lines = bins.Select(b => (b.Crop, b.Grade)).Concat(plans.Select(p => (p.Promise.Crop, p.Promise.Grade))).Distinct()
            .OrderBy(k => k.Crop, StringComparer.Ordinal).ThenBy(k => k.Grade, StringComparer.Ordinal)
            .Select(k => Line(k.Crop, k.Grade, bins.Where(b => b.Crop == k.Crop && b.Grade == k.Grade),
                plans.Where(p => p.Promise.Crop == k.Crop && p.Promise.Grade == k.Grade)));
        var (food, wanted) = (bins.FindAll(b => !IsSeed(b.Grade)), plans.Where(p => !IsSeed(p.Promise.Grade)).ToList());
        var crops = food.Select(b => b.Crop).Concat(wanted.Select(p => p.Promise.Crop)).Distinct(StringComparer.Ordinal)
            .Order(StringComparer.Ordinal)
            .Select(crop => Line(crop, null, food.Where(b => b.Crop == crop), wanted.Where(p => p.Promise.Crop == crop)));
        return new ExpectedStock(on, [.. lines], [.. crops]);

        ExpectedLine Line(string crop, string? grade, IEnumerable<(string Crop, string? Grade, double BookKg, Interval Kg)> of,
            IEnumerable<PromisePlan> promised)
        {
            var (all, open) = (of.ToList(), promised.ToList());
            return new ExpectedLine(
                crop, grade, all.Count, all.Sum(b => b.BookKg),
                new Interval(all.Sum(b => b.Kg.Low), all.Sum(b => b.Kg.Value), all.Sum(b => b.Kg.High)),
                open.Sum(p => p.OpenKg),
                open.Where(p => p.Promise.Due <= on).Sum(p => p.OpenKg),
                open.Sum(p => p.ShortKg));
        }
    }

    /// <summary>
    /// Whether each open promise can be met and from which bins: the one due first chooses first, and takes what would lose most if
    /// it were left, as long as it has not sprouted by then. Seed is not taken for a promise of any grade.
    /// </summary>
    public static IReadOnlyList<PromisePlan> Promises(Book book, LotViews views)
    {
        var taken = new Dictionary<(string, DateTimeOffset), double>();
        var weights = new Dictionary<(string, DateTimeOffset), Interval>();
        var order = views.UseFirst.Select((b, i) => (b.Bin, i)).ToDictionary(b => b.Bin, b => b.i, StringComparer.Ordinal);
        return [.. book.Orders.Where(o => o.OpenGrams > 0).OrderBy(o => o.Due ?? DateOnly.MaxValue).ThenBy(o => o.At).Select(Plan)];

        PromisePlan Plan(Promise promise)
        {
            double open = promise.OpenGrams / 1000.0;
            double wanted = open;
            var picks = new List<Pick>();
            var on = promise.Due is { } due ? book.Calendar.StartOf(due) : views.At ?? DateTimeOffset.MinValue;
            var fitting = book.AllBins
                .Where(b => b.EmptiedAt is null && b.Grams > 0 && book.Lots[b.Lot].Crop == promise.Crop
                    && (promise.Grade is null ? !IsSeed(b.Grade) : b.Grade == promise.Grade))
                .Select(b => (Bin: b, Kg: Weight(b, on), Taken: taken.GetValueOrDefault((b.Id, b.FilledAt))))
                .ToList();
            double surely = fitting.Sum(b => b.Kg.Low * (1 - b.Taken));
            foreach (var (bin, kg, share) in fitting
                .OrderBy(b => SproutedBy(views, b.Bin, on)).ThenBy(b => order.GetValueOrDefault(b.Bin.Id, int.MaxValue))
                    .ThenBy(b => b.Bin.Id, StringComparer.Ordinal))
            {
                if (wanted <= 0.0005) break;
                double there = kg.Value * (1 - share);
                double take = Math.Min(wanted, there);
                if (take <= 0) continue;
                picks.Add(new Pick(bin.Id, take, share == 0 && take >= there - 0.0005));
                taken[(bin.Id, bin.FilledAt)] = share + (take / kg.Value);
                wanted -= take;
            }

            bool met = wanted <= 0.0005;
            return new PromisePlan(promise, open, !met ? CanMeet.No : surely >= open - 0.0005 ? CanMeet.Yes : CanMeet.Likely, picks, met
                ? 0 : wanted);
        }

        // Many promises are due on one day.
        Interval Weight(BinView bin, DateTimeOffset on)
        {
            if (!weights.TryGetValue((bin.Id, on), out var kg)) weights.Add((bin.Id, on), kg = Expected(views, bin, on));
            return kg;
        }
    }

    private static Interval Expected(LotViews views, BinView bin, DateTimeOffset on) =>
        views.Of(bin) is { } estimate
            ? on <= estimate.At ? estimate.Kg : estimate.Outlook.KgIn((on - estimate.At).TotalDays)
            : new Interval(bin.BookKg, bin.BookKg, bin.BookKg);

    /// <summary>1 for a bin most of which will have sprouted: taken last.</summary>
    private static int SproutedBy(LotViews views, BinView bin, DateTimeOffset on) =>
        views.Bins.TryGetValue(bin.Id, out var estimate) && estimate.Outlook.SproutedShareIn((on - estimate.At).TotalDays) > 0.5 ? 1 : 0;
}
