using RootCellar.Science.Air;

namespace RootCellar.Science.Tests.Air;

public sealed class SaltStandardsTests
{
    [Fact]
    public void Linear_term_of_potassium_carbonate_is_positive() =>
        At("K2CO3", 30).RelativeHumidityPercent.Should().BeGreaterThan(At("K2CO3", 0).RelativeHumidityPercent);

    [Theory]
    [InlineData("NaCl", 10, 0.22)]
    [InlineData("NaCl", 12.5, 0.20)]
    [InlineData("NaCl", 30, 0.11)]
    [InlineData("K2SO4", 0, 1.1)]
    public void Uncertainty_is_read_between_the_printed_rows(string formula, double temperatureC, double plusOrMinus) =>
        At(formula, temperatureC).UncertaintyPercent.Should().BeApproximately(plusOrMinus, 1e-9);

    [Fact]
    public void Outside_its_range_a_salt_says_nothing()
    {
        Salt("NaCl").At(-0.1).Should().BeNull();
        Salt("K2CO3").At(30.1).Should().BeNull();
        Salt("NaCl").At(double.NaN).Should().BeNull();
        At("NaCl", 40).UncertaintyPercent.Should().BeNull();
    }

    [Fact]
    public void A_formula_goes_by_the_name_on_the_jar() =>
        SaltStandards.All.Select(salt => $"{salt.Formula} {salt.Name}").Should().Equal(
            "LiCl lithium chloride", "MgCl2 magnesium chloride", "K2CO3 potassium carbonate", "Mg(NO3)2 magnesium nitrate",
            "NaCl sodium chloride", "KCl potassium chloride", "KNO3 potassium nitrate", "K2SO4 potassium sulphate");

    [Theory]
    [InlineData("LiCl", "not for a cold cellar")]
    [InlineData("NaCl", "without additives")]
    [InlineData("K2SO4", "constant temperature")]
    public void A_salt_that_misleads_says_so(string formula, string caution) => Salt(formula).Note.Should().Contain(caution);

    private static SaltPoint At(string formula, double temperatureC) => Salt(formula).At(temperatureC)!.Value;

    private static SaltStandard Salt(string formula) => SaltStandards.All.Single(salt => salt.Formula == formula);
}
