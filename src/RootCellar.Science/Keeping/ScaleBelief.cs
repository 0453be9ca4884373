using System.Collections.Immutable;
using RootCellar.Science.Air;

namespace RootCellar.Science.Keeping;

/// <summary>
/// What is believed of a lot's water-loss multiplier, and how weighing its bins changes it. Bayes on a fixed grid: every node
/// is one multiplier with its weight, and carries for every bin what is not known of it besides (net weight, tare), which is
/// integrated out in closed form. The multiplier itself wanders from one weighing to the next. Nothing searches and nothing can diverge.
/// Never changes; an observation makes a new one. docs/science/scale.md has the formulas.
/// </summary>
public sealed class ScaleBelief
{
    /// <summary>Nodes of the grid, from 1/12 to 12 in equal steps of the logarithm (6.2 % apart).</summary>
    public const int Nodes = 81;

    /// <summary>
    /// A weighing whose predictive tail is less likely than this, on either side, is asked about (one good weighing in a thousand).
    /// </summary>
    public const double WildTail = 0.0005;

    /// <summary>What else the weighing may have been must lie this far inside the tails to be offered.</summary>
    private const double MeantTail = 0.005;

    /// <summary>
    /// No narrower 5 to 95 % factor is given out (assumed): the bins of a lot share air and fold, while their errors are taken as
    /// independent, and the grid itself is in steps of 6 %.
    /// </summary>
    public const double LeastFactor90 = 1.1;

    /// <summary>
    /// How far the logarithm of the multiplier wanders in thirty days, one standard deviation (assumed: a fold whose early and late parts
    /// are off by a fifth against each other, over a season).
    /// </summary>
    public const double WanderSd = 0.1;

    /// <summary>
    /// And once in so many days it leaps (assumed): rot, an early sprout, a lid left off. It may then be anything that a lot may be that
    /// nothing is known of.
    /// </summary>
    public const double LeapDays = 200;

    /// <summary>What is lost between two weighings may differ from the fold's sum by this share besides, one standard deviation (assumed).</summary>
    public const double LossShare = 0.08;

    /// <summary>Something else than drying has happened to a bin between two weighings: so often, unsaid (assumed).</summary>
    public const double MovedShare = 0.02;

    /// <summary>Of what happened besides so much is no taking out but goes on, as rot does (assumed).</summary>
    private const double GoingShare = 0.3;

    /// <summary>And takes so much of the weight a day at first, one standard deviation (assumed: 3 % in a month).</summary>
    private const double GoingADay = 0.001;

    /// <summary>From so likely on a loss of the bin's own is no surprise any more (assumed).</summary>
    private const double GoingOnKnown = 0.1;

    /// <summary>And the scale or the eye slipped (assumed).</summary>
    private const double MisreadShare = 0.02;

    /// <summary>By how much either way then, as a share of the weight, one standard deviation (assumed).</summary>
    private const double OddShare = 0.1;

    // Widest multiplier: six standard deviations of the default prior.
    private const double LogWidest = 2.4849066497880004;

    private const double Z90 = 1.6448536269514722;

    private const double LeastKg = 0.01;

    private static readonly double[] Grid = MakeGrid();

    private readonly double[] _logWeights;

    private readonly double[] _prior;

    private readonly ImmutableDictionary<string, ScaleBin> _bins;

    // When it was last taught, in days since the lot was dug; NaN before.
    private readonly double _day;

    // Where the scale's zero stood at the last weighing; null before.
    private readonly ZeroOfDay? _zero;

    private ScaleBelief(double[] logWeights, double[]? prior, ImmutableDictionary<string, ScaleBin> bins, double day, ZeroOfDay? zero)
    {
        _zero = zero;
        _day = day;
        double shift = LogSum(logWeights);
        _logWeights = Array.ConvertAll(logWeights, w => w - shift);
        _prior = prior ?? Array.ConvertAll(_logWeights, Portable.Exp);
        _bins = bins;
    }

    /// <summary>The multipliers of the grid, rising: the caller runs the lot at each for the weight to expect.</summary>
    public static ReadOnlySpan<double> Multipliers => Grid;

    /// <summary>The multiplier in the middle: half the belief is below.</summary>
    public double Median => Quantile(0.5);

    /// <summary>5 to 95 %, with the median.</summary>
    public Interval Interval90 => new(Quantile(0.05), Median, Quantile(0.95));

    /// <summary>
    /// The 5 to 95 % factor about the median, either way; held at
    /// <see cref="LeastFactor90"/>, however many bins are weighed.
    /// </summary>
    public double Factor90
    {
        get
        {
            var known = Interval90;
            return Math.Max(LeastFactor90, Math.Sqrt(known.High / known.Low));
        }
    }

    /// <summary>
    /// As <see cref="Interval90"/>, neither side nearer to the median than <see cref="LeastFactor90"/>. After few weighings the sides are
    /// not alike: that little was lost fits many a small multiplier, and one factor for both would cut that side short.
    /// </summary>
    public Interval Sides90
    {
        get
        {
            var known = Interval90;
            return new Interval(Math.Min(known.Low, known.Value / LeastFactor90), known.Value,
                Math.Max(known.High, known.Value * LeastFactor90));
        }
    }

    /// <summary>Mean and variance of the multiplier's logarithm.</summary>
    public (double Mean, double Variance) Log
    {
        get
        {
            double mean = 0, square = 0;
            for (int i = 0; i < Nodes; i++) mean += Weight(i) * LogOf(i);
            for (int i = 0; i < Nodes; i++) square += Weight(i) * (LogOf(i) - mean) * (LogOf(i) - mean);
            return (mean, square);
        }
    }

    /// <summary>The belief before any weighing: lognormal.</summary>
    /// <param name="median">The middle, 0.2 to 5.</param>
    /// <param name="factor90">The 5 to 95 % factor either way, 1.05 to 4; 2 is the spread of what is published
    /// (<see cref="WaterLoss.UnknownLotFactor"/>).</param>
    public static ScaleBelief Prior(double median = 1, double factor90 = WaterLoss.UnknownLotFactor)
    {
        Require.Within(median, 0.2, 5, nameof(median));
        Require.Within(factor90, 1.05, 4, nameof(factor90));
        double middle = Portable.Log(median);
        double spread = Portable.Log(factor90) / Z90;
        double[] weights = new double[Nodes];
        for (int i = 0; i < Nodes; i++)
        {
            double z = (LogOf(i) - middle) / spread;
            weights[i] = -z * z / 2;
        }

        return new ScaleBelief(weights, prior: null, ImmutableDictionary<string, ScaleBin>.Empty, double.NaN, zero: null);
    }

    /// <summary>Takes a weighing in, or asks about it.</summary>
    /// <param name="start">The bin, and the net weight it is reckoned from. The same name is the same filling; after topping up go on under
    /// a new name.</param>
    /// <param name="weighing">The weighing. Those of one lot come in the order of their days.</param>
    /// <param name="predictedKg">
    /// Net weight the bin should have at each of <see cref="Multipliers"/>, kg: what the fold leaves of <see cref="BinStart.StartKg"/> since
    /// the last weighing, or since it was filled.
    /// </param>
    /// <param name="insist">True when a person has said that the weight is right: it is taken in. Either the lot lost that, or something else
    /// happened to the bin: each as likely, before the figures are looked at (assumed).</param>
    /// <param name="goingOn">How likely it is that the bin loses something of its own (rot), by what was seen before.</param>
    /// <param name="goingOnKg">And about how much since the last weighing then, kg, one standard deviation; 0 where nothing was
    /// seen.</param>
    /// <returns>
    /// The new belief; with a question, nothing is believed of the lot but what was, and the bin may weigh what it says.
    /// </returns>
    /// <exception cref="ArgumentException">Not one weight a node, or one that is no weight.</exception>
    /// <exception cref="ArgumentOutOfRangeException">A figure outside its range, or a day before the last.</exception>
    public ScaleAnswer Observe(BinStart start, Weighing weighing, ReadOnlySpan<double> predictedKg, bool insist = false, double goingOn = 0,
        double goingOnKg = 0)
    {
        ArgumentNullException.ThrowIfNull(start);
        ArgumentNullException.ThrowIfNull(weighing);
        start.Check();
        weighing.Check();
        Require.Within(goingOn, 0, 1, nameof(goingOn));
        if (predictedKg.Length != Nodes)
            throw new ArgumentException($"One weight for each of the {Nodes} multipliers is wanted.", nameof(predictedKg));
        foreach (double kg in predictedKg)
            Require.Within(kg, 0, 2 * start.StartKg, nameof(predictedKg));

        var before = _bins.GetValueOrDefault(start.Bin);
        var bin = (before ?? ScaleBin.Filled(start, weighing)).At(start.StartKg, weighing, predictedKg);
        double[] weights = Wandered(weighing.Day - _day);
        var zero = _zero is { } last && weighing.Day - last.Day < ZeroOfDay.Days ? last
            : ZeroOfDay.Unknown(weighing, before is null ? start.ZeroUncertaintyKg : 0);
        var expected = Expect(bin, weights, weighing, predictedKg, zero);
        double likelyBefore = LogSum(weights), days = weighing.Day - (before?.Day ?? start.Day);
        var may = May(insist, OddShare * start.StartKg, goingOn,
            Math.Max(goingOnKg, GoingADay * Math.Max(1, days) * start.StartKg));
        double net = weighing.NetKg;
        double below = expected.Below(net);
        // A bin that is thought to rot is not asked about for having gone on.
        bool isWild = !(below <= 1 - WildTail && (below >= WildTail || goingOn >= GoingOnKnown));
        if (!insist && isWild)
        {
            var kind = Meant(expected, start, weighing, before, out double? meant)
                ?? (below > 0.5 ? ScaleQuestionKind.ToppedUp : ScaleQuestionKind.TakenOut);
            var question = new ScaleQuestion(
                kind, start.Bin, weighing.GrossKg, weighing.TareKg + expected.Quantile(MeantTail),
                weighing.TareKg + expected.Quantile(1 - MeantTail), meant);
            // Its middle is what it was; only how sure that is has changed.
            double there = Standing(bin, _logWeights, predictedKg).Kg;
            bin.Learn(weighing, predictedKg, may, weights, zero);
            return Answer(_logWeights, _day, bin.Doubted((net - there) / Z90), start, predictedKg, question, _zero, there)
                with
            { LogLikelihood = LogSum(weights) - likelyBefore };
        }

        var learned = bin.Learn(weighing, predictedKg, may, weights, zero);
        return Answer(weights, weighing.Day, learned.Bin, start, predictedKg, question: null, learned.Zero)
            with
        { LogLikelihood = LogSum(weights) - likelyBefore, OwnLossShare = learned.GoingOn, OwnLossKg = -learned.GoneKg };
    }

    /// <summary>What may have happened to a bin besides drying and breath; what goes on is small at first.</summary>
    private static ScaleBin.Happening[] May(bool insist, double oddKg, double going, double goingKg)
    {
        double moved = MovedShare + ((1 - MovedShare - MisreadShare) * going);
        double rots = ((GoingShare * MovedShare) + ((1 - MovedShare - MisreadShare) * going)) / moved;
        double taken = insist ? 0.5 : moved;
        ScaleBin.Happening[] own = [new(taken * (1 - rots), oddKg, 0), new(taken * rots, goingKg, 0, IsGoingOn: true)];
        return insist ? [new(0.5, 0, 0), .. own] : [new(1 - moved - MisreadShare, 0, 0), .. own, new(MisreadShare, 0, oddKg)];
    }

    private static double LogSum(double[] logWeights)
    {
        double top = logWeights.Max();
        return top + Portable.Log(logWeights.Sum(w => Portable.Exp(w - top)));
    }

    private ScaleAnswer Answer(
        double[] logWeights, double day, ScaleBin bin, BinStart start, ReadOnlySpan<double> predictedKg, ScaleQuestion? question,
        ZeroOfDay? zero, double? there = null)
    {
        var belief = new ScaleBelief(logWeights, _prior, _bins, day, zero);
        var (kg, sd) = Standing(bin, belief._logWeights, predictedKg);
        // Somebody said that nearly nothing is in it, and there is nothing below.
        kg = Math.Max(LeastKg, there ?? kg);
        var bins = _bins.SetItem(start.Bin, bin.From(kg, predictedKg));
        return new ScaleAnswer(new ScaleBelief(logWeights, _prior, bins, day, zero), question, kg, sd);
    }

    /// <summary>
    /// The multiplier that a share <paramref name="p"/> of the belief lies below. Between nodes the logarithm of the density is
    /// taken as a straight line, which leaves the spread of a narrow belief as it is; a straight density would widen it.
    /// </summary>
    /// <exception cref="ArgumentOutOfRangeException">Not between 0 and 1, the ends left out.</exception>
    public double Quantile(double p)
    {
        if (!(p > 0 && p < 1))
            throw new ArgumentOutOfRangeException(nameof(p), p, "A probability must lie between 0 and 1, the ends left out.");
        double wanted = 0;
        for (int i = 1; i < Nodes; i++)
            wanted += p * Cell(i);
        for (int i = 1; i < Nodes; i++)
        {
            double cell = Cell(i);
            if (wanted > cell && i < Nodes - 1)
            {
                wanted -= cell;
                continue;
            }

            double share = cell > 0 ? Math.Clamp(wanted / cell, 0, 1) : 0;
            double rise = _logWeights[i] - _logWeights[i - 1];
            double x = rise switch
            {
                > FlatRise => 1 + Portable.Log(share + (1 - share) * Portable.Exp(-rise)) / rise,
                < -FlatRise => Portable.Log(1 - share + share * Portable.Exp(rise)) / rise,
                _ => share,
            };
            return Portable.Exp(LogOf(0) + Step * (i - 1 + Math.Clamp(x, 0, 1)));
        }

        return Grid[Nodes - 1];
    }

    // Below this rise of the log density a cell is taken as flat: the difference of two exponentials would cancel.
    private const double FlatRise = 1e-6;

    private const double Step = 2 * LogWidest / (Nodes - 1);

    private static double LogOf(int node) => LogWidest * (node - (Nodes - 1) / 2) / ((Nodes - 1) / 2);

    private static double[] MakeGrid()
    {
        double[] grid = new double[Nodes];
        for (int i = 0; i < Nodes; i++)
            grid[i] = Portable.Exp(LogOf(i));
        return grid;
    }

    /// <summary>Belief between a node and the one before, in steps of the grid.</summary>
    private double Cell(int node)
    {
        double rise = _logWeights[node] - _logWeights[node - 1];
        return Math.Abs(rise) > FlatRise ? (Weight(node) - Weight(node - 1)) / rise : (Weight(node) + Weight(node - 1)) / 2;
    }

    private double Weight(int node) => Portable.Exp(_logWeights[node]);

    /// <summary>
    /// The weights after so many days in which nobody looked: nodes pass on to their neighbours, and a few leap. Ends are kept within the
    /// grid. NaN days: nobody has looked yet, and they are as they were.
    /// </summary>
    private double[] Wandered(double days)
    {
        if (!(days > 0)) return (double[])_logWeights.Clone();
        double leap = 1 - Portable.Exp(-days / LeapDays);
        double[] kernel = Kernel(WanderSd * Math.Sqrt(days / 30) / Step);
        double[] weights = Array.ConvertAll(_prior, p => p * leap);
        for (int from = 0; from < Nodes; from++)
        {
            double weight = Weight(from) * (1 - leap);
            for (int k = 1 - kernel.Length; k < kernel.Length; k++)
                weights[Math.Clamp(from + k, 0, Nodes - 1)] += weight * kernel[Math.Abs(k)];
        }

        return Array.ConvertAll(weights, w => Portable.Log(Math.Max(w, double.Epsilon)));
    }

    /// <summary>A normal in steps of the grid, from its middle outwards; where it is narrower than a step, three nodes of its variance.</summary>
    private static double[] Kernel(double sd)
    {
        if (sd * sd < 0.5) return [1 - sd * sd, sd * sd / 2];
        double[] kernel = new double[(int)(5 * sd) + 2];
        double sum = 0;
        for (int k = 0; k < kernel.Length; k++)
        {
            kernel[k] = Portable.Exp(-k * k / (2 * sd * sd));
            sum += k == 0 ? kernel[k] : 2 * kernel[k];
        }

        return Array.ConvertAll(kernel, k => k / sum);
    }

    /// <summary>Net weight in a bin over all nodes, kg: its middle, and the standard error about the mean.</summary>
    private static (double Kg, double SdKg) Standing(ScaleBin bin, double[] logWeights, ReadOnlySpan<double> predictedKg)
    {
        double[] weights = new double[Nodes], means = new double[Nodes], deviations = new double[Nodes];
        double all = 0, mean = 0, square = 0;
        for (int i = 0; i < Nodes; i++)
        {
            weights[i] = Portable.Exp(logWeights[i]);
            (means[i], double variance) = bin.Standing(i, predictedKg[i]);
            deviations[i] = Math.Sqrt(Math.Max(1e-12, variance));
            all += weights[i];
            mean += weights[i] * means[i];
        }

        mean /= all;
        for (int i = 0; i < Nodes; i++)
        {
            weights[i] /= all;
            double off = means[i] - mean;
            square += weights[i] * (deviations[i] * deviations[i] + off * off);
        }

        return (new Mixture(weights, means, deviations).Quantile(0.5), Math.Sqrt(square));
    }

    private static Mixture Expect(
        ScaleBin bin, double[] logWeights, Weighing weighing, ReadOnlySpan<double> predictedKg, ZeroOfDay zero)
    {
        double[] weights = new double[Nodes];
        double[] means = new double[Nodes];
        double[] deviations = new double[Nodes];
        for (int i = 0; i < Nodes; i++)
        {
            weights[i] = Portable.Exp(logWeights[i]);
            (means[i], double variance) = bin.Predict(i, weighing, predictedKg[i], zero);
            deviations[i] = Math.Sqrt(variance + weighing.RoundingVariance);
        }

        return new Mixture(weights, means, deviations);
    }

    /// <summary>The slip of the pen that fits best, if one fits.</summary>
    private static ScaleQuestionKind? Meant(Mixture expected, BinStart start, Weighing weighing, ScaleBin? before, out double? meantGrossKg)
    {
        const double poundsPerKg = 1 / Pound.Kilograms;
        List<(ScaleQuestionKind Kind, double GrossKg, double NetKg)> slips =
        [
            (ScaleQuestionKind.PoundsAsKilograms, weighing.GrossKg / poundsPerKg, weighing.GrossKg / poundsPerKg - weighing.TareKg),
            (ScaleQuestionKind.KilogramsAsPounds, weighing.GrossKg * poundsPerKg, weighing.GrossKg * poundsPerKg - weighing.TareKg),
            (ScaleQuestionKind.DecimalPoint, weighing.GrossKg / 10, weighing.GrossKg / 10 - weighing.TareKg),
            (ScaleQuestionKind.DecimalPoint, weighing.GrossKg * 10, weighing.GrossKg * 10 - weighing.TareKg),
        ];
        if (weighing.TareKg > 0)
            slips.Add((ScaleQuestionKind.TareTakenTwice, weighing.GrossKg + weighing.TareKg, weighing.GrossKg));
        double emptyKg = start.EmptyKg > 0 ? start.EmptyKg : before?.TareKg ?? 0;
        if (weighing.TareKg == 0 && emptyKg > 0)
            slips.Add((ScaleQuestionKind.TareForgotten, weighing.GrossKg, weighing.GrossKg - emptyKg));

        meantGrossKg = null;
        ScaleQuestionKind? best = null;
        double bestTail = MeantTail;
        foreach (var (kind, gross, net) in slips)
        {
            double below = expected.Below(net);
            double tail = Math.Min(below, 1 - below);
            if (tail > bestTail)
            {
                best = kind;
                bestTail = tail;
                meantGrossKg = gross;
            }
        }

        return best;
    }

    /// <summary>Normal distributions, one a node.</summary>
    private sealed class Mixture(double[] weights, double[] means, double[] deviations)
    {
        private const double Negligible = 1e-12;

        public double Below(double value)
        {
            double sum = 0;
            for (int i = 0; i < weights.Length; i++)
            {
                if (weights[i] > Negligible)
                    sum += weights[i] * Portable.NormalCdf((value - means[i]) / deviations[i]);
            }

            return Math.Min(1, sum);
        }

        /// <summary>By halving, to a few milligrams: it cannot fail to close in.</summary>
        public double Quantile(double p)
        {
            double low = double.PositiveInfinity;
            double high = double.NegativeInfinity;
            for (int i = 0; i < means.Length; i++)
            {
                if (weights[i] <= Negligible)
                    continue;
                low = Math.Min(low, means[i] - 8 * deviations[i]);
                high = Math.Max(high, means[i] + 8 * deviations[i]);
            }

            for (int i = 0; i < 26; i++)
            {
                double middle = (low + high) / 2;
                if (Below(middle) < p)
                    low = middle;
                else
                    high = middle;
            }

            return (low + high) / 2;
        }
    }
}
