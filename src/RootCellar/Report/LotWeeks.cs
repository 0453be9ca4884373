using RootCellar.Household;
using RootCellar.Ledger;
using RootCellar.Ledger.Events;
using RootCellar.Lots;
using RootCellar.Places;
using RootCellar.Science;
using RootCellar.Science.Air;
using RootCellar.Science.Keeping;

namespace RootCellar.Report;

/// <summary>Works out the week of every lot.</summary>
internal sealed class LotWeeks(Book book, LotViews views, Estimating estimating, IReadOnlyDictionary<string, Purpose> purposes,
    TrajectoryCache courses, Week week, long first, long end)
{
    private const double IdealStepHours = 1;

    private readonly List<Piece> pieces = [];

    /// <summary>Every piece of the week, over all lots; filled by <see cref="All"/>.</summary>
    public IReadOnlyList<Piece> Pieces => pieces;

    public IReadOnlyList<LotWeek> All() =>
    [
        .. book.Lots.Values
            .Where(l => l.Bins.Any(b => b.EmptiedAt is not { } gone || gone >= week.From) || (l.Bins.Count == 0 && l.DugAt >= week.From))
            .OrderBy(l => l.Crop, StringComparer.Ordinal).ThenBy(l => l.DugAt).ThenBy(l => l.Id, StringComparer.Ordinal)
            .Select(Of),
    ];

    private LotWeek Of(LotView lot)
    {
        var byBook = ByBook(lot);
        var known = TimeStep.Of(lot.DugAt) < end && lot.Bins.Count > 0 ? estimating.LearnedOf(lot.Id)
            ?? estimating.Learn(lot, purposes, end) : null;
        var full = lot.Bins.Where(b => b.EmptiedAt is null && b.Grams > 0).ToList();
        var (estimate, air, progress) = FollowedOrByBook(lot, known, byBook);
        return new LotWeek(
            lot.Id, lot.Crop, lot.Variety, lot.DugAt, lot.DugAt >= week.From ? lot.Balance.DugGrams : 0, lot.Balance.LooseGrams,
            [.. full.Select(b => b.Id).Order(StringComparer.Ordinal)],
            [.. full.Select(b => b.Place).OfType<string>().Distinct(StringComparer.Ordinal).Order(StringComparer.Ordinal)],
            byBook, estimate, air, progress, lot.Bins.Sum(b => b.Weighings.Count(w => w.At >= week.From)))
        {
            Shrink = Shrink.Of(lot, views),
            Soil = views.Lots.GetValueOrDefault(lot.Id)?.Soil,
            Known = lot.Known,
        };
    }

    // The report of a house is made whatever one lot's figures do.
    private (EstimateWeek Estimate, LotAirWeek? Air, LotProgress? Progress) FollowedOrByBook(
        LotView lot, LotLearned? known, BookWeek byBook)
    {
        if (known is null) return (OfBook(byBook), null, null);
        try
        {
            return Followed(lot, known, byBook);
        }
        catch (Exception e) when (e is not OperationCanceledException)
        {
            estimating.Fail(lot, e, end);
            return (OfBook(byBook), null, null);
        }
    }

    private BookWeek ByBook(LotView lot)
    {
        var steps = lot.Bins.SelectMany(b => b.Steps).ToList();
        var now = steps.Where(s => s.At >= week.From).ToList();
        return new BookWeek(
            steps.Where(s => s.At < week.From).Sum(s => s.Grams),
            now.Where(s => s.Kind == Filled.Name).Sum(s => s.Grams),
            // What was sorted from one bin into others of the lot adds up to nought.
            now.Where(s => s.IsOut).GroupBy(s => s.Kind, StringComparer.Ordinal).OrderBy(g => g.Key, StringComparer.Ordinal)
                .ToDictionary(g => g.Key, g => -g.Sum(s => s.Grams), StringComparer.Ordinal),
            -now.Where(s => s.IsShrink).Sum(s => s.Grams),
            lot.Balance.OnHandGrams);
    }

    /// <summary>A crop nobody follows: what the book found missing is all that is known of its loss.</summary>
    private static EstimateWeek OfBook(BookWeek b) => new(b.StartGrams, b.InGrams, b.OutGrams, b.ShrinkGrams, 0, 0, b.EndGrams, null, null);

    private (EstimateWeek, LotAirWeek, LotProgress) Followed(LotView lot, LotLearned known, BookWeek byBook)
    {
        long before = first - (7 * TimeStep.PerDay);
        var fillings = lot.Bins.Where(b => b.EmptiedAt is not { } gone || TimeStep.Of(gone) > before).Select(b => new Filling(b, known))
            .Where(f => f.Bases.Count > 0).ToList();
        var states = States(fillings, before);
        var mine = new List<Piece>();
        var last = new List<Piece>();
        double start = 0, finish = 0, low = 0, high = 0, dark = 0;
        foreach (var filling in fillings)
        {
            mine.AddRange(PiecesOf(filling, known, states, first, end, ideal: true));
            last.AddRange(PiecesOf(filling, known, states, before, first, ideal: false));
            if (filling.At(first) is { } from)
            {
                var taught = known.Water.LastOrDefault(b => b.Cell < first, known.Water[0]);
                start += Weight(filling, from, first, states, taught, known).Value;
                dark = Math.Max(dark, states(filling.Path, Math.Min(end, filling.Emptied)).DarkHours - states(
                    filling.Path, first).DarkHours);
            }
            else if (filling.Filled >= first)
            {
                dark = Math.Max(dark, states(filling.Path, Math.Min(end, filling.Emptied)).DarkHours - states(
                    filling.Path, filling.Filled).DarkHours);
            }

            if (filling.At(end) is not { } to) continue;
            var kg = Weight(filling, to, end, states, known.WaterNow, known);
            (finish, low, high) = (finish + kg.Value, low + kg.Low, high + kg.High);
        }

        pieces.AddRange(mine);
        long water = Grams(mine.Sum(p => p.WaterKg)), breath = Grams(mine.Sum(p => p.BreathKg));
        var estimate = new EstimateWeek(
            Grams(start), byBook.InGrams, byBook.OutGrams, water, breath,
            Grams(finish) - (Grams(start) + byBook.InGrams - byBook.OutGrams - water - breath), Grams(finish),
            new Interval(mine.Sum(p => p.LossKg.Low), mine.Sum(p => p.WaterKg + p.BreathKg), mine.Sum(p => p.LossKg.High)),
            new Interval(low, finish, high));
        var air = new LotAirWeek(
            Rate(mine, p => p.WaterKg + p.BreathKg), Rate(last, p => p.WaterKg + p.BreathKg),
            Rate(mine, p => p.IdealWaterKg + p.IdealBreathKg),
            mine.Sum(p => p.WaterKg - p.IdealWaterKg), mine.Sum(p => p.BreathKg - p.IdealBreathKg), dark);
        return (estimate, air, Progress(lot, fillings, states));
    }

    private static double? Rate(List<Piece> of, Func<Piece, double> kg) => of.Sum(p => p.To - p.From) >= TimeStep.PerDay
        && of.Sum(p => p.KgWeeks) is var there and > 0 ? 100 * of.Sum(kg) / there : null;

    private LotProgress Progress(LotView lot, List<Filling> fillings, Func<LotPath, long, Trajectory> states)
    {
        var there = fillings.Where(f => f.Emptied > first && f.Filled < end).ToList();
        if (there.Count == 0) there = fillings;
        var begun = there.Select(f => states(f.Path, Math.Clamp(f.Filled, first, end))).ToList();
        var done = there.Select(f => states(f.Path, Math.Min(end, f.Emptied))).ToList();
        var behind = Enumerable.Range(0, there.Count).MinBy(i => done[i].State.HealedDays);
        var on = Enumerable.Range(0, there.Count).MaxBy(i => double.IsNaN(done[i].State.RestUsed) ? -1 : done[i].State.RestUsed);
        views.Lots.TryGetValue(lot.Id, out var view);
        bool rest = !double.IsNaN(there[0].Path.Traits.RestDaysAt10C);
        return new LotProgress(
            there[0].Path.Traits.Rule,
            begun[behind].State.Stage, done[behind].State.Stage, begun[behind].State.HealedDays, done[behind].State.HealedDays,
            rest ? begun[on].State.RestUsed : null, view?.RestUsed, view?.FitToMove, view?.Peeping, view?.Sprouted,
            view?.Way, view?.Seen, view?.SproutsSeen ?? false,
            Most(s => s.WetHours), Most(s => s.LightHours), Most(s => s.ColdHours), Most(s => s.FreezingHours))
        {
            Lasts = view?.Lasts,
        };

        double Most(Func<LotState, double> of) => Math.Max(
            0, Enumerable.Range(0, there.Count).Max(i => of(done[i].State) - of(begun[i].State)));
    }

    /// <summary>Every state that is needed of a lot, fetched in the order of time, so that each goes on from the one before.</summary>
    private Func<LotPath, long, Trajectory> States(List<Filling> fillings, long before)
    {
        var known = new Dictionary<(string Key, long Cell), Trajectory>();
        foreach (var (path, cell) in fillings.SelectMany(f => f.Needed(before, first, end).Select(c => (f.Path, Cell: c)))
            .OrderBy(n => n.Cell))
        {
            var key = (path.KeyAt(cell), cell);
            if (!known.ContainsKey(key)) known.Add(key, courses.Live(path, cell));
        }

        return (path, cell) => known.TryGetValue((path.KeyAt(cell), cell), out var course) ? course : courses.Past(path, cell);
    }

    private static Interval Weight(Filling filling, WeightBase from, long cell, Func<LotPath, long, Trajectory> states, WaterTaught taught,
        LotLearned known)
    {
        var multiplier = taught.Of(known.TermsOf(filling.Bin, filling.LostIn(from.From, cell, states)));
        var lost = Lost.Between(states(filling.Path, from.From), states(filling.Path, cell), known) with { Going = from.Going };
        return LotUncertainty.Weight(from.Kg, from.SdKg, lost, multiplier, known.Prior.BreathFactor);
    }

    /// <summary>From change to change of a bin's weight or place: each piece is reckoned from what was there at its beginning.</summary>
    private static List<Piece> PiecesOf(Filling filling, LotLearned known, Func<LotPath, long, Trajectory> states, long from, long to,
        bool ideal)
    {
        var list = new List<Piece>();
        long stop = Math.Min(to, filling.Emptied);
        var cuts = filling.Cuts(from, stop);
        for (int i = 0; i + 1 < cuts.Count; i++)
        {
            var (a, b) = (cuts[i], cuts[i + 1]);
            if (filling.FromAt(a) is not { } start) continue;
            var (then, at, after) = (states(filling.Path, start.From), states(filling.Path, a), states(filling.Path, b));
            var multiplier = known.Multiplier(filling.Bin, filling.LostIn(start.From, b, states));
            double kg = start.Kg * Lost.Between(then, at).Left(multiplier.Value);
            var lost = Lost.Between(at, after, known) with { Going = start.Going };
            var (water, breath) = (lost.Water, lost.Breath);
            var left = LotUncertainty.Weight(kg, 0, lost, multiplier, known.Prior.BreathFactor);
            double loss = kg - left.Value;
            // What is lost is in proportion to what was there, and that is not known exactly either.
            double own = LotUncertainty.Z90 * loss * Math.Min(1, start.SdKg / Math.Max(1e-9, start.Kg));
            var interval = new Interval(
                Math.Max(0, loss - LotUncertainty.RootSumSquare(loss - (kg - left.High), own)), loss,
                loss + LotUncertainty.RootSumSquare(kg - left.Low - loss, own));
            var (waterKg, breathKg) = Split(loss, multiplier.Value * water, breath);
            var (idealWater, idealBreath) = ideal ? Ideal(filling.Path, at, a, b) : (water, breath);
            double idealLoss = kg * (1 - Portable.Exp(-((multiplier.Value * idealWater) + idealBreath)));
            var (idealWaterKg, idealBreathKg) = Split(idealLoss, multiplier.Value * idealWater, idealBreath);
            list.Add(new Piece(
                filling.Path.Lot, filling.Bin.Id, filling.Path.Stays[filling.Path.StayAt(a)].Place, a, b, kg, waterKg, breathKg, interval,
                idealWaterKg, idealBreathKg));
        }

        return list;
    }

    /// <summary>The same stay in air in the middle of the crop's band for what the place is for.</summary>
    private static (double Water, double Breath) Ideal(LotPath path, Trajectory at, long from, long to)
    {
        var going = at.Clone();
        var air = path.Assumed(path.StayAt(from));
        double hours = (to - from) * TimeStep.Hours;
        while (hours > 1e-9)
        {
            double step = Math.Min(IdealStepHours, hours);
            going.Ahead(air, step);
            hours -= step;
        }

        return (going.Water - at.Water, going.Breath - at.Breath);
    }

    private static (double Water, double Breath) Split(double loss, double water, double breath) => water + breath > 0
        ? (loss * water / (water + breath), loss * breath / (water + breath)) : (0, 0);

    private static long Grams(double kg) => (long)Math.Round(kg * 1000, MidpointRounding.AwayFromZero);

    /// <summary>One filling of a bin with all its weight was ever reckoned from.</summary>
    private sealed class Filling(BinView bin, LotLearned known)
    {
        public BinView Bin => bin;

        public LotPath Path { get; } = known.Paths[(bin.Id, bin.FilledAt)];

        public IReadOnlyList<WeightBase> Bases { get; } = known.Reckoned.GetValueOrDefault((bin.Id, bin.FilledAt), []);

        public long Filled { get; } = Math.Max(TimeStep.Of(bin.FilledAt), known.Paths[(bin.Id, bin.FilledAt)].Dug);

        public long Emptied { get; } = bin.EmptiedAt is { } gone ? TimeStep.Of(gone) : long.MaxValue;

        /// <summary>What the weight just before a piece is reckoned from; null where nothing was in it then.</summary>
        public WeightBase? At(long cell) => Emptied < cell || Bases[0].Cell >= cell ? null : Bases.Last(b => b.Cell < cell);

        /// <summary>The same from the beginning of a piece on, with what happened in it.</summary>
        public WeightBase? FromAt(long cell) => Bases[0].Cell > cell ? null : Bases.Last(b => b.Cell <= cell);

        /// <summary>Where it lost between two pieces.</summary>
        public PlaceShares LostIn(long from, long to, Func<LotPath, long, Trajectory> states) =>
            PlaceShares.Of(Path, from, to, cell => states(Path, cell).Water);

        /// <summary>Where weight or place changes between two pieces, with both ends.</summary>
        public List<long> Cuts(long from, long to)
        {
            var begin = Math.Max(from, Filled);
            if (begin >= to) return [];
            var cuts = new SortedSet<long> { begin, to };
            foreach (long cell in Bases.Select(b => b.Cell).Concat(Path.Stays.Select(s => s.From)).Where(c => c > begin && c < to))
                cuts.Add(cell);
            return [.. cuts];
        }

        public IEnumerable<long> Needed(long before, long first, long end) =>
        [
            .. Cuts(before, Math.Min(first, Emptied)), .. Cuts(first, Math.Min(end, Emptied)),
            .. Bases.Select(b => b.Cell).Where(c => c <= end),
            Math.Clamp(Filled, first, end), Math.Min(end, Math.Max(Emptied, Filled)), .. (Filled < first ? new[] { first } : []),
            .. (Filled < end ? new[] { end } : []),
        ];
    }
}
