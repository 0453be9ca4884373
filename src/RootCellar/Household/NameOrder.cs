using System.Text;
using AnyAscii;

namespace RootCellar.Household;

/// <summary>
/// The order in which people look for a name: whatever its case and the marks on its letters, and numbers by what they count: B2 before
/// B10. The same on every machine; docs/decisions/language.md says why it is not the order of one language.
/// </summary>
internal sealed class NameOrder : IComparer<string?>
{
    public static readonly NameOrder Instance = new();

    /// <summary>A name as it is looked for: small letters without marks, other alphabets in Latin letters.</summary>
    public static string Key(string name) => (Ascii.IsValid(name) ? name : name.Transliterate()).ToLowerInvariant();

    public int Compare(string? x, string? y)
    {
        var (a, b) = (Key(x ?? ""), Key(y ?? ""));
        int i = 0, j = 0;
        while (i < a.Length && j < b.Length)
        {
            int order;
            if (char.IsAsciiDigit(a[i]) && char.IsAsciiDigit(b[j]))
            {
                var (left, right) = (Digits(a, ref i), Digits(b, ref j));
                order = left.Length != right.Length ? left.Length.CompareTo(right.Length) : string.CompareOrdinal(left, right);
            }
            else
            {
                order = a[i++].CompareTo(b[j++]);
            }

            if (order != 0) return order;
        }

        var rest = (a.Length - i).CompareTo(b.Length - j);
        return rest != 0 ? rest : string.CompareOrdinal(x, y);
    }

    private static string Digits(string text, ref int at)
    {
        var start = at;
        while (at < text.Length && char.IsAsciiDigit(text[at])) at++;
        return text[start..at].TrimStart('0');
    }
}
