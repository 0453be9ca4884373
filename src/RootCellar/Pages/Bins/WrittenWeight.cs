using System.Text.RegularExpressions;

namespace RootCellar.Pages.Bins;

/// <summary>A weight as people write it into a field: "46.8", "12 lb", "5,5kg". The unit behind it wins over that of the field.</summary>
internal static partial class WrittenWeight
{
    /// <summary>
    /// How such a field can look at all; the script of the page for the cellar is given it too. .NET and browsers read it alike, in either
    /// case of letters.
    /// </summary>
    public const string Shape = @"^\s*(?<number>[+\-]?[\d.,]*\d[.,]?)\s*(?:(?<unit>" + Units + @")\.?)?\s*$";

    private const string Units = "kg|kilos?|kilogramo?s?|g|gramo?s?|lbs?|pounds?|libras?|oz|ounces?|onzas?|zentner";

    /// <summary>The number and its unit of weight, as the book writes it; all of the text, and null, where there is none.</summary>
    public static (string? Number, string? Unit) Parts(string? text) =>
        text is not null && Written().Match(text) is { Success: true } match && Unit(match.Groups["unit"].Value) is { } unit
            ? (match.Groups["number"].Value, unit)
            : (text, null);

    private static string? Unit(string word) => word.Length == 0 ? null : char.ToLowerInvariant(word[0]) switch
    {
        'k' => "kg",
        'g' => "g",
        'o' => "oz",
        'z' => "zentner",
        _ => "lb",
    };

    [GeneratedRegex(Shape, RegexOptions.CultureInvariant | RegexOptions.IgnoreCase | RegexOptions.ExplicitCapture, 1000)]
    private static partial Regex Written();
}
