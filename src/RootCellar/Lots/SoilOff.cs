using RootCellar.Household;
using RootCellar.Science.Air;

namespace RootCellar.Lots;

/// <summary>
/// What came in with a filling that is no crop, and dries or falls off it: of a lot dug out of wet soil. Less is missing at the first
/// weigh-in
/// than the crop's own loss explains, or more: that is soil, as far as the errors of both let it be told.
/// </summary>
internal static class SoilOff
{
    /// <summary>Before it is weighed again: none to as much as wet soil may be.</summary>
    public static Interval Before(double filledKg) => new(0, 0, LotUncertainty.Z90 * LotLearning.WetSoilShare * filledKg);

    /// <summary>After the first weigh-in.</summary>
    /// <param name="filledKg">What was filled in.</param>
    /// <param name="missingKg">What is missing beyond what drying and breath were thought to take.</param>
    /// <param name="sdKg">How far that may be off for other reasons, kg, one standard deviation.</param>
    public static Interval After(double filledKg, double missingKg, double sdKg)
    {
        double soil = LotLearning.WetSoilShare * filledKg, share = soil * soil / ((soil * soil) + (sdKg * sdKg));
        double kg = share * missingKg, off = LotUncertainty.Z90 * soil * Math.Sqrt(1 - share);
        return new Interval(Math.Max(0, kg - off), Math.Max(0, kg), Math.Max(0, kg + off));
    }

    /// <summary>Of several: their errors have nothing to do with each other, but for the crop's own loss; taken as if they had.</summary>
    public static Interval? Of(IEnumerable<Interval?> bins)
    {
        var known = bins.OfType<Interval>().ToList();
        return known.Count == 0 ? null : new Interval(known.Sum(s => s.Low), known.Sum(s => s.Value), known.Sum(s => s.High));
    }

    /// <summary>In words; empty where nothing came out of wet soil.</summary>
    /// <param name="weight">How a weight is said.</param>
    public static string Words(Interval? soil, Func<double, string> weight) => soil switch
    {
        null => "",
        { Value: <= 0, Low: <= 0 } none => Strings.ShrinkSoilUnknown.With(weight(none.High)),
        { } some => Strings.ShrinkSoil.With(weight(some.Value), weight(some.Low), weight(some.High)),
    };
}
