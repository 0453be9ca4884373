using RootCellar.Ledger.Events;
using RootCellar.Lots;
using RootCellar.Science.Air;
using RootCellar.Science.Crops;
using RootCellar.Science.Keeping;

namespace RootCellar.Report;

/// <summary>
/// A lot's week by the book, whole grams: <c>Start + In - Out - Shrink = End</c>, exactly. Shrink is what weigh-ins, sortings and emptied
/// bins of the week showed to be missing, whenever it went.
/// </summary>
/// <param name="InGrams">Filled into bins.</param>
/// <param name="Outs">By way: sold, canned, eaten, given, planted, culled-REASON.</param>
internal sealed record BookWeek(long StartGrams, long InGrams, IReadOnlyDictionary<string, long> Outs, long ShrinkGrams, long EndGrams)
{
    public long OutGrams => Outs.Values.Sum();

    public long CulledGrams => Outs.Where(o => TakenOut.CulledAs(o.Key) is not null).Sum(o => o.Value);
}

/// <summary>
/// A lot's week as estimated, whole grams: <c>Start + In - Out - Water - Breath + SetRight = End</c>, exactly. In and Out are the ledger's.
/// Start is what the week before ended with; each estimate is rounded once, and SetRight takes up the rounding beside what it is for.
/// </summary>
/// <param name="SetRightGrams">What the scale said otherwise than reckoned, above 0 where there was more: no loss of this week.</param>
/// <param name="ShrinkKg">Water and breath with the 90 % interval; null for a crop that is not followed.</param>
/// <param name="EndKg">With its 90 % interval; null for a crop that is not followed.</param>
internal sealed record EstimateWeek(
    long StartGrams, long InGrams, long OutGrams, long WaterGrams, long BreathGrams, long SetRightGrams, long EndGrams, Interval? ShrinkKg,
    Interval? EndKg)
{
    public long ShrinkGrams => WaterGrams + BreathGrams;
}

/// <summary>What the air of the week did to a lot, against air in the middle of the crop's band.</summary>
/// <param name="RatePercent">Loss in percent a week, of what was there; null where it was there for less than a day.</param>
/// <param name="LastWeekPercent">The same of the week before, by what is known now; null where it was not there.</param>
/// <param name="IdealPercent">And what it would have been in ideal air.</param>
/// <param name="WaterCostKg">Water lost beyond that in ideal air: dry air. Below 0 where the air was damper.</param>
/// <param name="BreathCostKg">Breath beyond that: warmth.</param>
internal sealed record LotAirWeek(double? RatePercent, double? LastWeekPercent, double? IdealPercent, double WaterCostKg,
    double BreathCostKg, double UnmeasuredHours)
{
    public double CostKg => WaterCostKg + BreathCostKg;
}

/// <summary>How far a lot has come, of the bin that is furthest behind in healing and furthest on in rest.</summary>
/// <param name="Rule">The rule it cures by.</param>
/// <param name="RestStart">Share of the rest used when the week began; null where dormancy is not followed or it was not there.</param>
internal sealed record LotProgress(
    CuringRule Rule, HealingStage StageStart, HealingStage StageEnd, double HealedDaysStart, double HealedDaysEnd, double? RestStart,
    Interval? RestEnd,
    When? FitToMove, When? Peeping, When? Sprouted, WayAhead? Way, SproutsLook? Seen, bool SproutsSeen,
    double WetHours, double LightHours, double ColdHours, double FreezingHours)
{
    public bool Cured => Rule != CuringRule.None;

    /// <summary>Until when it keeps, whatever ends it; null where that is not followed.</summary>
    public LastsUntil? Lasts { get; init; }
}

/// <summary>The week of one lot. What is null is not followed: a crop the table does not know is known to the book only.</summary>
/// <param name="DugGrams">What was dug of it this week.</param>
/// <param name="LooseGrams">Dug and in no bin at the end.</param>
/// <param name="Bins">Those with something in them at the end.</param>
/// <param name="Weighings">Weigh-ins of the week.</param>
internal sealed record LotWeek(
    string Lot, string Crop, string? Variety, DateTimeOffset DugAt, long DugGrams, long LooseGrams, IReadOnlyList<string> Bins,
    IReadOnlyList<string> Places,
    BookWeek Book, EstimateWeek Estimate, LotAirWeek? Air, LotProgress? Progress, int Weighings)
{
    /// <summary>Its crop as the household's table has it; null where it does not.</summary>
    public Crop? Known { get; init; }

    /// <summary>What it has shrunk by since it was filled, up to the end of the week.</summary>
    public required Shrink Shrink { get; init; }

    /// <summary>What of it is soil that came off; null where it did not come out of wet soil.</summary>
    public Science.Air.Interval? Soil { get; init; }
}

/// <summary>One bin, between two changes of its weight, in one place: what the air took.</summary>
internal sealed record Piece(string Lot, string Bin, string Place, long From, long To, double StartKg, double WaterKg, double BreathKg,
    Interval LossKg, double IdealWaterKg, double IdealBreathKg)
{
    /// <summary>Weight times time, kg weeks.</summary>
    public double KgWeeks => StartKg * (To - From) / (7.0 * TimeStep.PerDay);
}
