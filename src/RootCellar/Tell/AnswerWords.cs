using System.Globalization;
using System.Text.RegularExpressions;

namespace RootCellar.Tell;

/// <summary>What somebody answered by text: "OK", "ok 12", "Okay, I'm on it", "12".</summary>
/// <param name="Code">The number that came with it; null: none did.</param>
internal sealed partial record AnswerWords(int? Code)
{
    /// <summary>Null where it is no answer that can be read for sure.</summary>
    public static AnswerWords? Read(string text)
    {
        var match = Answer().Match(text);
        if (!match.Success) return null;
        return match.Groups["code"] is { Success: true, ValueSpan: var digits }
            ? new AnswerWords(int.Parse(digits, NumberStyles.None, CultureInfo.InvariantCulture)) : new AnswerWords((int?)null);
    }

    // The number comes right after the word: "ok, there at 7" is no 7.
    [GeneratedRegex(@"^\W*(?:o\.?k(?:ay)?(?![a-z])(?:\W{0,3}(?<code>[0-9]{1,4})(?![0-9])|(?!\W{0,3}[0-9]))|(?<code>[0-9]{1,4})\W*$)",
        RegexOptions.IgnoreCase | RegexOptions.CultureInvariant | RegexOptions.ExplicitCapture, matchTimeoutMilliseconds: 1000)]
    private static partial Regex Answer();
}
