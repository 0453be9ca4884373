namespace RootCellar.Tell;

/// <summary>Telephone numbers as contacts and networks write them.</summary>
internal static class PhoneNumber
{
    // A number without its country's code is taken for the same only if it is long enough to be one subscriber's (assumed), and no
    // country's code is longer than three digits (ITU-T E.164).
    private const int ShortestSubscriber = 9;
    private const int LongestCountry = 3;

    /// <summary>Whether two are one: alike, or one of them lacks the country's code ("0171 2345678", "+491712345678").</summary>
    public static bool IsSame(string a, string b)
    {
        if (a == b) return true;
        var (aWhole, bWhole) = (International(a), International(b));
        if (aWhole is not null && bWhole is not null) return aWhole == bWhole;
        return aWhole is not null ? EndsWith(aWhole, b) : bWhole is not null && EndsWith(bWhole, a);
    }

    private static string? International(string number) => number.StartsWith('+') ? number[1..]
        : number.StartsWith("00", StringComparison.Ordinal) ? number[2..] : null;

    private static bool EndsWith(string international, string national)
    {
        var subscriber = national.TrimStart('0');
        return subscriber.Length >= ShortestSubscriber && international.EndsWith(subscriber, StringComparison.Ordinal)
            && international.Length - subscriber.Length <= LongestCountry;
    }
}
