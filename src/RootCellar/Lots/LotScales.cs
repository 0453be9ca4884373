using RootCellar.Household;
using RootCellar.Ledger;
using RootCellar.Science;
using RootCellar.Science.Air;
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
/// <param name="known">What is known of what bins share, at a piece of time.</param>
/// <param name="tares">Empty weights that bins have in common (<see cref="TaresOfAKind"/>).</param>
/// <param name="zeroSdKg">How far the zero of a scale of such a step may stand off at a piece of time, kg.</param>
internal sealed class LotScales(
    LotView lot, LotPrior prior, Dictionary<(string, DateTimeOffset), LotPath> paths, TrajectoryCache courses, long now,
    Func<long, HouseKnown> known, IReadOnlySet<double> tares, Func<double, long, double> zeroSdKg)
{
    private const double LeastKg = 0.01;

    /// <summary>Empty weights, kg, that were taken off more than one bin of a lot.</summary>
    public static IReadOnlySet<double> TaresOfAKind(LotView lot) => lot.Bins
        .SelectMany(b => b.Weighings.Select(w => w.TareKg).Append(b.TareKg).Distinct().Select(t => (b.Id, Tare: t ?? 0)))
        .Where(t => t.Tare > 0)
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
    private readonly List<WaterTaught> taught =
        [new(long.MinValue, prior, LossTerms.OfLot(lot, prior), LossTerms.Own(lot, prior), HouseKnown.Nothing, Own: null)];

    private readonly List<BinSays> says = [];
    private readonly List<(long Cell, double StepKg, double LogLikelihood)> told = [];

    // What was believed of the bin that was weighed first, just before.
    private (double Median, double Factor) before = (prior.WaterMultiplier, prior.WaterFactor);

    private WaterTaught Last => taught[^1];

    /// <summary>What its own weigh-ins say, after each that was taken in.</summary>
    public IReadOnlyList<BinSays> Says => says;

    /// <summary>How likely each weigh-in was, just before it.</summary>
    public IReadOnlyList<(long Cell, double StepKg, double LogLikelihood)> Told => told;

    public IReadOnlyDictionary<(string, DateTimeOffset), WeightBase> Bases => fillings.ToDictionary(f => f.Key, f => f.Value.Base);

    public IReadOnlyDictionary<(string, DateTimeOffset), IReadOnlyList<WeighInQuestion>> Questions =>
        questions.ToDictionary(q => q.Key, IReadOnlyList<WeighInQuestion> (q) => q.Value);

    public IReadOnlyDictionary<(string, DateTimeOffset), IReadOnlyList<WeightBase>> Reckoned =>
        reckoned.ToDictionary(r => r.Key, IReadOnlyList<WeightBase> (r) => r.Value);

    /// <summary>What was believed of its water loss, from the beginning on.</summary>
    public IReadOnlyList<WaterTaught> Taught => taught;

    /// <summary>What came in with a filling that is no crop and comes off it, kg; of fillings that came out of wet soil.</summary>
    public IReadOnlyDictionary<(string, DateTimeOffset), Interval> Soil =>
        fillings.Where(f => f.Value.Soil is not null).ToDictionary(f => f.Key, f => f.Value.Soil!.Value);

    public IReadOnlyDictionary<(string, DateTimeOffset),
        OnTheScale> Now => fillings.ToDictionary(f => f.Key, f => f.Value.Scale with { LastCell = f.Value.Base.Cell });

    public void Take(Deed deed)
    {
        var key = (deed.Bin.Id, deed.Bin.FilledAt);
        TakeOne(deed, key);
        if (!fillings.TryGetValue(key, out var filling)) return;
        if (!reckoned.TryGetValue(key, out var list)) reckoned.Add(key, list = []);
        if (list.Count == 0 || list[^1] != filling.Base) list.Add(filling.Base);
    }

    /// <summary>Goes by what the house has come to know.</summary>
    public void Follow(long cell)
    {
        var house = known(cell);
        if (!ReferenceEquals(house, Last.House)) taught.Add(Last with { Cell = Math.Max(cell, Last.Cell), House = house });
    }

    /// <summary>A bin's multiplier for what it lost over some time.</summary>
    private WaterMultiplier Water((string, DateTimeOffset) key, long from, long to) => Last.Of(Terms(key, from, to));

    private IReadOnlyList<LossTerm> Terms((string, DateTimeOffset) key, long from, long to) =>
        LossTerms.OfBin(paths[key].Traits.Exponent, fillings[key].Bin.Lies, PlaceShares.Of(paths[key], courses, from, to));

    private void TakeOne(Deed deed, (string, DateTimeOffset) key)
    {
        long cell = Math.Clamp(TimeStep.Of(deed.At), paths[key].Dug, now);
        if (!fillings.TryGetValue(key, out var filling))
        {
            if (deed.Kg > 0) fillings.Add(key, Fill(deed, cell, paths[key].Dug));
            return;
        }

        cell = Math.Max(cell, filling.Base.Cell);
        if (deed.Weighing is { } weighing) Weigh(key, filling, weighing, cell);
        else if (deed.RestKg is { } rest)
            fillings[key] = Again(filling, paths[key].Dug, cell, rest, OnTheScale.SdKg(ScaleStep.AssumedKg, 0));
        else if (deed.Kg < 0) Out(key, filling, -deed.Kg, cell);
        else In(key, filling, deed.Kg, cell);
    }

    /// <summary>
    /// Filled for the first time. What was weighed in its bin was weighed less an empty weight, and where nobody said which, the one that is
    /// taken off later was taken off then too (assumed). Its error is in what was written down.
    /// </summary>
    private Filling Fill(Deed deed, long cell, long dug)
    {
        var bin = deed.Bin;
        bool isMuddy = lot.Flags.Contains("wet-soil", StringComparer.Ordinal) && TimeStep.Days(cell - dug) <= LotLearning.SoilDays;
        double share = bin.ByMeasure ? LotLearning.MeasuredShare : LotLearning.WeighedShare;
        if (isMuddy) share = LotUncertainty.RootSumSquare(share, LotLearning.WetSoilShare);
        double sd = OnTheScale.PassingSdKg(deed.Kg, share);
        double tare = bin.ByMeasure ? 0 : bin.TareKg ?? bin.Weighings.Select(w => w.TareKg ?? 0).FirstOrDefault(t => t > 0);
        double tareSd = bin.TareKg is { } off ? OnTheScale.TareErrorKg(off, ScaleStep.AssumedKg, tares.Contains(off)) : 0;
        // On the scale that it is weighed on later (assumed).
        double zero = bin.ByMeasure ? 0 : zeroSdKg(bin.Weighings is [var first, ..] ? first.ResolutionKg : ScaleStep.AssumedKg, cell);
        var begun = Begin(bin, 0, dug, cell, deed.Kg, sd);
        return begun with
        {
            Soil = isMuddy ? SoilOff.Before(deed.Kg) : null,
            Base = begun.Base with { SdKg = Math.Min(LotUncertainty.RootSumSquare(sd, tareSd), begun.Base.Kg) },
            Scale = begun.Scale with { Start = begun.Scale.Start with { TareKg = tare, ZeroUncertaintyKg = zero } },
        };
    }

    /// <summary>Another filling to the scale; the soil that came with the first is what it was.</summary>
    private static Filling Again(Filling filling, long dug, long cell, double kg, double sdKg) =>
        Begin(filling.Bin, filling.Number + 1, dug, cell, kg, sdKg) with { Soil = filling.Soil, SoilKnown = filling.SoilKnown };

    private static Filling Begin(BinView bin, int number, long dug, long cell, double kg, double sdKg)
    {
        var from = new WeightBase(cell, cell, Math.Max(LeastKg, kg), Math.Min(sdKg, Math.Max(LeastKg, kg)));
        return new Filling(bin, number, from, new OnTheScale(
            new BinStart($"{bin.Id}\n{bin.FilledAt.ToUnixTimeMilliseconds()}\n{number}", from.Kg, from.SdKg, bin.TareKg ?? 0,
                TimeStep.Days(cell - dug)),
            cell, from.Kg, [], cell, Vague: !(sdKg < VagueShare * kg)));
    }

    /// <summary>Topped up, it is another filling to the scale.</summary>
    private void In((string, DateTimeOffset) key, Filling filling, double kg, long cell)
    {
        var (there, sd) = Standing(key, filling.Base, cell);
        double more = OnTheScale.PassingSdKg(kg, filling.Bin.ByMeasure ? LotLearning.MeasuredShare : LotLearning.WeighedShare);
        fillings[key] = Again(filling, paths[key].Dug, cell, there + kg, LotUncertainty.RootSumSquare(sd, more));
    }

    /// <summary>
    /// What is taken out was weighed; how much had been lost until then is as uncertain as before, and all of that stays with what is left.
    /// </summary>
    private void Out((string, DateTimeOffset) key, Filling filling, double kg, long cell)
    {
        var (from, scale) = (filling.Base, filling.Scale);
        var (there, sd) = Standing(key, from, cell);
        double error = OnTheScale.PassingSdKg(kg, LotLearning.WeighedShare);
        double then = kg / Since(paths[key], from.From, cell).Left(Water(key, from.From, cell).Value);
        double start = kg / Since(paths[key], scale.Begun, cell).Left(Water(key, scale.Begun, cell).Value);
        if (there - kg < Remnant * scale.BegunKg || start > (1 - Remnant) * scale.Start.StartKg || scale.Start.StartKg - start < LeastKg)
        {
            fillings[key] = Again(filling, paths[key].Dug, cell, there - kg, LotUncertainty.RootSumSquare(sd, error));
            return;
        }

        double left = scale.Start.StartKg - start;
        var lost = LotUncertainty.Weight(then, 0, Since(paths[key], from.From, cell), Water(key, from.From, cell), prior.BreathFactor);
        fillings[key] = filling with
        {
            Base = new WeightBase(cell, from.From, from.Kg - then,
                LotUncertainty.RootSumSquare(from.SdKg, LotUncertainty.RootSumSquare(error, LotUncertainty.SdOf(lost))), from.Going),
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
            fillings[key] = Again(filling, paths[key].Dug, cell, w.NetKg, OnTheScale.SdKg(step, tareSd));
            return;
        }

        var terms = Terms(key, filling.Scale.Begun, cell);
        var (belief, times) = Last.OnScale(terms);
        Span<double> predicted = stackalloc double[ScaleBelief.Nodes];
        filling.Scale.Expect(paths[key], courses, cell, predicted, times);
        var weighed = filling.Scale.Weigh(paths[key].Dug, cell, w.NetKg, tare, step, tareSd, zeroSdKg(step, cell));
        var going = filling.Base.Going;
        var answer = belief.Observe(filling.Scale.Start, weighed, predicted, w.Checked, going.Share,
            going.In(TimeStep.Days(cell - filling.Scale.Begun)) * filling.Scale.BegunKg);
        told.Add((cell, ScalesKnown.Step(step), answer.LogLikelihood));
        if (answer.Question is { } question)
        {
            if (!questions.TryGetValue(key, out var asked)) questions.Add(key, asked = []);
            asked.Add(new WeighInQuestion(w.Entry, w.At, w.NetKg, question with { Bin = filling.Bin.Id }));
        }
        else
        {
            // Two that agree: what was doubted is the weight it has.
            if (questions.TryGetValue(key, out var open)) open.RemoveAll(q => Agrees(q, answer, tare));
        }

        // By the first weigh-in its soil has come off.
        if (filling.Soil is not null && filling.Number == 0 && filling.Base.From == filling.Base.Cell && filling.Base.Cell < cell
            && !filling.SoilKnown && answer.Question is null && TimeStep.Days(cell - paths[key].Dug) >= LotLearning.SoilDays)
        {
            var expected = Standing(key, filling.Base with { SdKg = 0 }, cell);
            filling = filling with
            {
                Soil = SoilOff.After(
                    filling.Base.Kg, expected.Kg - w.NetKg,
                    LotUncertainty.RootSumSquare(expected.SdKg, OnTheScale.PassingSdKg(filling.Base.Kg, LotLearning.WeighedShare))),
                SoilKnown = true,
            };
        }

        Learn(cell, belief, answer, terms, key);
        double sd = Math.Max(answer.SdKg, OnTheScale.SdKg(step, tareSd));
        going = GoingOn.After(going, answer, filling.Scale.BegunKg, TimeStep.Days(cell - filling.Scale.Begun));
        fillings[key] = filling with
        {
            Base = new WeightBase(cell, cell, answer.Kg, sd, going),
            Scale = filling.Scale with { Start = filling.Scale.Start with { StartKg = answer.Kg }, Begun = cell, BegunKg = answer.Kg, Taken = [] },
        };
    }

    /// <summary>
    /// What was learned is of where the bins stood: the more a weigh-in teaches, the more of where this one stood. What has come to be known
    /// of one place against the other is no part of what is learned again.
    /// </summary>
    private void Learn(long cell, ScaleBelief belief, ScaleAnswer answer, IReadOnlyList<LossTerm> terms, (string, DateTimeOffset) key)
    {
        bool isTaken = answer.Question is null;
        var own = Last.Own;
        if (own is null)
        {
            before = Last.Before(terms);
            own = new OwnTaught(answer.Belief, answer.Belief.Sides90, terms, 0);
        }
        else if (isTaken)
        {
            double left = answer.Belief.Log.Variance / belief.Log.Variance, share = Math.Clamp(1 - left, 0.05, 1);
            var at = LossTerms.Toward(own.At, terms, share);
            own = new OwnTaught(answer.Belief, answer.Belief.Sides90, at, own.Offset + Last.House.Of(LossTerms.Less(at, own.At)).Mean);
        }
        else
        {
            own = own with { Belief = answer.Belief };
        }

        taught.Add(Last with { Cell = Math.Max(cell, Last.Cell), Own = own });
        if (isTaken) says.Add(Say(cell, answer.Belief, LotTerms(key, cell)));
    }

    /// <summary>Where all was lost that the weigh-ins of a bin have told of, and how it lay.</summary>
    private IReadOnlyList<LossTerm> LotTerms((string, DateTimeOffset) key, long cell) =>
        Terms(key, Math.Max(paths[key].Dug, TimeStep.Of(key.Item2)), cell);

    /// <summary>
    /// What its weigh-ins say without what was believed before. One that may be a theft as well as a loss makes the present rate less sure
    /// than it was, but unsays nothing: then the last saying stands, as far as it reaches.
    /// </summary>
    private BinSays Say(long cell, ScaleBelief belief, IReadOnlyList<LossTerm> terms)
    {
        var (mean, variance) = belief.Log;
        double spread = Portable.Log(before.Factor) / LotUncertainty.Z90, wide = 1 / (spread * spread);
        double precision = (1 / variance) - wide;
        if (says is [.., { Precision: > 0 } last])
        {
            double aged = LotUncertainty.Wandered(TimeStep.Days(cell - last.Cell)), still = 1 / ((1 / last.Precision) + (aged * aged));
            if (still > precision) return last with { Cell = cell, Precision = still, WeighIns = says.Count + 1 };
        }

        return precision > 0
            ? new BinSays(cell, ((mean / variance) - (wide * Portable.Log(before.Median))) / precision, precision, says.Count + 1, terms)
            : new BinSays(cell, 0, 0, says.Count + 1, terms);
    }

    private static bool Agrees(WeighInQuestion asked, ScaleAnswer now, double tareKg)
    {
        double expectedKg = (asked.Asked.ExpectedLowKg + asked.Asked.ExpectedHighKg) / 2 - tareKg;
        return Math.Abs(asked.NetKg - now.Kg) < Math.Abs(expectedKg - now.Kg);
    }

    /// <summary>What a weight has come to, and its standard error.</summary>
    private (double Kg, double SdKg) Standing((string, DateTimeOffset) key, WeightBase from, long cell)
    {
        var kg = LotUncertainty.Weight(
            from.Kg, from.SdKg, Since(paths[key], from.From, cell) with { Going = from.Going }, Water(key, from.From, cell),
            prior.BreathFactor);
        return (kg.Value, LotUncertainty.SdOf(kg));
    }

    private Lost Since(LotPath path, long from, long to) => Lost.Between(courses.Past(path, from), courses.Past(path, to));

    private sealed record Filling(
        BinView Bin, int Number, WeightBase Base, OnTheScale Scale, Interval? Soil = null, bool SoilKnown = false);
}
