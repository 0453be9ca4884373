using System.Text.RegularExpressions;

namespace RootCellar.Household;

/// <summary>
/// What the household set up itself of how pages and texts speak; null: not set up there. Kept in a file beside the record, so that
/// commands speak as the pages do.
/// </summary>
/// <param name="CrateKg">What a full crate of the household holds, kg; 0: it counts in none.</param>
internal sealed record HouseholdSetUp(string? TimeZone, string? Language, string? Temperature, string? Weight, string? EmergencyNumber,
    string? DecimalMark = null, double? CrateKg = null)
{
    public const string TemperatureShape = @"^[FC]\z";
    public const string WeightShape = @"^(lb|kg)\z";
    public const string DecimalShape = @"^[.,]\z";

    /// <summary>A telephone number as a text says it.</summary>
    public const string TelephoneShape = @"^[0-9 ]{2,20}\z";

    public const double MostCrateKg = 1000;

    public HouseholdSetUp()
        : this(null, null, null, null, null)
    {
    }

    public static bool IsZone(string? id) => id is { Length: > 0 and < 64 } && TimeZoneInfo.TryFindSystemTimeZoneById(id, out _);

    public static bool Fits(string? said, string shape) => said is not null && Regex.IsMatch(said, shape, RegexOptions.None, TimeSpan.FromSeconds(1));

    public static bool IsCrate(double? kg) => kg is >= 0 and <= MostCrateKg;

    /// <summary>Holds what was typed against what there is.</summary>
    /// <returns>Null: all is well.</returns>
    public Refused? Wrong(Languages languages) => this switch
    {
        { TimeZone: { } zone } when !IsZone(zone) => new(RefusedFor.Zone, $"timeZone: '{zone}' is not a known zone. Right: America/New_York, Europe/Berlin."),
        { Language: { } language } when !languages.Has(language) => new(RefusedFor.Choice, $"language: there is none of the tag '{language}'."),
        { Temperature: { } scale } when !Fits(scale, TemperatureShape) => new(RefusedFor.Choice, "temperature: F or C."),
        { Weight: { } unit } when !Fits(unit, WeightShape) => new(RefusedFor.Choice, "weight: lb or kg."),
        { DecimalMark: { } mark } when !Fits(mark, DecimalShape) => new(RefusedFor.Choice, "decimalMark: a point or a comma."),
        { EmergencyNumber: { } number } when !Fits(number, TelephoneShape) =>
            new(RefusedFor.Number, $"emergencyNumber: '{number}' is no number to call. Right: 911, 112."),
        { CrateKg: { } kg } when !IsCrate(kg) => new(RefusedFor.Crate, $"crateKg: {kg} is not what a crate holds. Right: 0 (none) to {MostCrateKg} kg."),
        _ => null,
    };
}
