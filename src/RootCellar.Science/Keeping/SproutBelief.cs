namespace RootCellar.Science.Keeping;

/// <summary>What a grower sees at a glance into a bin: how many of the tubers show sprouts.</summary>
public enum SproutsSeen
{
    /// <summary>None; under 2 in a hundred.</summary>
    None,

    /// <summary>A few; up to a quarter.</summary>
    Few,

    /// <summary>About half; a quarter to three quarters.</summary>
    Half,

    /// <summary>Most.</summary>
    Most,
}

/// <summary>
/// What is believed of a lot's rest: how much longer or shorter than expected, on a fixed grid of multipliers. A look into the
/// bin changes the belief by Bayes' rule; nothing iterates, nothing can diverge. Immutable.
/// </summary>
/// <remarks>
/// The glance is taken as the true share blurred by 0.8 in the logit (assumed: "half" is said of anything from a third to two
/// thirds), and a sprout as seen from 2 mm (assumed; peeping is 1 to 2 mm). One lot in twenty is an odd one (assumed: heat or drought in
/// the field, second growth, another variety than the label says, weeks in a warm shop before it was logged, a sprout inhibitor), whose
/// rest may be anything on the grid; without such lots no look could ever speak against a variety's published days.
/// </remarks>
public sealed class SproutBelief
{
    private const int Nodes = 129;
    private const double Widest = 8;
    private const double WidestFactor = 3;
    private const double Blur = 0.8;
    private const double LeastFactor90 = 1.05;
    private const double OddLots = 0.05;
    private const double Z90 = 1.6448536269514722;

    /// <summary>One glance in five hundred is at the wrong bin (assumed), so that no single look can rule anything out.</summary>
    private const double WrongBin = 0.002;

    /// <summary>
    /// Tubers of a lot wake one after the other: standard deviation of the logarithm of their rest (derived: the first eyes peep up to four
    /// weeks before 80 % have 5 mm at 45 F, Olsen, Univ. of Idaho 2013, and the lengthening itself takes under three of them).
    /// </summary>
    private const double TuberSpread = 0.04;

    private const double LateTubers = 0.8416212335729143;

    private static readonly double[] Tubers = [.. Enumerable.Range(0, 9)
        .Select(i => Portable.Exp(TuberSpread * (Portable.NormalQuantile((i + 0.5) / 9) - LateTubers)))];

    // What a glance at any bin on any day of the season shows (assumed).
    private static readonly double[] AnyBin = [0.6, 0.2, 0.1, 0.1];

    private static readonly double[] Grid = MakeGrid();

    private readonly double[] _weights;

    private SproutBelief(double[] weights) => _weights = weights;

    /// <summary>The multipliers of the rest the belief is held over, rising from 1/8 to 8.</summary>
    public static ReadOnlySpan<double> Multipliers => Grid;

    /// <summary>Before anybody has looked: a lognormal about 1, and odd lots anywhere.</summary>
    /// <param name="factor">The 5 to 95 % factor of both together, either way (<see cref="RestPrior.Factor"/>), above 1, at most 3.</param>
    public static SproutBelief Before(double factor)
    {
        Air.Require.Within(factor, 1.001, WidestFactor, nameof(factor));
        double log = Portable.Log(factor), oddBeyond = OddLots * (1 - log / Portable.Log(Widest)) / 2;
        // The usual lots' spread that leaves 5 % beyond the factor on either side with the odd lots counted; by halving, to 1e-9 of it.
        double narrow = 0, wide = log / Z90;
        for (int i = 0; i < 30; i++)
        {
            double middle = (narrow + wide) / 2;
            if ((1 - OddLots) * Portable.NormalCdf(-log / middle) + oddBeyond > 0.05) wide = middle;
            else narrow = middle;
        }

        double usual = (narrow + wide) / 2;
        double odd = OddLots / (2 * Portable.Log(Widest));
        double Usual(double m) => Portable.Exp(-0.5 * Square(Portable.Log(m) / usual)) / (usual * RootTwoPi);
        return new SproutBelief(Normal([.. Grid.Select(m => (1 - OddLots) * Usual(m) + odd)]));
    }

    /// <summary>Share of a lot's tubers whose sprouts would show, 0 to 1.</summary>
    /// <param name="restDaysAt10C">The lot's rest, days at 10 C: that of its late tubers (the 80th in a hundred).</param>
    /// <param name="sproutMm">Length of the sprouts by now of tubers whose rest is so many days at 10 C, mm.</param>
    public static double ShareVisible(double restDaysAt10C, Func<double, double> sproutMm)
    {
        ArgumentNullException.ThrowIfNull(sproutMm);
        double share = 0;
        foreach (double tuber in Tubers) share += Dormancy.ShareLongerThan(Dormancy.VisibleMm, sproutMm(restDaysAt10C * tuber));
        return share / Tubers.Length;
    }

    /// <summary>After a look into the bin.</summary>
    /// <param name="seen">What was seen.</param>
    /// <param name="shareVisible">
    /// For each of <see cref="Multipliers"/>, the share of tubers whose sprouts would show by now, 0 to 1
    /// (<see cref="ShareVisible"/>, of the lot with that rest).
    /// </param>
    /// <exception cref="ArgumentException">Not one share for each multiplier, or a share outside 0 to 1.</exception>
    public SproutBelief After(SproutsSeen seen, ReadOnlySpan<double> shareVisible)
    {
        if (shareVisible.Length != Nodes)
            throw new ArgumentException($"There must be {Nodes} shares, one for each multiplier.", nameof(shareVisible));
        (double low, double high) = seen switch
        {
            SproutsSeen.None => (double.NegativeInfinity, Logit(0.02)),
            SproutsSeen.Few => (Logit(0.02), Logit(0.25)),
            SproutsSeen.Half => (Logit(0.25), Logit(0.75)),
            SproutsSeen.Most => (Logit(0.75), double.PositiveInfinity),
            _ => throw new ArgumentOutOfRangeException(nameof(seen), seen, "Unknown share."),
        };
        double[] weights = new double[Nodes];
        for (int i = 0; i < Nodes; i++)
        {
            if (!(shareVisible[i] is >= 0 and <= 1))
                throw new ArgumentException($"Share {i} must lie between 0 and 1.", nameof(shareVisible));
            double logit = Logit(Math.Clamp(shareVisible[i], 1e-4, 1 - 1e-4));
            weights[i] = _weights[i] * (WrongBin * AnyBin[(int)seen] + (1 - WrongBin) * (Below(high, logit) - Below(low, logit)));
        }

        return new SproutBelief(Normal(weights));
    }

    /// <summary>The multiplier the truth lies below with probability <paramref name="p"/>, between nodes in the logarithm.</summary>
    /// <exception cref="ArgumentOutOfRangeException"><paramref name="p"/> is not between 0 and 1.</exception>
    public double Quantile(double p)
    {
        if (!(p > 0 && p < 1))
            throw new ArgumentOutOfRangeException(nameof(p), p, "A probability must lie between 0 and 1, the ends left out.");
        double sum = 0;
        for (int i = 0; i < Nodes; i++)
        {
            // Each node stands for its neighbourhood: half of its weight lies below it.
            double next = sum + _weights[i];
            if (next >= p)
            {
                double within = (p - sum) / _weights[i] - 0.5;
                return Grid[i] * Portable.Exp(within * Step);
            }

            sum = next;
        }

        return Grid[^1];
    }

    /// <summary>5 to 95 % with the middle; no number of glances makes a season more certain than 5 % either way (assumed).</summary>
    public Air.Interval Sides90
    {
        get
        {
            double middle = Quantile(0.5);
            return new Air.Interval(
                Math.Min(Quantile(0.05), middle / LeastFactor90), middle, Math.Max(Quantile(0.95), middle * LeastFactor90));
        }
    }

    private static double Step => 2 * Portable.Log(Widest) / (Nodes - 1);

    private static double[] MakeGrid()
    {
        double[] grid = new double[Nodes];
        for (int i = 0; i < Nodes; i++)
            grid[i] = Portable.Exp((i - (Nodes - 1) / 2) * Step);
        return grid;
    }

    private static double Below(double edge, double logit) =>
        double.IsInfinity(edge) ? (edge > 0 ? 1 : 0) : Portable.NormalCdf((edge - logit) / Blur);

    private static double Logit(double share) => Portable.Log(share / (1 - share));

    private const double RootTwoPi = 2.5066282746310002;

    private static double Square(double x) => x * x;

    private static double[] Normal(double[] weights)
    {
        double sum = 0;
        foreach (double w in weights)
            sum += w;
        for (int i = 0; i < weights.Length; i++)
            weights[i] /= sum;
        return weights;
    }
}
