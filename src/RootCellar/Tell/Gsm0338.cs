using System.Buffers;
using System.Collections.Frozen;
using System.Text;

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

    // What a grower may write or paste and the alphabet lacks. The degree sign goes: "71F" is what people say.
    private static readonly FrozenDictionary<char, string> Near = Pairs(
        ("°º", ""), ("‘’‚‛`´′", "'"), ("“”„‟″«»", "\""), ("‐‑‒–—―−", "-"), ("…", "..."), ("•·", "*"), ("×", "x"), ("÷", "/"),
        ("≤", "<="), ("≥", ">="), ("±", "+/-"), ("½", "1/2"), ("¼", "1/4"), ("¾", "3/4"), ("µμ", "u"), ("²", "2"), ("³", "3"), ("¹", "1"),
        ("₂", "2"), ("\t\v\u00A0\u2002\u2003\u2007\u2009\u202F", " "), ("\u200B\u200C\u200D\u2060\uFEFF\u00AD\uFE0F", ""),
        ("ÀÁÂÃĀĂĄ", "A"), ("áâãāăą", "a"), ("ĆĈĊČ", "C"), ("çćĉċč", "c"), ("ĎĐÐ", "D"), ("ďđð", "d"), ("ÈÊËĒĔĖĘĚ", "E"), ("êëēĕėęě", "e"),
        ("ĜĞĠĢ", "G"), ("ĝğġģ", "g"), ("ĤĦ", "H"), ("ĥħ", "h"), ("ÌÍÎÏĨĪĬĮİ", "I"), ("íîïĩīĭįı", "i"), ("Ĵ", "J"), ("ĵ", "j"), ("Ķ", "K"), ("ķ", "k"),
        ("ĹĻĽĿŁ", "L"), ("ĺļľŀł", "l"), ("ŃŅŇ", "N"), ("ńņň", "n"), ("ÒÓÔÕŌŎŐ", "O"), ("óôõōŏő", "o"), ("Œ", "OE"), ("œ", "oe"), ("ŔŖŘ", "R"), ("ŕŗř", "r"),
        ("ŚŜŞŠȘ", "S"), ("śŝşšș", "s"), ("ŢŤŦȚ", "T"), ("ţťŧț", "t"), ("Þ", "TH"), ("þ", "th"), ("ÙÚÛŨŪŬŮŰŲ", "U"), ("úûũūŭůűų", "u"), ("Ŵ", "W"), ("ŵ", "w"),
        ("ÝŶŸ", "Y"), ("ýÿŷ", "y"), ("ŹŻŽ", "Z"), ("źżž", "z"), ("ẞ", "SS"));

    public static bool IsIn(char c) => Basic.Contains(c) || Extension.Contains(c);

    /// <summary>The text in the alphabet: near characters replaced, combining accents dropped, anything else a question mark.</summary>
    public static string Fold(string text)
    {
        var folded = new StringBuilder(text.Length);
        foreach (var rune in text.EnumerateRunes())
        {
            if (rune.Value is >= 0x300 and <= 0x36F)
                continue;

            var c = rune.IsBmp ? (char)rune.Value : '\0';
            if (IsIn(c))
                folded.Append(c);
            else
                folded.Append(Near.TryGetValue(c, out var near) ? near : "?");
        }

        return folded.ToString();
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

    private static FrozenDictionary<char, string> Pairs(params (string From, string To)[] groups) =>
        groups.SelectMany(group => group.From.Select(c => (c, group.To))).ToFrozenDictionary(pair => pair.c, pair => pair.To);
}
