using RootCellar.Household;
using RootCellar.Ledger;
using RootCellar.Science;
using RootCellar.Science.Keeping;

namespace RootCellar.Lots;

/// <summary>Something that happened to the weight of a bin.</summary>
/// <param name="Kg">Above 0 what was put in, below 0 what was taken out.</param>
/// <param name="Weighing">A weigh-in, if it is one.</param>
/// <param name="RestKg">What the scale said is left after some was sorted out of it, if it did.</param>
internal sealed record Deed(BinView Bin, DateTimeOffset At, long Entry, double Kg, Ledger.Weighing? Weighing, double? RestKg = null)
{
    public static IEnumerable<Deed> Of(BinView bin)
    {
        long grams = 0;
        foreach (var entry in bin.Steps.GroupBy(s => s.Entry))
        {
            grams += entry.Sum(s => s.Grams);
            var sorted = entry.FirstOrDefault(s => s is { IsSorted: true, Grams: < 0 });
            // Sorted with all of it left where it was, there is only what was missing.
            if (entry.All(s => s.IsShrink) && grams > 0 && !bin.Weighings.Any(w => w.Entry == entry.Key))
                yield return new Deed(bin, entry.First().At, entry.Key, 0, null, grams / 1000.0);
            foreach (var step in entry.Where(s => !s.IsShrink))
                yield return new Deed(bin, step.At, step.Entry, step.Grams / 1000.0, null, step == sorted && grams > 0 ? grams / 1000.0
                    : null);
        }

        foreach (var weighing in bin.Weighings) yield return new Deed(bin, weighing.At, weighing.Entry, 0, weighing);
    }
}

/// <summary>Goes through what happened to the weights of a lot's bins, in order: what they teach, and what each is reckoned from.</summary>
/// <param name="house">What is believed of the lot at a piece of time, before it is weighed.</param>
/// <param name="tares">Empty weights that bins have in common (<see cref="TaresOfAKind"/>).</param>
internal sealed class LotScales(
    LotPrior prior, Dictionary<(string, DateTimeOffset), LotPath> paths, TrajectoryCache courses, long now, Func<long, HousePrior> house,
    IReadOnlySet<double> tares)
{
    private const double LeastKg = 0.01;

    /// <summary>Empty weights, kg, that were taken off more than one bin of a lot.</summary>
    public static IReadOnlySet<double> TaresOfAKind(LotView lot) => lot.Bins
        .SelectMany(b => b.Weighings.Select(w => (b.Id, Tare: w.TareKg ?? 0)).Distinct()).Where(t => t.Tare > 0)
        .GroupBy(t => t.Tare).Where(g => g.Count() > 1).Select(g => g.Key).ToHashSet();

    /// <summary>
    /// Share of a filling under which what is left of it is taken as a filling of its own: the errors of what went out outweigh it
    /// (assumed).
    /// </summary>
    private const double Remnant = 0.25;

    /// <summary>A standard error of more than this share of a weight is no knowledge of it (assumed).</summary>
    private const double VagueShare = 0.5;

    private readonly Dictionary<(string, DateTimeOffset), Filling> fillings = [];
    private readonly Dictionary<(string, DateTimeOffset), List<WeighInQuestion>> questions = [];
    private readonly Dictionary<(string, DateTimeOffset), List<WeightBase>> reckoned = [];
    private readonly List<TaughtBy> beliefs = [];

    private readonly List<LotSays> says = [];
    private HousePrior? before;

    public ScaleBelief Belief { get; private set; } = ScaleBelief.Prior(prior.WaterMultiplier, prior.WaterFactor);

    /// <summary>What its own weigh-ins say, after each that was taken in.</summary>
    public IReadOnlyList<LotSays> Says => says;

    /// <summary>Weigh-ins that have taught, its own and those of others.</summary>
    public (int Own, int Others) TaughtBy => (says.Count, before?.WeighIns ?? 0);

    public IReadOnlyDictionary<(string, DateTimeOffset), WeightBase> Bases => fillings.ToDictionary(f => f.Key, f => f.Value.Base);

    public IReadOnlyDictionary<(string, DateTimeOffset), IReadOnlyList<WeighInQuestion>> Questions =>
        questions.ToDictionary(q => q.Key, IReadOnlyList<WeighInQuestion> (q) => q.Value);

    public IReadOnlyDictionary<(string, DateTimeOffset), IReadOnlyList<WeightBase>> Reckoned =>
        reckoned.ToDictionary(r => r.Key, IReadOnlyList<WeightBase> (r) => r.Value);

    public IReadOnlyList<TaughtBy> Beliefs => beliefs;

    public IReadOnlyDictionary<(string, DateTimeOffset),
        OnTheScale> Now => fillings.ToDictionary(f => f.Key, f => f.Value.Scale with { LastCell = f.Value.Base.Cell });

    public void Take(Deed deed)
    {
        var key = (deed.Bin.Id, deed.Bin.FilledAt);
        if (beliefs.Count == 0) beliefs.Add(new TaughtBy(long.MinValue, Belief.Sides90));
        if (says.Count == 0) Follow(Math.Clamp(TimeStep.Of(deed.At), paths[key].Dug, now));
        TakeOne(deed, key);
        if (!fillings.TryGetValue(key, out var filling)) return;
        if (!reckoned.TryGetValue(key, out var list)) reckoned.Add(key, list = []);
        if (list.Count == 0 || list[^1] != filling.Base) list.Add(filling.Base);
    }

    /// <summary>As long as it was not weighed itself, it goes by what the others say.</summary>
    public void Follow(long cell)
    {
        if (says.Count > 0 || house(cell) is var said && said == before) return;
        before = said;
        Belief = ScaleBelief.Prior(said.Median, said.Factor);
        beliefs.Add(new TaughtBy(cell, Belief.Sides90));
    }

    private void TakeOne(Deed deed, (string, DateTimeOffset) key)
    {
        long cell = Math.Clamp(TimeStep.Of(deed.At), paths[key].Dug, now);
        if (!fillings.TryGetValue(key, out var filling))
        {
            double share = deed.Bin.ByMeasure ? LotLearning.MeasuredShare : LotLearning.WeighedShare;
            if (deed.Kg > 0) fillings.Add(key, Begin(deed.Bin, 0, paths[key].Dug, cell, deed.Kg, OnTheScale.PassingSdKg(deed.Kg, share)));
            return;
        }

        cell = Math.Max(cell, filling.Base.Cell);
        if (deed.Weighing is { } weighing) Weigh(key, filling, weighing, cell);
        else if (deed.RestKg is { } rest)
            fillings[key] = Begin(filling.Bin, filling.Number + 1, paths[key].Dug, cell, rest, OnTheScale.SdKg(ScaleStep.AssumedKg, 0));
        else if (deed.Kg < 0) Out(key, filling, -deed.Kg, cell);
        else In(key, filling, deed.Kg, cell);
    }

    private static Filling Begin(BinView bin, int number, long dug, long cell, double kg, double sdKg)
    {
        var from = new WeightBase(cell, cell, Math.Max(LeastKg, kg), Math.Min(sdKg, Math.Max(LeastKg, kg)));
        return new Filling(bin, number, from, new OnTheScale(
            new BinStart($"{bin.Id}\n{bin.FilledAt.ToUnixTimeMilliseconds()}\n{number}", from.Kg, from.SdKg, Day: TimeStep.Days(cell - dug)),
            cell, from.Kg, [], cell, Vague: !(sdKg < VagueShare * kg)));
    }

    /// <summary>Topped up, it is another filling to the scale.</summary>
    private void In((string, DateTimeOffset) key, Filling filling, double kg, long cell)
    {
        var (there, sd) = Standing(key, filling.Base, cell);
        double more = OnTheScale.PassingSdKg(kg, filling.Bin.ByMeasure ? LotLearning.MeasuredShare : LotLearning.WeighedShare);
        fillings[key] = Begin(filling.Bin, filling.Number + 1, paths[key].Dug, cell, there + kg, LotUncertainty.RootSumSquare(sd, more));
    }

    /// <summary>
    /// What is taken out was weighed; how much had been lost until then is as uncertain as before, and all of that stays with what is left.
    /// </summary>
    private void Out((string, DateTimeOffset) key, Filling filling, double kg, long cell)
    {
        var (from, scale) = (filling.Base, filling.Scale);
        var (there, sd) = Standing(key, from, cell);
        double error = OnTheScale.PassingSdKg(kg, LotLearning.WeighedShare);
        double then = kg / Since(paths[key], from.From, cell).Left(Belief.Median);
        double start = kg / Since(paths[key], scale.Begun, cell).Left(Belief.Median);
        if (there - kg < Remnant * scale.BegunKg || start > (1 - Remnant) * scale.Start.StartKg || scale.Start.StartKg - start < LeastKg)
        {
            fillings[key] = Begin(filling.Bin, filling.Number + 1, paths[key].Dug, cell, there - kg, LotUncertainty.RootSumSquare(sd, error));
            return;
        }

        double left = scale.Start.StartKg - start;
        var lost = LotUncertainty.Weight(then, 0, Since(paths[key], from.From, cell), Belief.Sides90, prior.BreathFactor);
        fillings[key] = filling with
        {
            Base = new WeightBase(cell, from.From, from.Kg - then,
                LotUncertainty.RootSumSquare(from.SdKg, LotUncertainty.RootSumSquare(error, LotUncertainty.SdOf(lost)))),
            Scale = scale with
            {
                Start = scale.Start with { StartKg = left, UncertaintyKg = Math.Min(scale.Start.UncertaintyKg, left) },
                Taken = scale.Taken.Add((cell, kg))
            },
        };
    }

    private void Weigh((string, DateTimeOffset) key, Filling filling, Ledger.Weighing w, long cell)
    {
        double tare = w.TareKg ?? 0;
        double step = Math.Max(0, w.ResolutionKg), tareSd = OnTheScale.TareErrorKg(tare, step, tares.Contains(tare));
        if (filling.Scale.Vague)
        {
            fillings[key] = Begin(filling.Bin, filling.Number + 1, paths[key].Dug, cell, w.NetKg, OnTheScale.SdKg(step, tareSd));
            return;
        }

        Span<double> predicted = stackalloc double[ScaleBelief.Nodes];
        filling.Scale.Expect(paths[key], courses, cell, predicted);
        var weighed = filling.Scale.Weigh(paths[key].Dug, cell, w.NetKg, tare, step, tareSd);
        var answer = Belief.Observe(filling.Scale.Start, weighed, predicted, w.Checked);
        if (answer.Question is { } question)
        {
            if (!questions.TryGetValue(key, out var asked)) questions.Add(key, asked = []);
            asked.Add(new WeighInQuestion(w.Entry, w.At, w.NetKg, question with { Bin = filling.Bin.Id }));
        }
        else
        {
            // Two that agree: what was doubted is the weight it has.
            if (questions.TryGetValue(key, out var open)) open.RemoveAll(q => Agrees(q, answer, tare));
            beliefs.Add(new TaughtBy(cell, answer.Belief.Sides90));
            says.Add(Say(cell, answer.Belief));
        }

        Belief = answer.Belief;
        double sd = Math.Max(answer.SdKg, OnTheScale.SdKg(step, tareSd));
        fillings[key] = filling with
        {
            Base = new WeightBase(cell, cell, answer.Kg, sd),
            Scale = filling.Scale with { Start = filling.Scale.Start with { StartKg = answer.Kg }, Begun = cell, BegunKg = answer.Kg, Taken = [] },
        };
    }

    /// <summary>What its weigh-ins say without what was believed before.</summary>
    private LotSays Say(long cell, ScaleBelief belief)
    {
        var (mean, variance) = belief.Log;
        double spread = Portable.Log(before?.Factor ?? prior.WaterFactor) / LotUncertainty.Z90, wide = 1 / (spread * spread);
        double precision = (1 / variance) - wide;
        return precision > 0
            ? new LotSays(cell, ((mean / variance) - (wide * Portable.Log(before?.Median ?? prior.WaterMultiplier))) / precision, precision,
                says.Count + 1)
            : new LotSays(cell, 0, 0, says.Count + 1);
    }

    private static bool Agrees(WeighInQuestion asked, ScaleAnswer now, double tareKg)
    {
        double expectedKg = (asked.Asked.ExpectedLowKg + asked.Asked.ExpectedHighKg) / 2 - tareKg;
        return Math.Abs(asked.NetKg - now.Kg) < Math.Abs(expectedKg - now.Kg);
    }

    /// <summary>What a weight has come to, and its standard error.</summary>
    private (double Kg, double SdKg) Standing((string, DateTimeOffset) key, WeightBase from, long cell)
    {
        var kg = LotUncertainty.Weight(from.Kg, from.SdKg, Since(paths[key], from.From, cell), Belief.Sides90, prior.BreathFactor);
        return (kg.Value, LotUncertainty.SdOf(kg));
    }

    private Lost Since(LotPath path, long from, long to) => Lost.Between(courses.Past(path, from), courses.Past(path, to));

    private sealed record Filling(BinView Bin, int Number, WeightBase Base, OnTheScale Scale);
}
