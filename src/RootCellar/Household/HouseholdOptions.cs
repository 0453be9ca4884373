using System.ComponentModel.DataAnnotations;

namespace RootCellar.Household;

/// <summary>Key <c>Household</c>: how pages and texts speak.</summary>
internal sealed class HouseholdOptions
{
    private TimeZoneInfo? zone;
    private HouseholdCalendar? calendar;

    /// <summary>IANA zone, e.g. America/New_York; the machine's own when empty.</summary>
    public string? TimeZone
    {
        get;
        set => (field, zone) = (value, null);
    }

    /// <summary>en, or the name of a file of words in the folder <c>languages</c> beside the record, without its .resx.</summary>
    [RegularExpression(RootCellar.Household.Language.TagShape, ErrorMessage = "a language tag: en, es, pt-BR")]
    public string Language { get; set; } = "en";

    /// <summary>F or C.</summary>
    [RegularExpression(HouseholdSetUp.TemperatureShape, ErrorMessage = "F or C")]
    public string Temperature { get; set; } = "F";

    internal TemperatureScale Scale => Temperature == "C" ? TemperatureScale.Celsius : TemperatureScale.Fahrenheit;

    /// <summary>The household's zone: what pages and texts show, and whose days are counted.</summary>
    public TimeZoneInfo Zone() => zone ??= TimeZone is { Length: > 0 } named ? TimeZoneInfo.FindSystemTimeZoneById(named) : TimeZoneInfo.Local;

    /// <summary>The household's days, also once its zone is set to another.</summary>
    public HouseholdCalendar Calendar() => calendar ??= HouseholdCalendar.OfWhatever(Zone);

    /// <summary>Keys that the installer gave, in the file, the environment or the command line: they are set in no other place.</summary>
    internal IReadOnlySet<string> Given { get; set; } = new HashSet<string>();

    /// <summary>Goes by what the household set up itself, as far as the installer left it free and it can be understood.</summary>
    internal void Take(HouseholdSetUp own)
    {
        if (Free(nameof(TimeZone)) && HouseholdSetUp.IsZone(own.TimeZone)) TimeZone = own.TimeZone;
        if (Free(nameof(Language)) && own.Language is { } language && RootCellar.Household.Language.IsTag(language)) Language = language;
        if (Free(nameof(Temperature)) && HouseholdSetUp.Fits(own.Temperature, HouseholdSetUp.TemperatureShape)) Temperature = own.Temperature!;
        if (Free(nameof(Weight)) && HouseholdSetUp.Fits(own.Weight, HouseholdSetUp.WeightShape)) Weight = own.Weight!;
        if (Free(nameof(DecimalMark)) && HouseholdSetUp.Fits(own.DecimalMark, HouseholdSetUp.DecimalShape)) DecimalMark = own.DecimalMark!;
        if (Free(nameof(EmergencyNumber)) && HouseholdSetUp.Fits(own.EmergencyNumber, HouseholdSetUp.TelephoneShape))
            EmergencyNumber = own.EmergencyNumber!;
        if (Free(nameof(CrateKg)) && HouseholdSetUp.IsCrate(own.CrateKg)) CrateKg = own.CrateKg!.Value;
    }

    private bool Free(string key) => !Given.Contains(key);

    /// <summary>lb or kg.</summary>
    [RegularExpression(HouseholdSetUp.WeightShape, ErrorMessage = "lb or kg")]
    public string Weight { get; set; } = "lb";

    /// <summary>The mark before the decimals of a number that people read and type: a point or a comma.</summary>
    [RegularExpression(HouseholdSetUp.DecimalShape, ErrorMessage = ". or ,")]
    public string DecimalMark { get; set; } = ".";

    /// <summary>What a crate of the household holds, kg; 0: it counts in none.</summary>
    [Range(0, HouseholdSetUp.MostCrateKg, ErrorMessage = "0 to 1000 kg")]
    public double CrateKg { get; set; }

    /// <summary>Whom to call where carbon dioxide could kill.</summary>
    [RegularExpression(HouseholdSetUp.TelephoneShape, ErrorMessage = "a telephone number: digits and spaces")]
    public string EmergencyNumber { get; set; } = "911";
}
