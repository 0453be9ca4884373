using RootCellar.Household;
using RootCellar.Ledger;
using RootCellar.Places;
using RootCellar.Science;
using RootCellar.Science.Air;
using RootCellar.Science.Keeping;
using Glance = RootCellar.Science.Keeping.SproutsSeen;

namespace RootCellar.Lots;

/// <summary>A bin's weight as estimated: where the reckoning starts from, and how sure that is.</summary>
/// <param name="Cell">From when on: the piece of time of the last weighing, way out or filling.</param>
/// <param name="From">The piece of time the weight is of: earlier than <paramref name="Cell"/> where some was taken out since, for what is
/// left has lost from then on.</param>
/// <param name="Kg">Net weight at <paramref name="From"/> of what is in the bin from <paramref name="Cell"/> on.</param>
/// <param name="SdKg">Its standard error.</param>
/// <param name="Going">What else may have been going on in the bin since.</param>
internal readonly record struct WeightBase(long Cell, long From, double Kg, double SdKg, GoingOn Going = default);

/// <summary>What the bins of a lot have taught of it, and where each bin's weight is reckoned from.</summary>
/// <param name="Water">What was believed of its water loss at first, and after each change, in order of time.</param>
/// <param name="Rest">Its rest against what was expected, with its 5 to 95 %; about 1 where nobody has looked.</param>
/// <param name="Weights">By filling: bin and the moment it was filled.</param>
/// <param name="Questions">Weigh-ins that do not fit and that nobody has answered for, by filling; they have taught nothing of the lot.</param>
internal sealed record LotLearned(
    LotPrior Prior,
    IReadOnlyList<WaterTaught> Water,
    Interval Rest,
    IReadOnlyDictionary<(string Bin, DateTimeOffset Filled), LotPath> Paths,
    IReadOnlyDictionary<(string Bin, DateTimeOffset Filled), WeightBase> Weights,
    IReadOnlyDictionary<(string Bin, DateTimeOffset Filled), IReadOnlyList<WeighInQuestion>> Questions)
{
    /// <summary>The ways of all its fillings, and those its rest was learned along.</summary>
    public IEnumerable<LotPath> AllPaths => Paths.Values.Concat(Untaught);

    public required IReadOnlyCollection<LotPath> Untaught { get; init; }

    /// <summary>
    /// All that a filling's weight was ever reckoned from, in order of time; the last is the one in <see cref="Weights"/>.
    /// </summary>
    public required IReadOnlyDictionary<(string Bin, DateTimeOffset Filled), IReadOnlyList<WeightBase>> Reckoned { get; init; }

    /// <summary>Soil that came in with fillings out of wet soil, and comes off, kg.</summary>
    public required IReadOnlyDictionary<(string Bin, DateTimeOffset Filled), Interval> Soil { get; init; }

    /// <summary>Every filling as the next weighing would find it.</summary>
    public required IReadOnlyDictionary<(string Bin, DateTimeOffset Filled), OnTheScale> Scales { get; init; }

    /// <summary>Weigh-ins of its own that have taught how fast it loses.</summary>
    public required int OwnWeighIns { get; init; }

    /// <summary>Since when it goes by its own weigh-ins too; null where it was not weighed.</summary>
    public long? OwnFrom { get; init; }

    /// <summary>When anything happened to the weight of its bins last.</summary>
    public required long LastDeed { get; init; }

    /// <summary>The same, with what the house has come to say after anything that happened to the lot.</summary>
    /// <param name="house">What the house says now: as before, until after <see cref="LastDeed"/>.</param>
    /// <param name="now">The piece of time to which air is folded.</param>
    public LotLearned After(HouseSays house, long now)
    {
        var water = Water.TakeWhile(w => w.Cell < house.NewFrom).ToList();
        foreach (long cell in house.Changes.Where(c => c >= house.NewFrom && c <= now))
        {
            if (house.At(cell) is var known && !ReferenceEquals(known, water[^1].House)) water.Add(water[^1] with { Cell = cell, House = known });
        }

        return this with { Water = water };
    }

    /// <summary>What is believed of its water loss now.</summary>
    public WaterTaught WaterNow => Water[^1];

    /// <summary>A bin's water-loss multiplier as it is known now, for what it lost in some places.</summary>
    public WaterMultiplier Multiplier(BinView bin, PlaceShares places) => WaterNow.Of(TermsOf(bin, places));

    /// <summary>What a bin has in common with others (<see cref="LossTerms.OfBin"/>).</summary>
    public IReadOnlyList<LossTerm> TermsOf(BinView bin, PlaceShares places) =>
        LossTerms.OfBin(Paths[(bin.Id, bin.FilledAt)].Traits.Exponent, bin.Lies, places);

    /// <summary>By what factor the rest may be shorter (5 %), with how it answers to the temperature.</summary>
    public double RestShorter { get; } = LotUncertainty.Factor(Rest.Value / Rest.Low, LotUncertainty.ResponseFactor);

    /// <summary>And longer (95 %).</summary>
    public double RestLonger { get; } = LotUncertainty.Factor(Rest.High / Rest.Value, LotUncertainty.ResponseFactor);

    /// <summary>Rest of the lot, days at 10 C, as learned; NaN where dormancy is not followed.</summary>
    public double RestDaysAt10C { get; } = Prior.Middle().RestDaysAt10C * Rest.Value;
}

/// <summary>Works out what a lot's bins have taught. The same book and air give the same answer.</summary>
internal static class LotLearning
{
    /// <summary>Standard error of a filling that was weighed, as a share of it (assumed: a household scale, a little soil).</summary>
    public const double WeighedShare = 0.01;

    /// <summary>
    /// And of one that was filled as it came out of wet soil: what clings to it dries and falls off, and is no loss of the crop. One standard
    /// deviation (assumed: buyers take off some percent for soil, from memory).
    /// </summary>
    public const double WetSoilShare = 0.025;

    /// <summary>Within so many days of digging what is filled has its soil on it (assumed).</summary>
    public const double SoilDays = 3;

    /// <summary>For so long what was weighed says how far a scale's zero wanders: a year (assumed), in pieces of time.</summary>
    private const long ScaleMemory = 365L * TimeStep.PerDay;

    /// <summary>And of one by measure: a bushel is good to about a tenth (assumed).</summary>
    public const double MeasuredShare = 0.1;

    /// <summary>The 5 to 95 % factor that a bin is met with which is to speak for itself (assumed); never narrower than its crop's own.</summary>
    private const double OpenFactor = 3;

    /// <param name="lot">The lot.</param>
    /// <param name="purposes">What each place is for.</param>
    /// <param name="courses">Where to look up how the lot stood.</param>
    /// <param name="now">The piece of time to which air is folded; what happened later waits.</param>
    /// <param name="house">What the other lots say of it.</param>
    /// <returns>Null for a crop the table does not know, and for a lot of a year that nothing keeps from.</returns>
    public static LotLearned? Of(LotView lot, IReadOnlyDictionary<string, Purpose> purposes, TrajectoryCache courses, long now, HouseSays house)
    {
        if (Unfollowed.IsTooOld(lot, now) || LotKnown.Prior(lot) is not { } prior) return null;
        var (paths, untaught, rest) = Ways(lot, prior, purposes, courses, now);
        var weights = Scales(lot, prior, paths, courses, now, house);
        return new LotLearned(prior, weights.Taught, rest, paths, weights.Bases, weights.Questions)
        {
            Untaught = untaught.Values,
            Reckoned = weights.Reckoned,
            Scales = weights.Now,
            Soil = weights.Soil,
            OwnWeighIns = weights.Says.Count,
            LastDeed = lot.Bins.SelectMany(Deed.Of).Select(d => TimeStep.Of(d.At)).DefaultIfEmpty(long.MinValue).Max(),
            OwnFrom = weights.Says is [var first, ..] ? first.Cell : null,
        };
    }

    /// <summary>
    /// Whether its weigh-ins say anything of the scale as it is now. Feet wear and batteries age: how one stood off more than a year ago says
    /// little, and would be worked out at each look.
    /// </summary>
    public static bool TellsOfScale(LotView lot, long now) =>
        !Unfollowed.IsTooOld(lot, now) && lot.Bins.Any(b => b.Weighings.Any(w => now - TimeStep.Of(w.At) < ScaleMemory));

    /// <summary>
    /// How likely each weigh-in of a lot was just before it, were the zero of the scale off by each level of <see cref="ScaleZero"/>.
    /// What other
    /// lots say has no part in it.
    /// </summary>
    public static IReadOnlyList<ScaleTold> ScaleTells(
        LotView lot, IReadOnlyDictionary<string, Purpose> purposes, TrajectoryCache courses, long now)
    {
        if (!TellsOfScale(lot, now) || LotKnown.Prior(lot) is not { } prior) return [];
        var paths = Ways(lot, prior, purposes, courses, now).Paths;
        var tares = LotScales.TaresOfAKind(lot);
        var deeds = lot.Bins.SelectMany(Deed.Of).OrderBy(h => h.At).ThenBy(h => h.Entry).ToList();
        var levels = ScaleZero.LevelSteps.Select(level =>
        {
            var weights = new LotScales(
                lot, prior, paths, courses, now, _ => HouseKnown.Nothing, tares, (step, _) => level * ScalesKnown.Step(step));
            foreach (var step in deeds) weights.Take(step);
            return weights.Told;
        }).ToList();
        // A filling that one level goes on from and another does not tells nothing.
        return levels.Exists(l => l.Count != levels[0].Count) ? []
            : [.. levels[0].Select((t, i) => new ScaleTold(t.Cell, t.StepKg, [.. levels.Select(l => l[i].LogLikelihood)]))];
    }

    /// <summary>What each weighed bin of a lot says by itself of its water loss, after each of its weigh-ins.</summary>
    public static IReadOnlyList<IReadOnlyList<BinSays>> Says(
        LotView lot, IReadOnlyDictionary<string, Purpose> purposes, TrajectoryCache courses, long now, ScalesKnown scales)
    {
        if (Unfollowed.IsTooOld(lot, now) || !lot.Bins.Any(b => b.Weighings.Count > 0)
            || LotKnown.Prior(lot) is not { } prior)
            return [];
        var paths = Ways(lot, prior, purposes, courses, now).Paths;
        // What a bin says is told from what was believed before: less of that is more of the bin's own.
        prior = prior with { WaterFactor = Math.Max(OpenFactor, prior.WaterFactor) };
        var tares = LotScales.TaresOfAKind(lot);
        var says = new List<IReadOnlyList<BinSays>>();
        foreach (var bin in lot.Bins.Where(b => b.Weighings.Count > 0))
        {
            var weights = new LotScales(lot, prior, paths, courses, now, _ => HouseKnown.Nothing, tares, scales.ZeroSdKg);
            foreach (var step in Deed.Of(bin).OrderBy(h => h.At).ThenBy(h => h.Entry)) weights.Take(step);
            if (weights.Says.Count > 0) says.Add(weights.Says);
        }

        return says;
    }

    private static LotScales Scales(LotView lot, LotPrior prior, Dictionary<(string, DateTimeOffset), LotPath> paths, TrajectoryCache courses,
        long now, HouseSays house)
    {
        var weights = new LotScales(lot, prior, paths, courses, now, house.At, LotScales.TaresOfAKind(lot), house.Scales.ZeroSdKg);
        int next = 0;
        foreach (var step in lot.Bins.SelectMany(Deed.Of).OrderBy(h => h.At).ThenBy(h => h.Entry))
        {
            // What is said in the same piece of time may be its own.
            for (; next < house.Changes.Count && house.Changes[next] < Math.Min(now, TimeStep.Of(step.At)); next++)
                weights.Follow(house.Changes[next]);
            weights.Take(step);
        }

        for (; next < house.Changes.Count && house.Changes[next] <= now; next++) weights.Follow(house.Changes[next]);
        return weights;
    }

    /// <summary>
    /// Every way a state may be kept of: that of each filling, its rest as learned and as expected. None for a crop the table does not
    /// know.
    /// </summary>
    public static IReadOnlyList<(string Bin, LotPath Path)> AllWays(
        LotView lot, IReadOnlyDictionary<string, Purpose> purposes, TrajectoryCache courses, long now)
    {
        if (Unfollowed.IsTooOld(lot, now) || LotKnown.Prior(lot) is not { } prior) return [];
        var (paths, untaught, _) = Ways(lot, prior, purposes, courses, now);
        return [.. paths.Concat(untaught).Select(p => (p.Key.Item1, p.Value))];
    }

    private static (
        Dictionary<(string, DateTimeOffset), LotPath> Paths,
        Dictionary<(string, DateTimeOffset), LotPath> Untaught,
        Interval RestLearned) Ways(
        LotView lot, LotPrior prior, IReadOnlyDictionary<string, Purpose> purposes, TrajectoryCache courses, long now)
    {
        var untaught = PathsOf(lot, prior, 1, purposes);
        var rest = Rest(lot, prior, untaught, courses, now);
        return (rest.Value == 1 ? untaught : PathsOf(lot, prior, rest.Value, purposes), untaught, rest);
    }

    /// <summary>The way of every filling of a lot. A bin filled by sorting another came by that one's way.</summary>
    private static Dictionary<(string, DateTimeOffset),
        LotPath> PathsOf(LotView lot, LotPrior prior, double rest, IReadOnlyDictionary<string, Purpose> purposes)
    {
        long dug = TimeStep.Of(lot.DugAt);
        return lot.Bins.ToDictionary(
            b => (b.Id, b.FilledAt), b => new LotPath(lot.Id, LotKnown.Traits(LotKnown.Of(prior, b), rest), dug, StaysOf(b, depth: 0)));

        List<PathStay> StaysOf(BinView bin, int depth)
        {
            var stays = new List<PathStay>();
            var into = bin.Steps.FirstOrDefault(s => s is { IsSorted: true, Grams: > 0 });
            var from = into is null ? null : lot.Bins.FirstOrDefault(
                b => !ReferenceEquals(b, bin) && b.FilledAt < bin.FilledAt && b.Steps.Any(s => s.Entry == into.Entry && s.Grams < 0));
            // A lot sorted twenty times over is not worth more care than the last twenty.
            if (from is not null && depth < 20) stays.AddRange(StaysOf(from, depth + 1).Where(s => s.From < TimeStep.Of(bin.FilledAt)));
            stays.AddRange(bin.Stays.Select(
                s => new PathStay(TimeStep.Of(s.From), s.Place ?? "",
                    s.Place is not null && purposes.TryGetValue(s.Place, out var purpose) ? purpose : Purpose.Storage)));
            return stays;
        }
    }

    private static Interval Rest(
        LotView lot, LotPrior prior, Dictionary<(string, DateTimeOffset), LotPath> paths, TrajectoryCache courses, long now)
    {
        if (prior.Rest is null) return new Interval(1, 1, 1);
        var looks = lot.Bins.SelectMany(b => b.SproutsSeen.Select(s => (Bin: b, Seen: s)))
            .Where(l => TimeStep.Of(l.Seen.At) <= now).OrderBy(l => l.Seen.At).ThenBy(l => l.Seen.Entry).ToList();
        if (looks.Count == 0) return new Interval(1 / prior.Rest.Factor, 1, prior.Rest.Factor);
        double expected = prior.Middle().RestDaysAt10C;
        var belief = SproutBelief.Before(prior.Rest.Factor);
        Span<double> visible = stackalloc double[SproutBelief.Multipliers.Length];
        foreach (var (bin, seen) in looks)
        {
            if (!Enum.TryParse<Glance>(seen.Share, ignoreCase: true, out var share)) continue;
            var course = courses.Past(paths[(bin.Id, bin.FilledAt)], TimeStep.Of(seen.At));
            for (int i = 0; i < visible.Length; i++)
            {
                visible[i] = SproutBelief.ShareVisible(expected * SproutBelief.Multipliers[i], course.SproutMm);
            }

            belief = belief.After(share, visible);
        }

        return belief.Sides90;
    }
}
