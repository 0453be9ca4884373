using System.Text.RegularExpressions;

namespace RootCellar.Household;

/// <summary>A word of a list as book, API and record write it: small letters, parts joined by hyphens.</summary>
internal static partial class Slug
{
    public static string Of<T>(T word)
        where T : struct, Enum => PartStart().Replace(word.ToString(), "-$0").ToLowerInvariant();

    [GeneratedRegex("(?<!^)[A-Z]", RegexOptions.CultureInvariant, 1000)]
    private static partial Regex PartStart();
}
