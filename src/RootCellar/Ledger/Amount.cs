using System.Text.Json.Serialization;

namespace RootCellar.Ledger;

/// <summary>
/// How much, as entered: a weight, or a measure with the kg of one unit. <see cref="Grams"/> is null while nobody knows what one unit
/// weighs, because the crop is not known yet.
/// </summary>
/// <param name="Unit">Null where it was given in kg.</param>
/// <param name="Units">How many of them, or the kg.</param>
internal readonly record struct Amount(
    [property: JsonIgnore] long? Grams, [property: JsonIgnore] string? Unit, [property: JsonIgnore] double Units)
{
    public double? WeightKg => Unit is null && Grams is not null ? Units : null;

    public Measured? Measure { get; init; }

    /// <summary>Measured by volume or by the sack, which is no weighing.</summary>
    [JsonIgnore]
    public bool ByVolume => Unit is not null && !Measures.IsWeight(Unit);

    /// <summary>The kg, not rounded to grams; null while nobody knows them.</summary>
    [JsonIgnore]
    public double? Kg => WeightKg ?? Units * Measure?.KgPerUnit;

    public static Amount OfKg(double kg) => new(GramsOf(kg), null, kg);

    /// <summary>Whole grams, so that sums close exactly.</summary>
    public static long GramsOf(double kg) => (long)Math.Round(kg * 1000, MidpointRounding.AwayFromZero);
}

/// <summary>A measure as it is kept.</summary>
/// <param name="KgPerUnit">What one unit weighed by the table of the day; null while the crop is not known.</param>
/// <param name="Source">Who says so.</param>
/// <param name="As">How it was cut for the jars.</param>
internal sealed record Measured(double Amount, string Unit, double? KgPerUnit, string? Source, string? As);
