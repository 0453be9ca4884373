namespace RootCellar.Household;

/// <summary>"Did you mean ...?"</summary>
internal static class Nearest
{
    /// <summary>The choice that a word was most likely meant to be; null where none is near.</summary>
    public static string? Of(string word, IEnumerable<string> known) =>
        known.Select(k => (Name: k, Distance: LookAlike.Of(word, k) ? 0 : Distance(word.ToUpperInvariant(), k.ToUpperInvariant())))
            .Where(k => k.Distance <= Math.Max(2, word.Length / 3))
            .OrderBy(k => k.Distance)
            .Select(k => k.Name)
            .FirstOrDefault();

    private static int Distance(string a, string b)
    {
        var row = Enumerable.Range(0, b.Length + 1).ToArray();
        for (var i = 1; i <= a.Length; i++)
        {
            var diagonal = row[0];
            row[0] = i;
            for (var j = 1; j <= b.Length; j++)
            {
                var substituted = diagonal + (a[i - 1] == b[j - 1] ? 0 : 1);
                diagonal = row[j];
                row[j] = Math.Min(substituted, Math.Min(row[j], row[j - 1]) + 1);
            }
        }

        return row[^1];
    }
}
