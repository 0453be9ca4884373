using RootCellar.Science;
using RootCellar.Science.Air;
using RootCellar.Science.Keeping;

namespace RootCellar.Lots;

/// <summary>A bin's water-loss multiplier.</summary>
/// <param name="Sides">The multiplier, 5 to 95 %.</param>
/// <param name="IsWeighed">
/// Whether it was learned from weigh-ins of its lot: these tell what was lost until then, and what comes may be other. What is known of a
/// lot never weighed is of all that it loses, from digging on.
/// </param>
internal readonly record struct WaterMultiplier(Interval Sides, bool IsWeighed)
{
    public double Value => Sides.Value;
}

/// <summary>What a lot's own weigh-ins have taught of its water loss.</summary>
/// <param name="Belief">What is believed.</param>
/// <param name="Sides">The multiplier, 5 to 95 %.</param>
/// <param name="At">Where, and how the bins lay that it was learned from (<see cref="LossTerms.OfBin"/>).</param>
/// <param name="Offset">What has to be added to the logarithm for what has come to be known of those places while it was learned.</param>
internal sealed record OwnTaught(ScaleBelief Belief, Interval Sides, IReadOnlyList<LossTerm> At, double Offset);

/// <summary>A lot's water-loss multiplier as it was taken to be from a piece of time on.</summary>
/// <param name="Cell">From when on.</param>
/// <param name="Prior">What it is.</param>
/// <param name="Terms">What it shares with other lots.</param>
/// <param name="OwnVariance">How far it may lie from them, as assumed.</param>
/// <param name="House">What is known of what bins share.</param>
/// <param name="Own">What its own weigh-ins have taught; null until the first.</param>
internal sealed record WaterTaught(
    long Cell, LotPrior Prior, IReadOnlyList<LossTerm> Terms, double OwnVariance, HouseKnown House, OwnTaught? Own)
{
    /// <summary>The multiplier of one of its bins.</summary>
    /// <param name="bin">How it lies and where it lost, or loses (<see cref="LossTerms.OfBin"/>).</param>
    public WaterMultiplier Of(IReadOnlyList<LossTerm> bin)
    {
        if (Own is null)
        {
            var (median, factor) = Before(bin);
            return new WaterMultiplier(new Interval(median / factor, median, median * factor), IsWeighed: false);
        }

        var (mean, variance) = House.Of(LossTerms.Less(bin, Own.At));
        double shift = Portable.Exp(Own.Offset + mean), other = LotUncertainty.Z90 * Math.Sqrt(variance);
        var own = Own.Sides;
        double middle = own.Value * shift;
        double low = Portable.Exp(LotUncertainty.RootSumSquare(Portable.Log(own.Value / own.Low), other));
        double high = Portable.Exp(LotUncertainty.RootSumSquare(Portable.Log(own.High / own.Value), other));
        return new WaterMultiplier(new Interval(middle / low, middle, middle * high), IsWeighed: true);
    }

    /// <summary>The belief that the next weighing of a bin is held against, and by how much its multipliers are to be multiplied for it.</summary>
    public (ScaleBelief Belief, double Times) OnScale(IReadOnlyList<LossTerm> bin)
    {
        if (Own is not null) return (Own.Belief, Portable.Exp(Own.Offset + House.Of(LossTerms.Less(bin, Own.At)).Mean));
        var (median, factor) = Before(bin);
        return (ScaleBelief.Prior(median, factor), 1);
    }

    /// <summary>What is believed of a bin before its lot was weighed: the middle, and the 5 to 95 % factor either way.</summary>
    public (double Median, double Factor) Before(IReadOnlyList<LossTerm> bin)
    {
        var (mean, variance) = House.Of(Terms.Concat(bin));
        double spread = Math.Sqrt(variance + (House.OwnScale * OwnVariance));
        return (Math.Clamp(Prior.WaterMultiplier * Portable.Exp(mean), 0.2, 5),
            Math.Clamp(Portable.Exp(LotUncertainty.Z90 * spread), ScaleBelief.LeastFactor90, 4));
    }
}
