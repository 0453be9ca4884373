namespace RootCellar.Science.Keeping;

/// <summary>
/// What is not known of one bin besides its lot's multiplier, at every node of the grid: by how much its net weight differs from the
/// one reckoned with, and by how much the empty weight taken off is wrong; two normal figures with their covariance (a Kalman filter
/// of one reading at a time). Both wander from one weighing to the next.
/// </summary>
internal sealed class ScaleBin
{
    /// <summary>
    /// By what share of the weight the fold drifts off in thirty days besides <see cref="ScaleBelief.LossShare"/>, for soil that falls off
    /// and water that condenses, one standard deviation (assumed).
    /// </summary>
    public const double WeightShare = 0.0005;

    /// <summary>
    /// How far the error of the empty weight wanders in thirty days, kg: a crate takes up damp, a scale's zero creeps (assumed).
    /// </summary>
    public const double TareWanderKg = 0.03;

    private readonly Unknowns[] _nodes;

    private ScaleBin(Unknowns[] nodes, double day, double tareKg)
    {
        _nodes = nodes;
        Day = day;
        TareKg = tareKg;
    }

    /// <summary>Day of the last weighing, or of the filling.</summary>
    public double Day { get; }

    public double TareKg { get; }

    public static ScaleBin Filled(BinStart start, Weighing weighing)
    {
        var nodes = new Unknowns[ScaleBelief.Nodes];
        double tare = Square(weighing.TareUncertaintyKg);
        // An empty bin that is heavier than was taken off leaves less in it than was written down, by as much.
        double shared = weighing.TareKg > 0 && weighing.TareKg == start.TareKg ? tare : 0;
        Array.Fill(nodes, new Unknowns(0, 0, Square(start.UncertaintyKg) + shared, tare, -shared));
        return new ScaleBin(nodes, start.Day, weighing.TareKg);
    }

    /// <summary>On to the day of a weighing: errors grow, and another tare is another error.</summary>
    /// <param name="kg">Net weight it is reckoned from, kg.</param>
    /// <param name="weighing">The weighing.</param>
    /// <param name="predictedKg">What is left of that weight at each node, kg.</param>
    public ScaleBin At(double kg, Weighing weighing, ReadOnlySpan<double> predictedKg)
    {
        Air.Require.Within(weighing.Day, Day, 4000, nameof(weighing));
        bool otherTare = weighing.TareKg != TareKg;
        double tareVariance = Square(weighing.TareUncertaintyKg);
        double days = weighing.Day - Day;
        double wander = weighing.TareKg > 0 ? Square(TareWanderKg) * days / 30 : 0;
        double shaken = Square(WeightShare * kg) * days / 30;
        var nodes = new Unknowns[_nodes.Length];
        for (int i = 0; i < nodes.Length; i++)
        {
            var node = otherTare ? _nodes[i] with { Tare = 0, TareTare = tareVariance, OffTare = 0 } : _nodes[i];
            nodes[i] = node with
            {
                OffOff = node.OffOff + shaken + Square(ScaleBelief.LossShare * (kg - predictedKg[i])),
                TareTare = node.TareTare + wander,
            };
        }

        return new ScaleBin(nodes, weighing.Day, weighing.TareKg);
    }

    /// <summary>Net weight the scale should show at a node, kg, and its variance before rounding.</summary>
    public (double Mean, double Variance) Predict(int node, Weighing weighing, double predictedKg, ZeroOfDay zero)
    {
        var x = _nodes[node];
        return (predictedKg + x.Off + x.Tare + zero.Kg[node],
            x.OffOff + x.TareTare + 2 * x.OffTare + Square(weighing.RepeatabilityKg) + zero.Variance[node]);
    }

    /// <summary>Net weight that is in the bin at a node, kg, and its variance: the tare's error is none of it.</summary>
    public (double Mean, double Variance) Standing(int node, double predictedKg) =>
        (predictedKg + _nodes[node].Off, _nodes[node].OffOff);

    /// <summary>
    /// Takes the reading in at every node, and adds to each log weight how well the node foretold it. More than one thing may have
    /// happened: each gives its own correction, and what is left is their mean and spread.
    /// </summary>
    /// <param name="zero">Where the scale's zero stands on that day, as far as the lot's other bins have told.</param>
    /// <returns>The bin, and the zero, after it; how likely it is that something goes on in the bin, and what it gained by it (below
    /// 0), kg.</returns>
    public (ScaleBin Bin, ZeroOfDay Zero, double GoingOn, double GoneKg) Learn(
        Weighing weighing, ReadOnlySpan<double> predictedKg, ReadOnlySpan<Happening> happenings, double[] logWeights, ZeroOfDay zero)
    {
        var nodes = new Unknowns[_nodes.Length];
        double[] zeroKg = new double[_nodes.Length], zeroVariance = new double[_nodes.Length];
        double[] shareGoing = new double[_nodes.Length], kgGone = new double[_nodes.Length];
        Span<(double Kg, double Variance)> stood = stackalloc (double, double)[happenings.Length];
        Span<double> likely = stackalloc double[happenings.Length];
        Span<Unknowns> corrected = stackalloc Unknowns[happenings.Length];
        for (int i = 0; i < nodes.Length; i++)
        {
            var (mean, variance) = Predict(i, weighing, predictedKg[i], zero);
            double top = double.NegativeInfinity;
            for (int h = 0; h < happenings.Length; h++)
            {
                var (share, movedKg, misreadKg, _) = happenings[h];
                double whole = variance + Square(movedKg) + Square(misreadKg);
                var read = Rounded.Of(weighing.NetKg, weighing.ResolutionKg, mean, Math.Sqrt(whole));
                likely[h] = Portable.Log(share) + read.LogLikelihood;
                top = Math.Max(top, likely[h]);
                var before = _nodes[i] with { OffOff = _nodes[i].OffOff + Square(movedKg) };
                double shift = (read.Mean - mean) / whole, certainty = (1 - read.Variance / whole) / whole;
                corrected[h] = before.Corrected(shift, certainty);
                double z = zero.Variance[i];
                stood[h] = (zero.Kg[i] + (z * shift), Math.Max(0, z - (z * z * certainty)));
            }

            double sum = 0;
            foreach (ref double l in likely)
            {
                l = Portable.Exp(l - top);
                sum += l;
            }

            logWeights[i] += top + Portable.Log(sum);
            nodes[i] = Unknowns.Mean(likely, sum, corrected);
            for (int h = 0; h < likely.Length; h++)
            {
                if (!happenings[h].IsGoingOn) continue;
                shareGoing[i] += likely[h] / sum;
                kgGone[i] += likely[h] / sum * (corrected[h].Off - _nodes[i].Off);
            }

            for (int h = 0; h < stood.Length; h++) zeroKg[i] += likely[h] / sum * stood[h].Kg;
            for (int h = 0; h < stood.Length; h++)
                zeroVariance[i] += likely[h] / sum * (stood[h].Variance + Square(stood[h].Kg - zeroKg[i]));
        }

        double most = logWeights.Max(), all = 0, going = 0, kg = 0;
        for (int i = 0; i < nodes.Length; i++)
        {
            double weight = Portable.Exp(logWeights[i] - most);
            (all, going, kg) = (all + weight, going + (weight * shareGoing[i]), kg + (weight * kgGone[i]));
        }

        return (new ScaleBin(nodes, Day, TareKg), new ZeroOfDay(zero.Day, zeroKg, zeroVariance), going / all, going > 0 ? kg / going : 0);
    }

    /// <summary>A weighing nobody has answered for: it may be so, or not. The middle stays, the spread holds it.</summary>
    public ScaleBin Doubted(double offKg) => new(
        Array.ConvertAll(_nodes, n => n with { OffOff = n.OffOff + Square(offKg) }), Day, TareKg);

    /// <summary>Reckoned on from another net weight at this day; nothing that is known changes.</summary>
    public ScaleBin From(double kg, ReadOnlySpan<double> predictedKg)
    {
        var nodes = new Unknowns[_nodes.Length];
        for (int i = 0; i < nodes.Length; i++) nodes[i] = _nodes[i] with { Off = predictedKg[i] + _nodes[i].Off - kg };
        return new ScaleBin(nodes, Day, TareKg);
    }

    private static double Square(double x) => x * x;

    /// <summary>What may have happened at a weighing.</summary>
    /// <param name="Share">How likely, before the reading is looked at.</param>
    /// <param name="MovedKg">By how much the weight may have changed besides, kg, one standard deviation.</param>
    /// <param name="MisreadKg">By how much the scale or who read it may be off besides, kg.</param>
    /// <param name="IsGoingOn">The weight changes by something that goes on (rot).</param>
    public readonly record struct Happening(double Share, double MovedKg, double MisreadKg, bool IsGoingOn = false);

    /// <summary>
    /// Off: kg the bin is heavier than reckoned. Tare: kg the empty weight taken off is too light. The rest are their covariances.
    /// </summary>
    private readonly record struct Unknowns(double Off, double Tare, double OffOff, double TareTare, double OffTare)
    {
        /// <param name="shift">Surprise over the reading's variance.</param>
        /// <param name="certainty">Share of the reading's variance that is gone, over that variance.</param>
        public Unknowns Corrected(double shift, double certainty)
        {
            // Covariance of each with the reading.
            double o = OffOff + OffTare, t = OffTare + TareTare;
            return new Unknowns(Off + o * shift, Tare + t * shift, Math.Max(0, OffOff - o * o * certainty),
                Math.Max(0, TareTare - t * t * certainty), OffTare - o * t * certainty);
        }

        /// <summary>One normal with the mean and the covariance of several, each with its share.</summary>
        public static Unknowns Mean(ReadOnlySpan<double> shares, double sum, ReadOnlySpan<Unknowns> of)
        {
            double off = 0, tare = 0, offOff = 0, tareTare = 0, offTare = 0;
            for (int i = 0; i < of.Length; i++)
            {
                off += shares[i] / sum * of[i].Off;
                tare += shares[i] / sum * of[i].Tare;
            }

            for (int i = 0; i < of.Length; i++)
            {
                double share = shares[i] / sum, o = of[i].Off - off, t = of[i].Tare - tare;
                offOff += share * (of[i].OffOff + o * o);
                tareTare += share * (of[i].TareTare + t * t);
                offTare += share * (of[i].OffTare + o * t);
            }

            return new Unknowns(off, tare, offOff, tareTare, offTare);
        }
    }
}
