using RootCellar.Science;
using RootCellar.Science.Keeping;

namespace RootCellar.Lots;

/// <summary>What a lot lost over some time, as sums of the shares of what was then left, by the middle of what is published.</summary>
/// <param name="DarkWater">What of the water was reckoned without readings.</param>
/// <param name="Sprouts">How much more or less it would have been, had it sprouted at another time.</param>
/// <param name="Going">What else may be going on in the bin.</param>
internal readonly record struct Lost(
    double Water, double DarkWater, double Breath, double Days, SproutSpread Sprouts = default, GoingOn Going = default)
{
    public static Lost Between(Trajectory from, Trajectory to) =>
        new(to.Water - from.Water, to.DarkWater - from.DarkWater, to.Breath - from.Breath, (to.Cell - from.Cell) / (double)TimeStep.PerDay);

    public static Lost Between(Trajectory from, Trajectory to, LotLearned known) =>
        Between(from, to) with { Sprouts = SproutSpread.Of(Sprouts90.Of(known, from.SproutMm), Sprouts90.Of(known, to.SproutMm)) };

    /// <summary>The share that is left of what was there.</summary>
    public double Left(double multiplier) => Portable.Exp(-((multiplier * Water) + Breath));
}

/// <summary>
/// A loss of a bin's own that is neither drying nor breath, and may go on: rot, before all. A weigh-in that fell short shows that something
/// was lost, not whether it stopped. Its middle is never reckoned with it; its interval is open for it.
/// </summary>
/// <param name="Share">How likely it is.</param>
/// <param name="Gone">What was lost by it between the last two weigh-ins, as a share of the weight.</param>
/// <param name="Days">And how long that was.</param>
internal readonly record struct GoingOn(double Share, double Gone, double Days)
{
    /// <summary>What rots spreads: it doubles in so many days, in the middle (assumed),</summary>
    private const double DoublesDays = 12;

    /// <summary>and by such a factor slower or faster, 5 to 95 % (assumed).</summary>
    private const double Factor = 2.5;

    private static readonly double LogStep = Portable.Log(Factor) / LotUncertainty.Z90;

    /// <param name="before">What was thought at the weigh-in before.</param>
    /// <param name="answer">What the weigh-in has taught.</param>
    /// <param name="kg">What was there before it.</param>
    /// <param name="days">Since that.</param>
    public static GoingOn After(GoingOn before, ScaleAnswer answer, double kg, double days) => answer.Question is not null
        ? before
        : answer.OwnLossKg > 0 && days > 0 && kg > 0 ? new GoingOn(answer.OwnLossShare, answer.OwnLossKg / kg, days) : default;

    /// <summary>The share of the weight that goes in so many days to come.</summary>
    /// <param name="days">To come.</param>
    /// <param name="z">By how many standard deviations it is slower than in the middle.</param>
    public double In(double days, double z = 0)
    {
        if (!(days > 0) || !(Days > 0)) return 0;
        double doubles = DoublesDays * Portable.Exp(z * LogStep);
        return Gone * (Twice(days / doubles) - 1) / (1 - Twice(-Days / doubles));
    }

    private static double Twice(double times) => Portable.Exp(Math.Min(40, times * 0.6931471805599453));
}

/// <summary>
/// Length of the sprouts of a lot, mm: if its rest is as short as it may be (5 %), as expected, and as long as it may be (95 %).
/// </summary>
internal readonly record struct Sprouts90(double EarlyMm, double MiddleMm, double LateMm)
{
    /// <param name="lengthMm">Length if the rest is so many days at 10 C.</param>
    public static Sprouts90 Of(LotLearned known, Func<double, double> lengthMm) => double.IsNaN(known.RestDaysAt10C)
        ? default
        : new(
            lengthMm(known.RestDaysAt10C / known.RestShorter),
            lengthMm(known.RestDaysAt10C),
            lengthMm(known.RestDaysAt10C * known.RestLonger));
}

/// <summary>
/// Logarithms of how many times more a lot would lose if it sprouts as early as it may (5 %), and of how many times less if as late (95 %).
/// Sprouts lose water easily and breathe hard, so that late in the season this outweighs what is not known of the lot.
/// </summary>
internal readonly record struct SproutSpread(double WaterEarlier, double WaterLater, double BreathEarlier, double BreathLater)
{
    /// <param name="begin">Sprouts at the beginning.</param>
    /// <param name="end">And at the end.</param>
    public static SproutSpread Of(in Sprouts90 begin, in Sprouts90 end)
    {
        if (!(end.EarlyMm > 0)) return default;
        var (early, middle, late) = (Of(begin.EarlyMm, end.EarlyMm), Of(begin.MiddleMm, end.MiddleMm), Of(begin.LateMm, end.LateMm));
        return new SproutSpread(More(early.Water, middle.Water), More(middle.Water, late.Water), More(early.Breath, middle.Breath),
            More(middle.Breath, late.Breath));
    }

    /// <summary>
    /// With air to come that may be off, which has nothing to do with the sprouts: of what is lost by then, the part that is still to come
    /// grows or shrinks.
    /// </summary>
    /// <param name="off">By what logarithms what is to come may be more or less (<see cref="Ahead.OffLoss"/>).</param>
    /// <param name="gone">Lost so far.</param>
    /// <param name="toCome">And from now on.</param>
    public SproutSpread And((double Water, double Breath) off, in Lost gone, (double Water, double DarkWater, double Breath) toCome) => new(
        LotUncertainty.RootSumSquare(WaterEarlier, Times(gone.Water, toCome.Water, off.Water)),
        LotUncertainty.RootSumSquare(WaterLater, -Times(gone.Water, toCome.Water, -off.Water)),
        LotUncertainty.RootSumSquare(BreathEarlier, Times(gone.Breath, toCome.Breath, off.Breath)),
        LotUncertainty.RootSumSquare(BreathLater, -Times(gone.Breath, toCome.Breath, -off.Breath)));

    private static double Times(double gone, double toCome, double off) =>
        gone + toCome > 0 ? Portable.Log((gone + (toCome * Portable.Exp(off))) / (gone + toCome)) : 0;

    // Half of what it is at the beginning, half of what it is at the end.
    private static (double Water, double Breath) Of(double beginMm, double endMm)
    {
        var (a, b) = (Dormancy.ShareSprouted(beginMm), Dormancy.ShareSprouted(endMm));
        return ((WaterLoss.SproutFactor(a, beginMm) + WaterLoss.SproutFactor(b, endMm)) / 2,
            (Breath.SproutFactor(a, beginMm) + Breath.SproutFactor(b, endMm)) / 2);
    }

    private static double More(double a, double b) => Math.Max(0, Portable.Log(a / b));
}
