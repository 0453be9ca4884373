using System.Text.Json;

namespace RootCellar.Household;

/// <summary>A word of a list as book, API and record write it: small letters, parts joined by hyphens.</summary>
internal static class Slug
{
    public static string Of<T>(T word)
        where T : struct, Enum => JsonNamingPolicy.KebabCaseLower.ConvertName(word.ToString());
}
