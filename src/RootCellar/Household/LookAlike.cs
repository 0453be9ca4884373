namespace RootCellar.Household;

/// <summary>Names that people take for one another: other case, blanks, marks, or letters of another alphabet that look the same.</summary>
internal static class LookAlike
{
    // Letters that are drawn like Latin ones (Unicode Technical Standard 39, confusables; those of Cyrillic and Greek keyboards).
    private const string Drawn = "АВЕКМНОРСТУХаеорсухіјѕІЈЅΑΒΕΖΗΙΚΜΝΟΡΤΥΧο";
    private const string Latin = "ABEKMHOPCTYXaeopcyxijsIJSABEZHIKMNOPTYXo";

    /// <summary>The same for names that look alike.</summary>
    public static string Key(string name) => NameOrder.Key(string.Concat(name.Where(c => c != ' ').Select(AsLatin)));

    private static char AsLatin(char letter) => letter > 127 && Drawn.IndexOf(letter) is >= 0 and var at ? Latin[at] : letter;
}
