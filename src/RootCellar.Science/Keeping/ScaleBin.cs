namespace RootCellar.Science.Keeping;

/// <summary>
/// What is not known of one bin besides its lot's multiplier, at every node of the grid: start weight, tare, and where the
/// model is off; three normal figures with their covariance (a Kalman filter of one reading at a time).
/// </summary>
internal sealed class ScaleBin
{
    /// <summary>How far the fold may be off, as a share of the weight, one standard deviation (assumed).</summary>
    public const double DiscrepancyOfWeight = 0.0015;

    /// <summary>
    /// And as a share of the loss so far, for the shape of the curve (assumed; leave-one-out of trials cannot tell shape from multiplier).
    /// </summary>
    public const double DiscrepancyOfLoss = 0.08;

    /// <summary>Days in which such an error falls to a third: two weighings a week apart mostly share it (assumed).</summary>
    public const double DiscrepancyDays = 30;

    private const double StudentDegrees = 3;

    private readonly Unknowns[] _nodes;

    private ScaleBin(Unknowns[] nodes, double day, double tareKg, double lastNetKg)
    {
        _nodes = nodes;
        Day = day;
        TareKg = tareKg;
        LastNetKg = lastNetKg;
    }

    public double Day { get; }

    public double TareKg { get; }

    /// <summary>Net weight last taken in, kg; NaN before any.</summary>
    public double LastNetKg { get; }

    public static ScaleBin Filled(BinStart start, Weighing weighing)
    {
        double share = start.UncertaintyKg / start.StartKg;
        var nodes = new Unknowns[ScaleBelief.Nodes];
        Array.Fill(nodes, new Unknowns { StartStart = share * share, TareTare = weighing.TareUncertaintyKg * weighing.TareUncertaintyKg });
        return new ScaleBin(nodes, 0, weighing.TareKg, double.NaN);
    }

    /// <summary>On to the day of a weighing: the model's error fades and is renewed; another tare is another error.</summary>
    public ScaleBin At(Weighing weighing)
    {
        Air.Require.Within(weighing.Day, Day, 2000, nameof(weighing));
        double keep = Portable.Exp(-(weighing.Day - Day) / DiscrepancyDays);
        bool otherTare = weighing.TareKg != TareKg;
        double tareVariance = weighing.TareUncertaintyKg * weighing.TareUncertaintyKg;
        var nodes = Array.ConvertAll(_nodes, node =>
        {
            node = node.Faded(keep);
            return otherTare ? node.WithTare(tareVariance) : node;
        });
        return new ScaleBin(nodes, weighing.Day, weighing.TareKg, LastNetKg);
    }

    /// <summary>Net weight the scale should show at a node, kg, and its variance before rounding.</summary>
    public (double Mean, double Variance) Predict(int node, BinStart start, Weighing weighing, double predictedKg)
    {
        ref readonly var x = ref _nodes[node];
        double discrepancy = DiscrepancyKg(start, predictedKg);
        var (s, t, d) = x.Gain(predictedKg, discrepancy);
        return (
            predictedKg + predictedKg * x.Start + x.Tare + discrepancy * x.Off,
            predictedKg * s + t + discrepancy * d + weighing.RepeatabilityKg * weighing.RepeatabilityKg);
    }

    /// <summary>Standard deviation of the difference of this weighing from the last, kg, if nothing had been lost between them.</summary>
    public static double DifferenceSd(ScaleBin before, BinStart start, Weighing weighing)
    {
        double keep = Portable.Exp(-(weighing.Day - before.Day) / DiscrepancyDays);
        double discrepancy = DiscrepancyKg(start, Math.Min(start.StartKg, Math.Max(1e-6, before.LastNetKg)));
        double otherTare = weighing.TareKg == before.TareKg ? 0 : 2 * weighing.TareUncertaintyKg * weighing.TareUncertaintyKg;
        return Math.Sqrt(2 * (weighing.RepeatabilityKg * weighing.RepeatabilityKg + weighing.RoundingVariance)
            + 2 * (1 - keep) * discrepancy * discrepancy + otherTare);
    }

    /// <summary>Takes the reading in at every node, and adds to each log weight how well the node foretold it.</summary>
    public ScaleBin Learn(BinStart start, Weighing weighing, ReadOnlySpan<double> predictedKg, bool heavyTail, double[] logWeights)
    {
        var nodes = new Unknowns[_nodes.Length];
        for (int i = 0; i < nodes.Length; i++)
        {
            var (mean, variance) = Predict(i, start, weighing, predictedKg[i]);
            double discrepancy = DiscrepancyKg(start, predictedKg[i]);
            if (heavyTail)
            {
                double whole = variance + weighing.RoundingVariance;
                double off = weighing.NetKg - mean;
                double r2 = off * off / whole;
                logWeights[i] -= Portable.Log(whole) / 2 + (StudentDegrees + 1) / 2 * Portable.Log(1 + r2 / StudentDegrees);
                // The further out, the less it says of start weight and tare: the variance Student's t stands for at this distance.
                double inflated = whole * Math.Max(1, (StudentDegrees + r2) / (StudentDegrees + 1));
                nodes[i] = _nodes[i].Corrected(predictedKg[i], discrepancy, off / inflated, 1 / inflated);
            }
            else
            {
                var read = Rounded.Of(weighing.NetKg, weighing.ResolutionKg, mean, Math.Sqrt(variance));
                logWeights[i] += read.LogLikelihood;
                nodes[i] = _nodes[i]
                    .Corrected(predictedKg[i], discrepancy, (read.Mean - mean) / variance, (1 - read.Variance / variance) / variance);
            }
        }

        return new ScaleBin(nodes, weighing.Day, weighing.TareKg, weighing.NetKg);
    }

    private static double DiscrepancyKg(BinStart start, double predictedKg)
    {
        double lost = Math.Max(0, 1 - predictedKg / start.StartKg) * DiscrepancyOfLoss;
        return start.StartKg * Math.Sqrt(DiscrepancyOfWeight * DiscrepancyOfWeight + lost * lost);
    }

    /// <summary>
    /// Start: share the start weight is off. Tare: kg it is too light. Off: the model's error in its own standard deviations,
    /// which begins at nought at filling. The pairs are covariances.
    /// </summary>
    private readonly record struct Unknowns
    {
        public double Start { get; private init; }

        public double Tare { get; private init; }

        public double Off { get; private init; }

        public double StartStart { get; init; }

        public double TareTare { get; init; }

        private double OffOff { get; init; }

        private double StartTare { get; init; }

        private double StartOff { get; init; }

        private double TareOff { get; init; }

        public Unknowns Faded(double keep) => this with
        {
            Off = keep * Off,
            OffOff = keep * keep * OffOff + (1 - keep * keep),
            StartOff = keep * StartOff,
            TareOff = keep * TareOff,
        };

        public Unknowns WithTare(double variance) => this with { Tare = 0, TareTare = variance, StartTare = 0, TareOff = 0 };

        /// <summary>Covariance of each unknown with the reading.</summary>
        public (double Start, double Tare, double Off) Gain(double kg, double discrepancyKg) => (
            StartStart * kg + StartTare + StartOff * discrepancyKg,
            StartTare * kg + TareTare + TareOff * discrepancyKg,
            StartOff * kg + TareOff + OffOff * discrepancyKg);

        /// <param name="kg">Weight that goes with the start's share.</param>
        /// <param name="discrepancyKg">Weight that goes with the model's error.</param>
        /// <param name="shift">Surprise over the reading's variance.</param>
        /// <param name="certainty">Share of the reading's variance that is gone, over that variance.</param>
        public Unknowns Corrected(double kg, double discrepancyKg, double shift, double certainty)
        {
            var (s, t, o) = Gain(kg, discrepancyKg);
            return new Unknowns
            {
                Start = Start + s * shift,
                Tare = Tare + t * shift,
                Off = Off + o * shift,
                StartStart = Math.Max(0, StartStart - s * s * certainty),
                TareTare = Math.Max(0, TareTare - t * t * certainty),
                OffOff = Math.Max(0, OffOff - o * o * certainty),
                StartTare = StartTare - s * t * certainty,
                StartOff = StartOff - s * o * certainty,
                TareOff = TareOff - t * o * certainty,
            };
        }
    }
}
