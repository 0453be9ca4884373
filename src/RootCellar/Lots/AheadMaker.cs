using RootCellar.Ledger;
using RootCellar.Science.Air;
using RootCellar.Science.Keeping;

namespace RootCellar.Lots;

/// <summary>Puts together what is ahead: the outlook of every bin on the same days. The same book, estimates and days give the same.</summary>
/// <param name="book">The book.</param>
/// <param name="views">The estimates.</param>
/// <param name="hold">Air to be held beside the present course; null: none.</param>
internal sealed class AheadMaker(Book book, LotViews views, Hold? hold)
{
    private const int StepDays = AheadReading.StepDays;

    /// <summary>Even a lot that ends tomorrow is told for so many weeks.</summary>
    private const int LeastWeeks = 4;

    private static readonly Interval None = new(0, 0, 0);

    private readonly Hold? asked = hold;
    private readonly List<(DateOnly On, DateTimeOffset At)> days = [];

    /// <param name="today">The household's.</param>
    public AheadReading Make(DateOnly today)
    {
        var full = book.AllBins.Where(b => b.EmptiedAt is null && b.Grams > 0).ToList();
        var loose = book.Lots.Values.Where(l => l.Bins.Count == 0 && l.Balance.LooseGrams > 0).Select(l => l.Id)
            .Order(StringComparer.Ordinal).ToList();
        var until = AheadReading.Horizon(today);
        if (views.At is not { } at || full.Count == 0) return new AheadReading(views.At, until, asked, null, [], [], [], loose);
        for (var day = today; day <= until; day = day.AddDays(StepDays)) days.Add((day, day == today ? at : book.Calendar.StartOf(day)));
        // By the book of now: what was emptied or filled anew since the estimates were made is not counted twice.
        var there = full.Select(b => views.Of(b)).OfType<BinEstimate>().ToLookup(b => b.Lot, StringComparer.Ordinal);
        var lots = views.Lots.Values.Where(l => there.Contains(l.Lot)).OrderBy(l => l.Lot, StringComparer.Ordinal)
            .Select(l => new OneLot(l, [.. there[l.Lot]], this)).ToList();
        var byBook = full.Where(b => views.Of(b) is null).ToList();
        var crops = full.Select(b => book.Lots[b.Lot].Crop).Distinct(StringComparer.Ordinal).Order(StringComparer.Ordinal).ToList();
        return new AheadReading(
            at, until, asked,
            Together(null, lots, byBook),
            [.. crops.Select(c => Together(c, [.. lots.Where(l => l.Lot.Crop == c)], [.. byBook.Where(b => book.Lots[b.Lot].Crop == c)]))],
            [.. lots.Select(l => l.Told).OrderBy(l => l.Present.Lasts.When.Likely ?? DateTimeOffset.MaxValue)
                .ThenBy(l => l.Present.Lasts.When.Early ?? DateTimeOffset.MaxValue).ThenBy(l => l.Lot.Lot, StringComparer.Ordinal)],
            [.. views.Unfollowed.Values.OrderBy(u => u.Lot, StringComparer.Ordinal)],
            loose);
    }

    private CellarAhead Together(string? crop, List<OneLot> lots, List<BinView> byBook)
    {
        double kg = byBook.Sum(b => b.BookKg);
        return new CellarAhead(
            crop, [.. Steps(l => l.Kg, l => l.Told.Present.Lasts)],
            asked is null ? null : [.. Steps(l => l.HeldKg!, l => l.Told.Held!.Lasts)]);

        // Interval ends are added up, low to low and high to high, as of bins in a lot and as Stock adds them: what a house's lots share, its
        // sensors, its crates, the weather to come and what its scale has taught of all of them (HouseSays), does not average out. What each
        // lot has of its own would, so that the sum holds the truth rather more often than nine times in ten. Bins that nobody follows weigh
        // what the book says; whether they last, nobody knows.
        IEnumerable<CellarStep> Steps(Func<OneLot, IReadOnlyList<Interval>> of, Func<OneLot, LastsUntil> lasts) => days.Select((day, i) =>
        {
            var all = lots.Select(l => of(l)[i]).ToList();
            var still = lots.Select((l, n) => Lasting(all[n], lasts(l), day.At)).ToList();
            return new CellarStep(
                day.On, day.At,
                new Interval(kg + all.Sum(k => k.Low), kg + all.Sum(k => k.Value), kg + all.Sum(k => k.High)),
                new Interval(still.Sum(k => k.Low), kg + still.Sum(k => k.Value), kg + still.Sum(k => k.High)));
        });
    }

    /// <summary>What of a lot still lasts: its low end none of it from the earliest day on that may end it, its high end till the latest.</summary>
    private static Interval Lasting(Interval kg, LastsUntil lasts, DateTimeOffset at) => new(
        lasts.When.Early > at || lasts.When.Early is null ? kg.Low : 0,
        lasts.At(at) ? kg.Value : 0,
        lasts.When.Late > at || lasts.When.Late is null ? kg.High : 0);

    /// <summary>A lot on all days.</summary>
    private sealed class OneLot
    {
        private readonly AheadMaker maker;
        private readonly IReadOnlyList<BinEstimate> bins;

        public OneLot(LotEstimate lot, IReadOnlyList<BinEstimate> bins, AheadMaker maker)
        {
            (Lot, this.bins, this.maker) = (lot, bins, maker);
            Kg = Weights(b => b.Outlook);
            var first = Named(lot.FirstToSprout);
            var last = Named(lot.LastToHeal);
            var present = Course(Kg, lot.Lasts, b => b.Outlook, lot.FitToMove, last.Outlook.Healed, lot.Peeping, lot.Sprouted);
            AheadCourse? then = null;
            List<HoldCaution> cautions = [];
            if (maker.asked is { } hold)
            {
                var held = bins.ToDictionary(b => b.Bin, b => b.Outlook.HeldAt(hold.TemperatureC, hold.HumidityPercent), StringComparer.Ordinal);
                cautions = Cautions(first.Outlook, hold);
                // What cures first, cures as it does; the air that is held comes after.
                var sprouts = held[first.Bin];
                HeldKg = Weights(b => held[b.Bin]);
                then = Course(
                    HeldKg, Ends(held, cautions), b => held[b.Bin], last.Way.Moves ? lot.FitToMove : held[last.Bin].Fit, held[last.Bin].Healed, sprouts.Peeping,
                    sprouts.Sprouted);
            }

            Told = new LotAhead(lot, bins.Any(b => b.Outlook.Assumed), present, then, cautions);
        }

        public LotEstimate Lot { get; }

        public IReadOnlyList<Interval> Kg { get; }

        public IReadOnlyList<Interval>? HeldKg { get; }

        public LotAhead Told { get; }

        private BinEstimate Named(string bin) => bins.FirstOrDefault(b => b.Bin == bin) ?? bins[0];

        /// <summary>Bins of one way end on one day: each way is asked once.</summary>
        private static LastsUntil Ends(Dictionary<string, BinOutlook> held, List<HoldCaution> cautions)
        {
            if (cautions.Contains(HoldCaution.Freezes))
            {
                var frost = held.Values.Min(h => h.LastAirFrom);
                return new LastsUntil(new When(frost, frost, frost), EndsBy.Frost);
            }

            return LastsUntil.First(held.Values.DistinctBy(h => h.Way).Select(h => h.Lasts));
        }

        private List<Interval> Weights(Func<BinEstimate, BinOutlook> of)
        {
            var outlooks = bins.Select(b => (b.Kg, Outlook: of(b))).ToList();
            return maker.days.ConvertAll(day => outlooks.Aggregate(
                None, (sum, b) => Add(sum, day.At <= Lot.At ? b.Kg : b.Outlook.KgIn((day.At - Lot.At).TotalDays))));
        }

        private AheadCourse Course(
            IReadOnlyList<Interval> kg, LastsUntil lasts, Func<BinEstimate, BinOutlook> of, When? fit, When? healed, When? sprouts,
            When? sprouted)
        {
            var cured = bins.Any(b => b.Cured) ? of(Named(Lot.LastToHeal)) : null;
            var steps = new List<AheadStep>();
            for (int i = 0; i < maker.days.Count; i++)
            {
                var (on, at) = maker.days[i];
                steps.Add(new AheadStep(on, at, kg[i], cured?.HealedPercentIn(Math.Max(0, (at - Lot.At).TotalDays))));
                if (i >= LeastWeeks && lasts.When.Likely <= at) break;
            }

            return new AheadCourse(steps, cured is null ? null : fit, cured is null ? null : healed, sprouts, sprouted, lasts);
        }
    }

    private static Interval Add(in Interval a, in Interval b) => new(a.Low + b.Low, a.Value + b.Value, a.High + b.High);

    private static List<HoldCaution> Cautions(BinOutlook outlook, Hold hold)
    {
        var cautions = new List<HoldCaution>();
        switch (Cold.Level(outlook.Crop, hold.TemperatureC))
        {
            case ColdLevel.Emergency: cautions.Add(HoldCaution.Freezes); break;
            case ColdLevel.Warning: cautions.Add(HoldCaution.NearFreezing); break;
            case var _ when hold.TemperatureC < outlook.Crop.ChillingBelowC: cautions.Add(HoldCaution.Chills); break;
        }

        if (hold.HumidityPercent > outlook.Crop.Storage.HumidityHighPercent + DamperPercent) cautions.Add(HoldCaution.TooDamp);
        return cautions;
    }

    /// <summary>So much above its band is much damper than a crop wants (assumed: what a cheap sensor may be off, twice).</summary>
    private const double DamperPercent = 6;
}
