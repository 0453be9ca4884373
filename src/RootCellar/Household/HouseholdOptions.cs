using System.ComponentModel.DataAnnotations;

namespace RootCellar.Household;

/// <summary>Key <c>Household</c>: how pages and texts speak.</summary>
internal sealed class HouseholdOptions
{
    /// <summary>IANA zone, e.g. America/New_York; the machine's own when empty.</summary>
    public string? TimeZone { get; set; }

    /// <summary>en, or the name of a file of words in the folder <c>languages</c> beside the record, without its .resx.</summary>
    [RegularExpression("^[a-z]{2,8}(-[A-Za-z0-9]{1,8})*$", ErrorMessage = "a language tag: en, es, pt-BR")]
    public string Language { get; set; } = "en";

    /// <summary>F or C.</summary>
    [RegularExpression("^[FC]$", ErrorMessage = "F or C")]
    public string Temperature { get; set; } = "F";

    internal TemperatureScale Scale => Temperature == "C" ? TemperatureScale.Celsius : TemperatureScale.Fahrenheit;

    /// <summary>The household's zone: what pages and texts show, and whose days are counted.</summary>
    public TimeZoneInfo Zone() => TimeZone is { Length: > 0 } zone ? TimeZoneInfo.FindSystemTimeZoneById(zone) : TimeZoneInfo.Local;

    /// <summary>The household's days.</summary>
    public HouseholdCalendar Calendar() => HouseholdCalendar.Of(Zone());

    /// <summary>lb or kg.</summary>
    [RegularExpression("^(lb|kg)$", ErrorMessage = "lb or kg")]
    public string Weight { get; set; } = "lb";

    /// <summary>The mark before the decimals of a number that people read and type: a point or a comma.</summary>
    [RegularExpression("^[.,]$", ErrorMessage = ". or ,")]
    public string DecimalMark { get; set; } = ".";

    /// <summary>What a crate of the household holds, kg; 0: it counts in none.</summary>
    [Range(0, 1000, ErrorMessage = "0 to 1000 kg")]
    public double CrateKg { get; set; }

    /// <summary>Whom to call where carbon dioxide could kill.</summary>
    [RegularExpression("^[0-9 ]{2,20}$", ErrorMessage = "a telephone number: digits and spaces")]
    public string EmergencyNumber { get; set; } = "911";
}
