namespace RootCellar.Pages;

/// <summary>A part of a long list, the newest first, and where the rest of it is.</summary>
/// <param name="Address">Of the page.</param>
/// <param name="Skipped">How many newer ones are not shown.</param>
/// <param name="Shown">How many are.</param>
/// <param name="Left">How many older ones are not.</param>
/// <param name="Heading">The list's heading on the page, to come back to.</param>
/// <param name="Words">How older ones are offered; {0} is how many.</param>
internal sealed record OlderPart(string Address, int Skipped, int Shown, int Left, string Heading, string Words)
{
    public int All => Skipped + Shown + Left;

    public string Older => $"{Address}?older={Skipped + Shown}#{Heading}";

    /// <param name="all">The whole list, the newest first.</param>
    /// <param name="skip">How many newer ones were seen already; what is none of the list's places begins at the newest.</param>
    /// <param name="most">How many to show at once.</param>
    public static (IReadOnlyList<T> Shown, OlderPart Part) Of<T>(
        IReadOnlyList<T> all, int? skip, int most, string address, string heading, string words)
    {
        int skipped = skip is > 0 && skip < all.Count ? skip.Value : 0;
        var shown = all.Skip(skipped).Take(most).ToList();
        return (shown, new OlderPart(address, skipped, shown.Count, all.Count - skipped - shown.Count, heading, words));
    }
}
