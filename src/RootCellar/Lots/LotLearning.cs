using RootCellar.Ledger;
using RootCellar.Places;
using RootCellar.Science;
using RootCellar.Science.Air;
using RootCellar.Science.Keeping;
using Glance = RootCellar.Science.Keeping.SproutsSeen;
using OnScale = RootCellar.Science.Keeping.Weighing;

namespace RootCellar.Lots;

/// <summary>A bin's weight as estimated: where the reckoning starts from, and how sure that is.</summary>
/// <param name="Cell">The piece of time of the last weighing, way out or filling.</param>
/// <param name="Kg">Net weight then.</param>
/// <param name="SdKg">Its standard error.</param>
internal readonly record struct WeightBase(long Cell, double Kg, double SdKg);

/// <summary>A filling as the scale knows it: what it began with, since when, and when it was last weighed.</summary>
internal readonly record struct OnTheScale(BinStart Start, long Begun, long LastCell);

/// <summary>The water-loss multiplier as it was taken to be from a piece of time on.</summary>
internal readonly record struct TaughtBy(long Cell, double Median, double Factor90);

/// <summary>What the bins of a lot have taught of it, and where each bin's weight is reckoned from.</summary>
/// <param name="Water">The water-loss multiplier.</param>
/// <param name="RestMultiplier">Its rest against what was expected; 1 where nobody has looked.</param>
/// <param name="RestFactor">The 5 to 95 % factor about it.</param>
/// <param name="Weights">By filling: bin and the moment it was filled.</param>
/// <param name="Questions">Weigh-ins that cannot be as they stand, by filling; they have taught nothing.</param>
internal sealed record LotLearned(
    LotPrior Prior,
    ScaleBelief Water,
    double RestMultiplier,
    double RestFactor,
    IReadOnlyDictionary<(string Bin, DateTimeOffset Filled), LotPath> Paths,
    IReadOnlyDictionary<(string Bin, DateTimeOffset Filled), WeightBase> Weights,
    IReadOnlyDictionary<(string Bin, DateTimeOffset Filled), IReadOnlyList<ScaleQuestion>> Questions)
{
    /// <summary>The ways of all its fillings, and those its rest was learned along.</summary>
    public IEnumerable<LotPath> AllPaths => Paths.Values.Concat(Untaught);

    public required IReadOnlyCollection<LotPath> Untaught { get; init; }

    /// <summary>All that a filling's weight was ever reckoned from, in order of time; the last is the one in <see cref="Weights"/>.</summary>
    public required IReadOnlyDictionary<(string Bin, DateTimeOffset Filled), IReadOnlyList<WeightBase>> Reckoned { get; init; }

    /// <summary>Every filling as the next weighing would find it.</summary>
    public required IReadOnlyDictionary<(string Bin, DateTimeOffset Filled), OnTheScale> Scales { get; init; }

    /// <summary>What <see cref="Water"/> was at first and after each weigh-in, in order of time.</summary>
    public required IReadOnlyList<TaughtBy> Beliefs { get; init; }

    /// <summary>Rest of the lot, days at 10 C, as learned; NaN where dormancy is not followed.</summary>
    public double RestDaysAt10C { get; } = Prior.Middle().RestDaysAt10C * RestMultiplier;
}

/// <summary>Works out what a lot's bins have taught. The same book and air give the same answer.</summary>
internal static class LotLearning
{
    /// <summary>Standard error of a filling that was weighed, as a share of it (assumed: a household scale and wet soil).</summary>
    public const double WeighedShare = 0.01;

    /// <summary>And of one by measure: a bushel is good to about a tenth (assumed).</summary>
    public const double MeasuredShare = 0.1;

    /// <summary>Standard error of an empty bin's weight, kg (assumed).</summary>
    private const double TareKg = 0.05;

    private const double LeastKg = 0.01;

    /// <param name="lot">The lot.</param>
    /// <param name="purposes">What each place is for.</param>
    /// <param name="courses">Where to look up how the lot stood.</param>
    /// <param name="now">The piece of time to which air is folded; what happened later waits.</param>
    /// <returns>Null for a crop the table does not know.</returns>
    public static LotLearned? Of(LotView lot, IReadOnlyDictionary<string, Purpose> purposes, CourseBook courses, long now)
    {
        if (LotKnown.Prior(lot.Crop, lot.Variety, lot.Skin) is not { } prior) return null;
        var (paths, untaught, restMultiplier, restFactor) = Ways(lot, prior, purposes, courses, now);
        var weights = new Scales(prior, paths, courses, now);
        foreach (var step in lot.Bins.SelectMany(Happened).OrderBy(h => h.At).ThenBy(h => h.Entry)) weights.Take(step);
        return new LotLearned(prior, weights.Belief, restMultiplier, restFactor, paths, weights.Bases, weights.Questions)
        {
            Untaught = untaught.Values,
            Reckoned = weights.Reckoned,
            Scales = weights.Now,
            Beliefs = weights.Beliefs,
        };
    }

    /// <summary>Every way a state may be kept of: that of each filling, its rest as learned and as expected. None for a crop the table does not know.</summary>
    public static IReadOnlyList<(string Bin, LotPath Path)> AllWays(LotView lot, IReadOnlyDictionary<string, Purpose> purposes, CourseBook courses, long now)
    {
        if (LotKnown.Prior(lot.Crop, lot.Variety, lot.Skin) is not { } prior) return [];
        var (paths, untaught, _, _) = Ways(lot, prior, purposes, courses, now);
        return [.. paths.Concat(untaught).Select(p => (p.Key.Item1, p.Value))];
    }

    private static (Dictionary<(string, DateTimeOffset), LotPath> Paths, Dictionary<(string, DateTimeOffset), LotPath> Untaught, double RestMultiplier, double RestFactor) Ways(
        LotView lot, LotPrior prior, IReadOnlyDictionary<string, Purpose> purposes, CourseBook courses, long now)
    {
        var untaught = PathsOf(lot, LotKnown.Traits(prior, 1), purposes);
        var (multiplier, factor) = Rest(lot, prior, untaught, courses, now);
        return (multiplier == 1 ? untaught : PathsOf(lot, LotKnown.Traits(prior, multiplier), purposes), untaught, multiplier, factor);
    }

    /// <summary>The way of every filling of a lot. A bin filled by sorting another came by that one's way.</summary>
    private static Dictionary<(string, DateTimeOffset), LotPath> PathsOf(LotView lot, LotTraits traits, IReadOnlyDictionary<string, Purpose> purposes)
    {
        long dug = Cells.Of(lot.DugAt);
        return lot.Bins.ToDictionary(b => (b.Id, b.FilledAt), b => new LotPath(lot.Id, traits, dug, StaysOf(b, depth: 0)));

        List<PathStay> StaysOf(BinView bin, int depth)
        {
            var stays = new List<PathStay>();
            var into = bin.Steps.FirstOrDefault(s => s is { Kind: "sorted", Grams: > 0 });
            var from = into is null ? null : lot.Bins.FirstOrDefault(b => !ReferenceEquals(b, bin) && b.FilledAt < bin.FilledAt && b.Steps.Any(s => s.Entry == into.Entry && s.Grams < 0));
            // A lot sorted twenty times over is not worth more care than the last twenty.
            if (from is not null && depth < 20) stays.AddRange(StaysOf(from, depth + 1).Where(s => s.From < Cells.Of(bin.FilledAt)));
            stays.AddRange(bin.Stays.Select(s => new PathStay(Cells.Of(s.From), s.Place ?? "", s.Place is not null && purposes.TryGetValue(s.Place, out var purpose) ? purpose : Purpose.Storage)));
            return stays;
        }
    }

    private static (double Multiplier, double Factor) Rest(
        LotView lot, LotPrior prior, Dictionary<(string, DateTimeOffset), LotPath> paths, CourseBook courses, long now)
    {
        if (prior.Rest is null) return (1, 1);
        var looks = lot.Bins.SelectMany(b => b.SproutsSeen.Select(s => (Bin: b, Seen: s)))
            .Where(l => Cells.Of(l.Seen.At) <= now).OrderBy(l => l.Seen.At).ThenBy(l => l.Seen.Entry).ToList();
        if (looks.Count == 0) return (1, prior.Rest.Factor);
        double expected = prior.Middle().RestDaysAt10C;
        var belief = SproutBelief.Before(prior.Rest.Factor);
        Span<double> visible = stackalloc double[SproutBelief.Multipliers.Length];
        foreach (var (bin, seen) in looks)
        {
            if (!Enum.TryParse<Glance>(seen.Share, ignoreCase: true, out var share)) continue;
            var course = courses.Past(paths[(bin.Id, bin.FilledAt)], Cells.Of(seen.At));
            for (int i = 0; i < visible.Length; i++)
            {
                double rest = expected * SproutBelief.Multipliers[i];
                visible[i] = Dormancy.ShareLongerThan(SproutBelief.VisibleMm, course.SproutMm(rest));
            }

            belief = belief.After(share, visible);
        }

        return (belief.Quantile(0.5), belief.Factor90);
    }

    private static IEnumerable<Event> Happened(BinView bin)
    {
        foreach (var step in bin.Steps.Where(s => s.Kind != "shrink")) yield return new Event(bin, step.At, step.Entry, step.Grams / 1000.0, null);
        foreach (var weighing in bin.Weighings) yield return new Event(bin, weighing.At, weighing.Entry, 0, weighing);
    }

    private sealed record Event(BinView Bin, DateTimeOffset At, long Entry, double Kg, Ledger.Weighing? Weighing);

    /// <summary>Goes through what happened to the weights of a lot's bins, in order.</summary>
    private sealed class Scales(LotPrior prior, Dictionary<(string, DateTimeOffset), LotPath> paths, CourseBook courses, long now)
    {
        private readonly Dictionary<(string, DateTimeOffset), Filling> fillings = [];
        private readonly Dictionary<(string, DateTimeOffset), List<ScaleQuestion>> questions = [];
        private readonly Dictionary<(string, DateTimeOffset), List<WeightBase>> reckoned = [];
        private readonly List<TaughtBy> beliefs = [];

        public ScaleBelief Belief { get; private set; } = ScaleBelief.Prior(prior.WaterMultiplier, prior.WaterFactor);

        public IReadOnlyDictionary<(string, DateTimeOffset), WeightBase> Bases => fillings.ToDictionary(f => f.Key, f => f.Value.Base);

        public IReadOnlyDictionary<(string, DateTimeOffset), IReadOnlyList<ScaleQuestion>> Questions =>
            questions.ToDictionary(q => q.Key, IReadOnlyList<ScaleQuestion> (q) => q.Value);

        public IReadOnlyDictionary<(string, DateTimeOffset), IReadOnlyList<WeightBase>> Reckoned =>
            reckoned.ToDictionary(r => r.Key, IReadOnlyList<WeightBase> (r) => r.Value);

        public IReadOnlyList<TaughtBy> Beliefs => beliefs;

        public IReadOnlyDictionary<(string, DateTimeOffset), OnTheScale> Now => fillings.ToDictionary(f => f.Key, f => new OnTheScale(f.Value.Start, f.Value.Begun, f.Value.Base.Cell));

        public void Take(Event happened)
        {
            var key = (happened.Bin.Id, happened.Bin.FilledAt);
            if (beliefs.Count == 0) beliefs.Add(new TaughtBy(long.MinValue, Belief.Median, Belief.Factor90));
            TakeOne(happened, key);
            if (!fillings.TryGetValue(key, out var filling)) return;
            if (!reckoned.TryGetValue(key, out var list)) reckoned.Add(key, list = []);
            if (list.Count == 0 || list[^1] != filling.Base) list.Add(filling.Base);
        }

        private void TakeOne(Event happened, (string, DateTimeOffset) key)
        {
            long cell = Math.Clamp(Cells.Of(happened.At), paths[key].Dug, now);
            if (!fillings.TryGetValue(key, out var filling))
            {
                if (happened.Kg > 0) fillings.Add(key, Begin(happened.Bin, 0, new WeightBase(cell, happened.Kg, happened.Kg * (happened.Bin.ByMeasure ? MeasuredShare : WeighedShare))));
                return;
            }

            if (happened.Weighing is { } weighing) Weigh(key, filling, weighing, Math.Max(cell, filling.Base.Cell));
            else Change(key, filling, happened, Math.Max(cell, filling.Base.Cell));
        }

        private static Filling Begin(BinView bin, int number, WeightBase from) =>
            new(bin, number, from, new BinStart(number == 0 ? bin.Id : $"{bin.Id}/{number}", from.Kg, Math.Min(from.SdKg, from.Kg)), from.Cell);

        private void Change((string, DateTimeOffset) key, Filling filling, Event happened, long cell)
        {
            double left = Left(paths[key], filling.Base.Cell, cell, Belief.Median);
            double kg = Math.Max(LeastKg, (filling.Base.Kg * left) + happened.Kg);
            double sd = (filling.Base.SdKg * left) + (Math.Abs(happened.Kg) * WeighedShare);
            // Topped up or taken from, it is another filling to the scale.
            fillings[key] = Begin(filling.Bin, filling.Number + 1, new WeightBase(cell, kg, Math.Min(sd, kg)));
        }

        private void Weigh((string, DateTimeOffset) key, Filling filling, Ledger.Weighing w, long cell)
        {
            var (from, to) = (courses.Past(paths[key], filling.Begun), courses.Past(paths[key], cell));
            double water = to.Water - from.Water;
            double breath = to.Breath - from.Breath;
            Span<double> predicted = stackalloc double[ScaleBelief.Nodes];
            for (int i = 0; i < predicted.Length; i++)
                predicted[i] = Math.Max(1e-6, filling.Start.StartKg * Portable.Exp(-((ScaleBelief.Multipliers[i] * water) + breath)));
            double tare = w.TareKg ?? 0;
            double step = Math.Max(0, w.ResolutionKg);
            var weighing = new OnScale((cell - filling.Begun) / (double)Cells.PerDay, w.NetKg + tare, tare, step, tare > 0 ? TareKg : 0, Math.Max(0.01, step / 2));
            var answer = Belief.Observe(filling.Start, weighing, predicted);
            if (answer.Question is { } question)
            {
                if (!questions.TryGetValue(key, out var asked)) questions.Add(key, asked = []);
                asked.Add(question);
                return;
            }

            Belief = answer.Belief;
            beliefs.Add(new TaughtBy(cell, Belief.Median, Belief.Factor90));
            double sd = Math.Sqrt((step * step / 12) + (weighing.RepeatabilityKg * weighing.RepeatabilityKg) + (weighing.TareUncertaintyKg * weighing.TareUncertaintyKg));
            fillings[key] = filling with { Base = new WeightBase(cell, Math.Max(LeastKg, w.NetKg), sd) };
        }

        private double Left(LotPath path, long from, long to, double multiplier)
        {
            var (a, b) = (courses.Past(path, from), courses.Past(path, to));
            return Portable.Exp(-((multiplier * (b.Water - a.Water)) + b.Breath - a.Breath));
        }

        private sealed record Filling(BinView Bin, int Number, WeightBase Base, BinStart Start, long Begun);
    }
}
