using System.Buffers;
using System.Collections.Frozen;
using System.Globalization;
using System.Text;
using AnyAscii;

namespace RootCellar.Tell;

/// <summary>
/// The default 7-bit alphabet of 3GPP TS 23.038 (formerly GSM 03.38), section 6.2.1, and its extension table. One character
/// outside it turns a text into UCS-2 and cuts what fits from 160 to 70.
/// </summary>
internal static class Gsm0338
{
    /// <summary>Septets in a single, unconcatenated text.</summary>
    public const int TextSeptets = 160;

    private static readonly SearchValues<char> Basic = SearchValues.Create(
        "@£$¥èéùìòÇ\nØø\rÅåΔ_ΦΓΛΩΠΨΣΘΞÆæßÉ !\"#¤%&'()*+,-./0123456789:;<=>?¡ABCDEFGHIJKLMNOPQRSTUVWXYZÄÖÑÜ§¿abcdefghijklmnopqrstuvwxyzäöñüà");

    private static readonly SearchValues<char> Extension = SearchValues.Create("\f^{}\\[~]|€");

    // The degree sign goes: "71F" is what people say. A grave accent, which is not in the alphabet, stands for an apostrophe.
    private static readonly FrozenDictionary<int, string> Own = new Dictionary<int,
        string>
    { ['°'] = "", ['º'] = "", ['`'] = "'", ['±'] = "+/-", ['•'] = "*" }.ToFrozenDictionary();

    public static bool IsIn(char c) => Basic.Contains(c) || Extension.Contains(c);

    /// <summary>
    /// The text in the alphabet: what is near in its place (AnyAscii), what is not seen dropped, anything else a question mark.
    /// </summary>
    public static string Fold(string text)
    {
        var folded = new StringBuilder(text.Length);
        foreach (var rune in text.EnumerateRunes())
        {
            if (rune.IsBmp && IsIn((char)rune.Value)) folded.Append((char)rune.Value);
            else folded.Append(Near(rune));
        }

        return folded.ToString();
    }

    /// <summary>A text with as many sentences behind its head as one text has room for, in their order.</summary>
    /// <param name="end">What room is left for; it is not added.</param>
    public static string WithAll(string head, IEnumerable<string> sentences, string end = "")
    {
        foreach (var sentence in sentences)
        {
            var longer = $"{head} {sentence}";
            if (Septets(Fold(longer + end)) > TextSeptets) break;
            head = longer;
        }

        return head;
    }

    /// <summary>Folded, and no longer than one text; what is cut shows as dots.</summary>
    public static string Cut(string text)
    {
        var folded = Fold(text);
        if (Septets(folded) <= TextSeptets) return folded;
        while (Septets(folded) > TextSeptets - 3) folded = folded[..^1];
        return folded + "...";
    }

    private static string Near(Rune rune)
    {
        if (Own.TryGetValue(rune.Value, out var own)) return own;
        if (Rune.IsWhiteSpace(rune)) return " ";
        if (Rune.GetUnicodeCategory(rune) is UnicodeCategory.Format or UnicodeCategory.NonSpacingMark) return "";
        var near = rune.ToString().Transliterate().Replace('`', '\'');
        return near.Length > 0 && near.All(IsIn) ? near : "?";
    }

    /// <summary>How many of a text's 160 septets this takes; characters of the extension table take two. The text must be folded.</summary>
    public static int Septets(string folded)
    {
        var septets = 0;
        foreach (var c in folded)
        {
            septets += Basic.Contains(c) ? 1
                : Extension.Contains(c) ? 2
                : throw new ArgumentException($"'{c}' (U+{(int)c:X4}) is not in the GSM alphabet; fold the text first.", nameof(folded));
        }

        return septets;
    }
}
