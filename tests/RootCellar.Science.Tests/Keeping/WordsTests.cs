using System.Globalization;
using System.Text.RegularExpressions;
using RootCellar.Science.Crops;
using RootCellar.Science.Keeping;

namespace RootCellar.Science.Tests.Keeping;

/// <summary>Everything the doses can say.</summary>
public sealed partial class WordsTests
{
    private static readonly double[] Temperatures = [-20, -3, -0.9, -0.3, 0.02, 0.7, 2, 3, 4, 6, 7.5, 9, 13, 16.5, 18, 19, 30, double.NaN];

    private static readonly double[] Amounts = [0, 0.2, 0.4, 0.9, 1, 7.4, 8, 13, 20, 24, 29, 31, 70, 73, 300, 5000, double.NaN];

    private static IEnumerable<string> All()
    {
        foreach (double amount in Amounts)
        {
            yield return Greening.Words(amount);
            foreach (double c in Temperatures)
            {
                foreach (double humidity in (double[])[80, 96, double.NaN])
                    yield return Wetness.Words(c, amount, humidity);
                foreach (var crop in CropTable.Default.Crops)
                    yield return Cold.Words(crop, c, amount);
            }
        }

        for (int signs = 0; signs < 32; signs++)
            foreach (var cures in Enum.GetValues<CuringRule>())
                yield return RotRisk.Words((RotSigns)signs, cures);
        foreach (double c in Temperatures)
            yield return RotRisk.DiggingWords(c);
    }

    [Fact]
    public void Nothing_is_ever_called_safe_or_fit_to_eat() =>
        All().Should().AllSatisfy(words => Clearance().IsMatch(words).Should().BeFalse(words));

    [Fact]
    public void Each_is_one_whole_sentence_with_figures_a_person_can_read() =>
        All().Should().AllSatisfy(words =>
        {
            words.Should().EndWith(".").And.NotContain("NaN").And.NotContain("E+").And.NotContain("-0 ").And.NotContain("  ");
            Sentences().Count(words).Should().Be(1, words);
            DecimalTail().IsMatch(words).Should().BeFalse(words);
        });

    [Fact]
    public void Wherever_a_temperature_is_shown_both_scales_are() =>
        All().Should().AllSatisfy(words => Celsius().Count(words).Should().Be(Pairs().Count(words), words));

    [Fact]
    public void The_two_scales_say_the_same_temperature() =>
        All().SelectMany(words => Pairs().Matches(words)).Should().AllSatisfy(pair =>
        {
            double f = double.Parse(pair.Groups["f"].Value, CultureInfo.InvariantCulture);
            double c = double.Parse(pair.Groups["c"].Value, CultureInfo.InvariantCulture);
            // A temperature, or a difference of two ("0.9 F (0.5 C) above the dew point"); both rounded to a tenth.
            Math.Min(Math.Abs(c * 1.8 + 32 - f), Math.Abs(c * 1.8 - f)).Should().BeLessThan(0.15, pair.Value);
        });

    [GeneratedRegex("safe|fit to eat|edible|harmless|good to eat|no risk|glycoalkaloid", RegexOptions.IgnoreCase, 1000)]
    private static partial Regex Clearance();

    [GeneratedRegex(@"\.(\s|$)", RegexOptions.ExplicitCapture, 1000)]
    private static partial Regex Sentences();

    [GeneratedRegex(@"\d\.\d\d", RegexOptions.ExplicitCapture, 1000)]
    private static partial Regex DecimalTail();

    [GeneratedRegex(@"\d C\b", RegexOptions.ExplicitCapture, 1000)]
    private static partial Regex Celsius();

    [GeneratedRegex(@"(?<f>-?\d+(\.\d)?) F \((?<c>-?\d+(\.\d)?) C\)", RegexOptions.ExplicitCapture, 1000)]
    private static partial Regex Pairs();
}
