using System.Text.RegularExpressions;

namespace RootCellar.Household;

/// <summary>
/// What the household set up itself of how pages and texts speak; null: not set up there. Kept in a file beside the record, so that
/// commands speak as the pages do.
/// </summary>
internal sealed partial record HouseholdSetUp(string? TimeZone, string? Language, string? Temperature, string? Weight, string? EmergencyNumber,
    string? DecimalMark = null)
{
    /// <summary>A telephone number as a text says it.</summary>
    public const string TelephoneShape = "^[0-9 ]{2,20}$";

    public HouseholdSetUp()
        : this(null, null, null, null, null)
    {
    }

    public static bool IsZone(string? id) => id is { Length: > 0 and < 64 } && TimeZoneInfo.TryFindSystemTimeZoneById(id, out _);

    public static bool IsTelephone(string? number) => number is not null && Telephone().IsMatch(number);

    /// <summary>Holds what was typed against what there is.</summary>
    /// <returns>Null: all is well.</returns>
    public Refused? Wrong(Languages languages) => this switch
    {
        { TimeZone: { } zone } when !IsZone(zone) => new(RefusedFor.Zone, $"timeZone: '{zone}' is not a known zone. Right: America/New_York, Europe/Berlin."),
        { Language: { } language } when !languages.Has(language) => new(RefusedFor.Choice, $"language: there is none of the tag '{language}'."),
        { Temperature: not (null or "F" or "C") } => new(RefusedFor.Choice, "temperature: F or C."),
        { Weight: not (null or "lb" or "kg") } => new(RefusedFor.Choice, "weight: lb or kg."),
        { DecimalMark: not (null or "." or ",") } => new(RefusedFor.Choice, "decimalMark: a point or a comma."),
        { EmergencyNumber: { } number } when !IsTelephone(number) => new(RefusedFor.Number, $"emergencyNumber: '{number}' is no number to call. Right: 911, 112."),
        _ => null,
    };

    [GeneratedRegex(TelephoneShape, RegexOptions.None, 1000)]
    private static partial Regex Telephone();
}
