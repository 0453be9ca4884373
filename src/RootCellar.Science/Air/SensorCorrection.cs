using System.Diagnostics.CodeAnalysis;
using System.Globalization;

namespace RootCellar.Science.Air;

/// <summary>One thing a sensor was held against.</summary>
/// <param name="Reference">What was true there, C or percent.</param>
/// <param name="PlusOrMinus">How well that is known, same unit.</param>
/// <param name="Reads">What the sensor read when it had settled, uncorrected.</param>
/// <param name="Spread">Highest less lowest of its last readings there; null where nobody looked.</param>
public readonly record struct ReferencePoint(double Reference, double PlusOrMinus, double Reads, double? Spread = null);

/// <summary>A correction, or why there is none.</summary>
public readonly record struct Fit(Correction? Correction, string? Refusal)
{
    /// <summary>Whether there is a correction.</summary>
    [MemberNotNullWhen(true, nameof(Correction))]
    [MemberNotNullWhen(false, nameof(Refusal))]
    public bool Stands => Correction is not null;
}

/// <summary>A reference point, or why there is none.</summary>
public readonly record struct Prepared(ReferencePoint? Point, string? Refusal);

/// <summary>What a kind of sensor may be off by, and how far a correction of it reaches.</summary>
/// <param name="Unit">Unit in words to a person.</param>
/// <param name="LowestReference">Lowest reference taken.</param>
/// <param name="HighestReference">Highest reference taken.</param>
/// <param name="LowestReading">Lowest reading such a sensor gives.</param>
/// <param name="HighestReading">Highest reading such a sensor gives.</param>
/// <param name="LargestError">An error beyond this is a broken sensor or a wrong reference, not something to correct.</param>
/// <param name="LeastApart">How far apart two references must be.</param>
/// <param name="Settled">Largest spread of a settled reading.</param>
/// <param name="Reach">How far beyond its references a correction is still taken.</param>
/// <param name="OwnError">Scatter and hysteresis that no correction takes away.</param>
public sealed record CorrectionRules(
    string Unit,
    double LowestReference,
    double HighestReference,
    double LowestReading,
    double HighestReading,
    double LargestError,
    double LeastApart,
    double Settled,
    double Reach,
    double OwnError);

/// <summary>
/// One-point (offset) and two-point (offset and slope) correction of a sensor from things whose humidity or temperature is known.
/// Refuses, with the reason in words, what makes no sense: a wrong correction is worse than none, for everything after it believes it.
/// </summary>
/// <remarks>
/// What is refused is common practice where no source stands beside the number: two humidity points nearer than 20 %
/// make any slope out of their errors, and a slope outside 0.8 to 1.2 is a broken sensor or a badly made salt. Only + - * / and square
/// roots.
/// </remarks>
public static class SensorCorrection
{
    /// <summary>Least slope taken (common practice).</summary>
    public const double LowestSlope = 0.8;

    /// <summary>Largest slope taken (common practice).</summary>
    public const double HighestSlope = 1.2;

    /// <summary>An ice bath of crushed ice and water, stirred: 0 C, to about this much, C (assumed).</summary>
    public const double IceBathPlusOrMinusC = 0.1;

    /// <summary>A salt changes its water of crystallisation below this, C (from memory); lithium chloride is then no standard.</summary>
    public const double LithiumChlorideFromC = 18;

    /// <summary>What a salt is taken to be known to where the source gives no figure, percent (assumed).</summary>
    public const double SaltWithoutFigurePercent = 1.5;

    /// <summary>
    /// Humidity lost or gained for each degree between the salt and the sensor, share of the reading (slope of the saturation
    /// pressure near 10 C; IAPWS-IF97), and how far apart they are taken to be, C (assumed).
    /// </summary>
    private const double SharePerDegree = 0.07;
    private const double JarUnevennessC = 0.1;

    /// <summary>
    /// Humidity, percent. Largest error 15 %, settled within 1 %, reach 10 % and own error 1 % are assumed; the last is
    /// near the 0.8 % hysteresis of the SHT3x data sheet.
    /// </summary>
    public static CorrectionRules Humidity { get; } = new("% RH", 5, 99, -6, 105, 15, 20, 1, 10, 1);

    /// <summary>
    /// Temperature, C. Largest error 3 C (cheap boards warm themselves by 1 to 3 C: common experience with the BME280), at least 10 C
    /// apart, settled within 0.3 C, reach 15 C (from an ice bath to a curing room) and own error 0.1 C: assumed.
    /// </summary>
    public static CorrectionRules Temperature { get; } = new("C", -30, 60, -45, 70, 3, 10, 0.3, 15, 0.1);

    /// <summary>A reference point over a salt in a closed jar.</summary>
    /// <param name="formula">Formula of one of <see cref="SaltStandards.All"/>, as "NaCl".</param>
    /// <param name="temperatureC">Temperature in the jar, C.</param>
    /// <param name="reads">What the sensor read, percent.</param>
    /// <param name="spread">Highest less lowest of its last readings; null where nobody looked.</param>
    /// <returns>The point, known to the salt's own figure and 0.1 C between salt and sensor; or why not.</returns>
    public static Prepared OverSalt(string formula, double temperatureC, double reads, double? spread = null)
    {
        var salt = SaltStandards.All.FirstOrDefault(s => string.Equals(s.Formula, formula, StringComparison.OrdinalIgnoreCase));
        if (salt is null)
            return No($"there is no salt standard '{formula}'; known are {string.Join(", ", SaltStandards.All.Select(s => s.Formula))}");
        if (salt.At(temperatureC) is not { } point)
            return No($"{salt.Formula} is a standard from {salt.LowestC} to {salt.HighestC} C, and the jar was at {temperatureC} C");
        if (salt.Formula == "LiCl" && temperatureC < LithiumChlorideFromC)
            return No($"LiCl changes its hydrate below about {LithiumChlorideFromC} C and is no standard at {temperatureC} C; take MgCl2");
        double known = point.UncertaintyPercent ?? SaltWithoutFigurePercent;
        double jar = SharePerDegree * JarUnevennessC * point.RelativeHumidityPercent;
        return new Prepared(new ReferencePoint(point.RelativeHumidityPercent, Math.Sqrt(known * known + jar * jar), reads, spread), null);

        static Prepared No(FormattableString why) => new(null, Words(why));
    }

    /// <summary>A correction through one point (offset) or two (offset and slope).</summary>
    /// <param name="rules"><see cref="Humidity"/> or <see cref="Temperature"/>.</param>
    /// <param name="points">One or two, in any order.</param>
    public static Fit Fit(CorrectionRules rules, IReadOnlyList<ReferencePoint> points)
    {
        if (points.Count is not (1 or 2))
            return No($"a correction needs one reference or two, not {points.Count}");
        foreach (var point in points)
        {
            if (Wrong(rules, point) is { } refusal)
                return new Fit(null, refusal);
        }

        return points.Count == 1 ? OnePoint(rules, points[0]) : TwoPoints(rules, points[0], points[1]);
    }

    private static string? Wrong(CorrectionRules rules, ReferencePoint point)
    {
        var (reference, known, reads, spread) = point;
        if (!(reference >= rules.LowestReference && reference <= rules.HighestReference))
            return Words($"a reference of {reference:0.##} {rules.Unit} is outside {rules.LowestReference} to {rules.HighestReference} {rules.Unit}");
        if (!(known >= 0 && known <= rules.LargestError))
            return Words($"a reference known to {known:0.##} {rules.Unit} is none; it must be known to {rules.LargestError} {rules.Unit} or better");
        if (!(reads >= rules.LowestReading && reads <= rules.HighestReading))
            return Words($"the sensor cannot have read {reads:0.##} {rules.Unit}; from {rules.LowestReading} to {rules.HighestReading} is possible");
        if (spread is { } moved && !(moved >= 0 && moved <= rules.Settled))
            return Words($"the reading had not settled: it moved by {moved:0.##} {rules.Unit}, and {rules.Settled} is the most; leave it longer");
        if (Math.Abs(reads - reference) > rules.LargestError)
        {
            return Words($"{reads:0.##} where {reference:0.##} {rules.Unit} was true is off by more than {rules.LargestError} {rules.Unit}: a broken sensor or a wrong reference, not something to correct");
        }

        return null;
    }

    private static Fit OnePoint(CorrectionRules rules, ReferencePoint point)
    {
        var anchor = Anchor(rules, point);
        return new Fit(
            new Correction(1, point.Reference - point.Reads, point.Reads - rules.Reach, point.Reads + rules.Reach, anchor, anchor,
                rules.OwnError), null);
    }

    private static Fit TwoPoints(CorrectionRules rules, ReferencePoint first, ReferencePoint second)
    {
        var (low, high) = first.Reference <= second.Reference ? (first, second) : (second, first);
        double apart = high.Reference - low.Reference;
        if (apart < rules.LeastApart)
        {
            return No($"the references {low.Reference:0.#} and {high.Reference:0.#} {rules.Unit} are only {apart:0.#} apart: at least {rules.LeastApart} are needed for a slope; take one of them alone, or another pair");
        }

        if (high.Reads <= low.Reads)
            return No($"the sensor read {low.Reads:0.##} at {low.Reference:0.#} and {high.Reads:0.##} at {high.Reference:0.#} {rules.Unit}: it does not rise; were the two mixed up?");
        double slope = apart / (high.Reads - low.Reads);
        if (slope is < LowestSlope or > HighestSlope)
            return No($"the slope would be {slope:0.00}; outside {LowestSlope} to {HighestSlope} the sensor is broken or a reference is wrong");
        return new Fit(
            new Correction(slope, low.Reference - slope * low.Reads, low.Reads - rules.Reach, high.Reads + rules.Reach, Anchor(rules, low),
                Anchor(rules, high), rules.OwnError),
            null);
    }

    /// <summary>Where nobody looked whether it had settled, half of what would still pass.</summary>
    private static Anchor Anchor(CorrectionRules rules, ReferencePoint point)
    {
        double unsettled = point.Spread is { } spread ? spread / 2 : rules.Settled / 2;
        return new Anchor(point.Reads, Math.Sqrt(point.PlusOrMinus * point.PlusOrMinus + unsettled * unsettled));
    }

    private static Fit No(FormattableString why) => new(null, Words(why));

    private static string Words(FormattableString text) => text.ToString(CultureInfo.InvariantCulture);
}
