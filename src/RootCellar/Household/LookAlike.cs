namespace RootCellar.Household;

/// <summary>
/// Names that people take for one another: other case, blanks, marks or code points of the same letter, letters of another alphabet that
/// look the same, and O and I written for 0 and 1.
/// </summary>
internal static class LookAlike
{
    // Letters that are drawn like Latin ones (Unicode Technical Standard 39, confusables; those of Cyrillic and Greek keyboards).
    private const string Drawn = "АВЕКМНОРСТУХаеорсухіјѕІЈЅһӏӀԁԛԝгΒΕΖΗΙΚΜΝΟΡΤΥΧΑοανρυγησιτκ";
    private const string Latin = "ABEKMHOPCTYXaeopcyxijsIJShlIdqwrBEZHIKMNOPTYXAoavpuynoitk";

    // Of the same table: what is drawn like 1 and like 0.
    private const string LikeOne = "Il|";
    private const string LikeNought = "Oo";

    /// <summary>
    /// What a name is taken for. Two names look alike where they share one of these: read aloud, by its shape, and by its shape with letters
    /// that look like digits.
    /// </summary>
    public static IReadOnlyList<string> Keys(string name)
    {
        var close = string.Concat(name.Where(c => c != ' '));
        var drawn = string.Concat(close.Select(AsLatin));
        return [.. new[] { NameOrder.Key(close), NameOrder.Key(drawn), "\n" + string.Concat(drawn.Select(AsDigit)) }.Distinct(
            StringComparer.Ordinal)];
    }

    /// <summary>Whether one is taken for the other; also where it is the same.</summary>
    public static bool Of(string a, string b) => Keys(a).Intersect(Keys(b), StringComparer.Ordinal).Any();

    private static char AsLatin(char letter) => letter > 127 && Drawn.IndexOf(letter) is >= 0 and var at ? Latin[at] : letter;

    private static char AsDigit(char letter) => LikeOne.Contains(letter) ? '1' : LikeNought.Contains(letter) ? '0' : letter;
}

/// <summary>Names in use, by what they are taken for.</summary>
internal sealed class LookAlikes
{
    private readonly Dictionary<string, string> byKey = new(StringComparer.Ordinal);

    /// <summary>Takes a name into use.</summary>
    /// <returns>The name before it that it is taken for; null where there is none.</returns>
    public string? Add(string name)
    {
        string? other = null;
        foreach (var key in LookAlike.Keys(name))
        {
            if (!byKey.TryAdd(key, name) && byKey[key] != name) other ??= byKey[key];
        }

        return other;
    }
}
