using RootCellar.Tell;

namespace RootCellar.Tests.Tell;

public sealed class Gsm0338Tests
{
    /// <summary>
    /// Code points 0x00 to 0x7F of the default alphabet and its extension table, as in Unicode's mapping table
    /// ETSI/GSM0338.TXT; compared by machine with the "gsm0338" table of Perl's Encode module: the same 127 and 10.
    /// </summary>
    private static readonly int[] Alphabet =
    [
        0x40, 0xA3, 0x24, 0xA5, 0xE8, 0xE9, 0xF9, 0xEC, 0xF2, 0xC7, 0x0A, 0xD8, 0xF8, 0x0D, 0xC5, 0xE5,
        0x394, 0x5F, 0x3A6, 0x393, 0x39B, 0x3A9, 0x3A0, 0x3A8, 0x3A3, 0x398, 0x39E, 0xC6, 0xE6, 0xDF, 0xC9,
        .. Enumerable.Range(0x20, 4), 0xA4, .. Enumerable.Range(0x25, 27), 0xA1, .. Enumerable.Range(0x41, 26), 0xC4, 0xD6, 0xD1, 0xDC,
        0xA7,
        0xBF, .. Enumerable.Range(0x61, 26), 0xE4, 0xF6, 0xF1, 0xFC, 0xE0,
    ];

    private static readonly int[] Extension = [0x0C, 0x5E, 0x7B, 0x7D, 0x5C, 0x5B, 0x7E, 0x5D, 0x7C, 0x20AC];

    [Fact]
    public void The_alphabet_is_that_of_the_standard_and_no_more()
    {
        Alphabet.Should().HaveCount(127);
        for (var c = 0; c <= 0xFFFF; c++)
        {
            if (!char.IsSurrogate((char)c))
                Gsm0338.IsIn((char)c).Should().Be(Alphabet.Contains(c) || Extension.Contains(c), $"U+{c:X4}");
        }
    }

    [Fact]
    public void A_character_takes_one_septet_and_one_of_the_extension_two()
    {
        Alphabet.Should().AllSatisfy(c => Gsm0338.Septets(((char)c).ToString()).Should().Be(1));
        Extension.Should().AllSatisfy(c => Gsm0338.Septets(((char)c).ToString()).Should().Be(2));
    }

    [Theory]
    [InlineData("71°F", "71F")]
    [InlineData("“Ann’s” cellar – north", "\"Ann's\" cellar - north")]
    [InlineData("Crème brûlée ÇA ça", "Crème brulée ÇA ca")]
    [InlineData("e\u0301te\u0300", "ete")]
    [InlineData("Łódź Żółw", "Lodz Zolw")]
    [InlineData("95\u00A0% ≥ 90 ± 3…", "95 % >= 90 +/- 3...")]
    [InlineData("🥔 bin", ":potato: bin")]
    [InlineData("地下室", "DeXiaShi")]
    [InlineData("a\u200Bb\u00ADc \uE000", "abc ?")]
    [InlineData("a`b\tc", "a'b c")]
    [InlineData("5 € [a]", "5 € [a]")]
    public void What_the_alphabet_lacks_becomes_what_is_near(string text, string expected) =>
        Gsm0338.Fold(text).Should().Be(expected);

    [Fact]
    public void A_text_that_was_not_folded_is_not_counted()
    {
        var counting = () => Gsm0338.Septets("71°F");

        counting.Should().Throw<ArgumentException>().WithMessage("*U+00B0*");
    }
}
