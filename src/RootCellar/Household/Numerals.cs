using System.Globalization;
using System.Text.RegularExpressions;

namespace RootCellar.Household;

/// <summary>
/// How the household writes numbers: "1,234.5", or "1.234,5" where <see cref="HouseholdOptions.DecimalMark"/> is a comma. Only what
/// people read and type; programs are spoken to as ever.
/// </summary>
internal static partial class Numerals
{
    private static readonly NumberFormatInfo Point = CultureInfo.InvariantCulture.NumberFormat;

    private static readonly NumberFormatInfo Comma = NumberFormatInfo.ReadOnly(new NumberFormatInfo
    {
        NumberDecimalSeparator = ",",
        NumberGroupSeparator = ".",
    });

    /// <summary>The household's whose work is done now.</summary>
    public static NumberFormatInfo Here => CultureInfo.CurrentCulture is LanguageCulture { DecimalComma: true } ? Comma : Point;

    /// <summary>
    /// A number as people type it. A lone mark that is not the household's counts as a decimal one all the same, unless three figures
    /// follow: then it may be a thousand or a fraction, which is asked about rather than guessed.
    /// </summary>
    public static bool TryRead(string? text, out double number)
    {
        number = 0;
        if (text is null || MayBeTwo(text) is not null) return false;
        var written = text.Trim();
        var (mark, group) = (Here.NumberDecimalSeparator[0], Here.NumberGroupSeparator[0]);
        if (written.Contains(mark, StringComparison.Ordinal) && written.Contains(group, StringComparison.Ordinal))
        {
            if (!(mark == ',' ? GroupedByPoints() : GroupedByCommas()).IsMatch(written)) return false;
            written = written.Replace(group.ToString(), "", StringComparison.Ordinal);
        }

        return double.TryParse(written.Replace(',', '.'), NumberStyles.AllowDecimalPoint | NumberStyles.AllowLeadingSign,
            CultureInfo.InvariantCulture, out number);
    }

    /// <summary>The two numbers that a text may mean as this household writes: "1,250" is 1250 or 1.25. Null: it means one.</summary>
    public static (double Thousand, double Fraction)? MayBeTwo(string? text)
    {
        if (text?.Trim() is not { } written || !Thousands().IsMatch(written)) return null;
        var group = Here.NumberGroupSeparator;
        if (!written.Contains(group, StringComparison.Ordinal)) return null;
        double Of(string with) => double.Parse(written.Replace(group, with, StringComparison.Ordinal), NumberStyles.AllowDecimalPoint,
            CultureInfo.InvariantCulture);
        var marks = written.Count(c => c == group[0]);
        return (Of(""), marks == 1 ? Of(".") : double.NaN);
    }

    // Nothing that begins with a nought counts thousands.
    [GeneratedRegex(
        @"^[1-9]\d{0,2}(?<mark>[.,])\d{3}(\k<mark>\d{3})*$", RegexOptions.CultureInvariant | RegexOptions.ExplicitCapture, 1000)]
    private static partial Regex Thousands();

    [GeneratedRegex(@"^[+-]?\d{1,3}(,\d{3})+\.\d+$", RegexOptions.CultureInvariant | RegexOptions.ExplicitCapture, 1000)]
    private static partial Regex GroupedByCommas();

    [GeneratedRegex(@"^[+-]?\d{1,3}(\.\d{3})+,\d+$", RegexOptions.CultureInvariant | RegexOptions.ExplicitCapture, 1000)]
    private static partial Regex GroupedByPoints();
}
