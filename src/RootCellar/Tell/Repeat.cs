namespace RootCellar.Tell;

/// <summary>Marks a text that may have left before the service died.</summary>
internal static class Repeat
{
    private const string Mark = " (may be a repeat)";

    /// <summary>The text with the mark, still within one text message: the end of the advice gives way.</summary>
    public static string Of(string text)
    {
        while (Gsm0338.Septets(text + Mark) > Gsm0338.TextSeptets) text = text[..^1];
        return text + Mark;
    }
}
