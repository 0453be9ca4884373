using RootCellar.Ledger;
using RootCellar.Science.Air;
using RootCellar.Science.Keeping;

namespace RootCellar.Lots;

/// <summary>A weigh-in that would teach much.</summary>
/// <param name="Bin">The bin to put on the scale.</param>
/// <param name="WidthKg">Width of the lot's 90 % interval now.</param>
/// <param name="AfterKg">And after weighing that bin, if it weighs what is expected.</param>
/// <param name="ExpectedKg">What it should weigh, net.</param>
internal sealed record WeighInWorth(string Lot, string Bin, double ExpectedKg, double WidthKg, double AfterKg)
{
    public double GainKg => WidthKg - AfterKg;
}

/// <summary>What a weigh-in of each bin would teach, found by pretending it and seeing it say what is expected.</summary>
internal static class WeighIns
{
    /// <summary>Step of the pretended scale where none of the lot was ever weighed, kg (assumed).</summary>
    private const double StepKg = 0.1;

    public static IReadOnlyList<WeighInWorth> Of(LotView lot, LotLearned known, TrajectoryCache courses, long now, ScalesKnown scales)
    {
        var full = lot.Bins.Where(b => b.EmptiedAt is null && b.Grams > 0 && known.Weights.ContainsKey((b.Id, b.FilledAt))).ToList();
        if (full.Count == 0) return [];
        double step = lot.Bins.SelectMany(b => b.Weighings).LastOrDefault()?.ResolutionKg is { } used and > 0 ? used : StepKg;
        var bins = full.ConvertAll(b => Reckoned(b, known, courses, now));
        double width = bins.Sum(b => Width(b, known.WaterNow, known));
        // Bins of one path and weight teach the same: of many alike the fullest and the first by name stand for all.
        return
        [
            .. bins.GroupBy(b => (b.Path.Key, Begun: known.Scales[(b.Bin.Id, b.Bin.FilledAt)].Begun))
                .Select(g => g.OrderByDescending(b => b.ExpectedKg).ThenBy(b => b.Bin.Id, StringComparer.Ordinal).First())
                .Select(b => Pretend(b, bins, known, courses, now, (step, scales.ZeroSdKg(step, now)), width)).OfType<WeighInWorth>(),
        ];
    }

    private static WeighInWorth? Pretend(BinNow bin, List<BinNow> bins, LotLearned known, TrajectoryCache courses, long now,
        (double StepKg, double ZeroSdKg) on, double width)
    {
        var scale = known.Scales[(bin.Bin.Id, bin.Bin.FilledAt)];
        // Weighed within the hour, it has nothing to add.
        if (now - scale.LastCell < TimeStep.PerHour) return null;
        Span<double> predicted = stackalloc double[ScaleBelief.Nodes];
        var (belief, times) = known.WaterNow.OnScale(bin.Terms);
        scale.Expect(bin.Path, courses, now, predicted, times);
        var weighing = scale.Weigh(bin.Path.Dug, now, bin.ExpectedKg, 0, on.StepKg, 0, on.ZeroSdKg);
        var answer = belief.Observe(scale.Start, weighing, predicted, insist: false);
        if (answer.Question is not null) return null;
        var then = known.WaterNow with
        {
            Own = new OwnTaught(answer.Belief, answer.Belief.Sides90, known.WaterNow.Own?.At ?? bin.Terms, known.WaterNow.Own?.Offset ?? 0),
        };
        double sd = Math.Max(answer.SdKg, OnTheScale.SdKg(on.StepKg, OnTheScale.TareErrorKg(1, on.StepKg, alike: false)));
        double after = bins.Sum(b => Width(
            ReferenceEquals(b, bin) ? b with { Weight = new WeightBase(now, now, bin.ExpectedKg, sd), Lost = default } : b,
            then, known));
        return new WeighInWorth(bin.Path.Lot, bin.Bin.Id, bin.ExpectedKg, width, after);
    }

    private static BinNow Reckoned(BinView bin, LotLearned known, TrajectoryCache courses, long now)
    {
        var key = (bin.Id, bin.FilledAt);
        var (path, weight) = (known.Paths[key], known.Weights[key]);
        long from = Math.Min(weight.From, now);
        var lost = Lost.Between(courses.Past(path, from), courses.Past(path, now), known) with { Going = weight.Going };
        var terms = known.TermsOf(bin, PlaceShares.Of(path, courses, from, now));
        return new BinNow(bin, path, weight, lost, weight.Kg * lost.Left(known.WaterNow.Of(terms).Value), terms);
    }

    private static double Width(BinNow bin, WaterTaught water, LotLearned known)
    {
        Interval kg = LotUncertainty.Weight(bin.Weight.Kg, bin.Weight.SdKg, bin.Lost, water.Of(bin.Terms), known.Prior.BreathFactor);
        return kg.High - kg.Low;
    }

    private sealed record BinNow(
        BinView Bin, LotPath Path, WeightBase Weight, Lost Lost, double ExpectedKg, IReadOnlyList<LossTerm> Terms);
}
