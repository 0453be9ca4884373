using RootCellar.Science;
using RootCellar.Science.Air;
using RootCellar.Science.Crops;
using RootCellar.Science.Keeping;

namespace RootCellar.Lots;

/// <summary>The rest of a bin as it is known now, the air to come left out of it.</summary>
/// <param name="DaysAt10C">NaN where dormancy is not followed.</param>
/// <param name="Shorter">By what factor it may be shorter (5 %).</param>
/// <param name="Longer">And longer (95 %).</param>
/// <param name="SeenAt">When sprouts were first seen; null where nobody saw any.</param>
internal readonly record struct RestNow(double DaysAt10C, double Shorter, double Longer, DateTimeOffset? SeenAt);

/// <summary>What decides how long a bin keeps.</summary>
/// <param name="Lot">What it is.</param>
/// <param name="DugAt">Its age counts from then.</param>
/// <param name="HealingFactor">By what factor its days of healing may be off, either way.</param>
/// <param name="Rest">Its rest.</param>
internal sealed record KeepingTraits(LotTraits Lot, DateTimeOffset DugAt, double HealingFactor, RestNow Rest);

/// <summary>What is to come of a bin, on any day, along one way.</summary>
/// <param name="multiplier">Its water-loss multiplier, when so much more water has gone where it will stand.</param>
internal sealed class BinOutlook(
    Ahead ahead, WeightBase weight, Lost soFar, Sprouts90 begun, LotLearned learned, Func<double, WaterMultiplier> multiplier,
    KeepingTraits traits)
{
    public DateTimeOffset Start => ahead.Start;

    /// <summary>Whether the air to come is assumed, because nothing is known of the last days.</summary>
    public bool Assumed => ahead.Assumed;

    public Crop Crop => traits.Lot.Crop;

    /// <summary>Its way: the same one for bins of a lot that stand together.</summary>
    public Ahead Way => ahead;

    /// <summary>When the last air of its way begins: now, or when it is moved out of the curing room.</summary>
    public DateTimeOffset LastAirFrom => ahead.LastAirFrom;

    /// <summary>The same bin with the last air of its way held at another.</summary>
    public BinOutlook HeldAt(double temperatureC, double humidityPercent) =>
        new(ahead.HeldAt(temperatureC, humidityPercent), weight, soFar, begun, learned, multiplier, traits);

    /// <summary>The estimate in so many days along the way it is thought to take, with its 90 % interval.</summary>
    public Interval KgIn(double days)
    {
        var lost = soFar;
        double more = 0;
        if (days > 0)
        {
            var toCome = ahead.Lost(days);
            more = toCome.Water;
            lost = new Lost(
                soFar.Water + toCome.Water, soFar.DarkWater + toCome.DarkWater, soFar.Breath + toCome.Breath, soFar.Days + days,
                SproutSpread.Of(begun, Sprouts(days)).And(ahead.OffLoss(days), soFar, toCome));
        }

        return LotUncertainty.Weight(
            weight.Kg, weight.SdKg, lost with { Going = weight.Going }, multiplier(more), learned.Prior.BreathFactor);
    }

    /// <summary>Expected loss from now on, with its interval: the present weight's own error is not part of it.</summary>
    public Interval LossKg(double nowKg, double days)
    {
        var toCome = ahead.Lost(days);
        var lost = new Lost(
            toCome.Water, toCome.DarkWater, toCome.Breath, days,
            SproutSpread.Of(Sprouts(0), Sprouts(days)).And(ahead.OffLoss(days), default, toCome), weight.Going);
        var left = LotUncertainty.Weight(nowKg, 0, lost, multiplier(toCome.Water), learned.Prior.BreathFactor);
        return new Interval(nowKg - left.High, nowKg - left.Value, nowKg - left.Low);
    }

    public double SproutedShareIn(double days) => ahead.SproutedShare(days);

    /// <summary>How much of its curing is behind it in so many days, percent; null where it is not cured.</summary>
    public double? HealedPercentIn(double days) => traits.Lot.Rule == CuringRule.None
        ? null : Math.Min(100, 100 * ahead.HealedDays(days) / (DaysTo(HealingStage.Healed) * traits.Lot.HealingMultiplier));

    /// <summary>When it is fit to move, along its way; null where it is not cured.</summary>
    public When? Fit => ahead.Healing(DaysTo(HealingStage.Adequate), traits.HealingFactor);

    /// <summary>When it is fully healed, along its way; null where it is not cured.</summary>
    public When? Healed => ahead.Healing(DaysTo(HealingStage.Healed), traits.HealingFactor);

    /// <summary>When sprouts show (80 % of the tubers have one of 2 mm), or were seen; null where dormancy is not followed.</summary>
    public When? Peeping => double.IsNaN(traits.Rest.DaysAt10C) ? null
        : traits.Rest.SeenAt is { } seen ? new When(seen, seen, seen)
        : Long(Dormancy.VisibleMm);

    /// <summary>When most of it has a sprout of 5 mm; null where dormancy is not followed.</summary>
    public When? Sprouted => Long(Dormancy.SproutedMm);

    /// <summary>
    /// Until when it lasts: until most of it has sprouted or it has shrunk as far as is seen, whichever comes first. Where dormancy is not
    /// followed, the handbooks' keeping time stands for all that is not reckoned here, rot before all.
    /// </summary>
    public LastsUntil Lasts
    {
        get
        {
            var ends = new List<LastsUntil> { new(Shriveled, EndsBy.Shriveling) };
            if (Sprouted is { } sprouted) ends.Add(new(sprouted, EndsBy.Sprouts));
            else if (KeepingEnds.HandbookDays(Crop) is var (least, most))
                ends.Add(new(new When(Age(least), Age((least + most) / 2), Age(most)), EndsBy.Age));
            return LastsUntil.First(ends);
        }
    }

    /// <summary>When it has lost as much of its first weight as shows.</summary>
    private When Shriveled
    {
        get
        {
            double limit = 1 - KeepingEnds.ShriveledShare(Crop);
            return new When(Day(l => l.Low), Day(l => l.Value), Day(l => l.High));

            // What is left only becomes less: the first whole day is found by halving, and the day between them straight.
            DateTimeOffset? Day(Func<Interval, double> of)
            {
                int low = 0, high = Ahead.Days;
                if (of(Left(low)) <= limit) return Start;
                if (of(Left(high)) > limit) return null;
                while (high - low > 1)
                {
                    int middle = (low + high) / 2;
                    if (of(Left(middle)) > limit) low = middle;
                    else high = middle;
                }

                double before = of(Left(low)), after = of(Left(high));
                return Start.AddDays(low + ((before - limit) / (before - after)));
            }
        }
    }

    /// <summary>The share of its first weight that is left in so many days.</summary>
    private Interval Left(double days)
    {
        var lost = ahead.LostSinceDug(days);
        var sinceDug = ahead.LostSinceDug(0);
        var spread = SproutSpread.Of(default, Sprouts(days)).And(ahead.OffLoss(days), sinceDug, ahead.Lost(days));
        return LotUncertainty.Weight(1, 0, lost with { Sprouts = spread }, multiplier(ahead.Lost(days).Water), learned.Prior.BreathFactor);
    }

    /// <summary>How much shorter and longer its rest may be along this way, the air to come taken in.</summary>
    private (double Shorter, double Longer)? Factors
    {
        get
        {
            if (double.IsNaN(traits.Rest.DaysAt10C)) return null;
            double air = ahead.RestFactor(traits.Rest.DaysAt10C);
            return (LotUncertainty.Factor(traits.Rest.Shorter, air), LotUncertainty.Factor(traits.Rest.Longer, air));
        }
    }

    private double DaysTo(HealingStage stage) => Curing.DaysTo(traits.Lot.Rule, stage);

    private When? Long(double sproutMm) => Factors is var (shorter, longer)
        ? ahead.Sprouts(sproutMm, traits.Rest.DaysAt10C, shorter, longer) : null;

    private DateTimeOffset Age(double days) => traits.DugAt.AddDays(days);

    private Sprouts90 Sprouts(double days) => Sprouts90.Of(learned, rest => ahead.SproutMm(days, rest));
}
