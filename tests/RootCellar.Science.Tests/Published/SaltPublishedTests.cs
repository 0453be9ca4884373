using RootCellar.Science.Air;

namespace RootCellar.Science.Tests.Published;

/// <summary>L. Greenspan, J. Res. NBS 81A(1):89-96 (1977).</summary>
public sealed class SaltPublishedTests
{
    /// <summary>Values the printed table gives at 25 C (32.78, 75.29, 84.34) and for LiCl at 20 C (11.31); the polynomials may differ by 0.01.</summary>
    [Theory]
    [InlineData("MgCl2", 25, 32.78)]
    [InlineData("NaCl", 25, 75.29)]
    [InlineData("KCl", 25, 84.34)]
    [InlineData("LiCl", 20, 11.31)]
    [InlineData("K2CO3", 20, 43.16)]
    [InlineData("K2SO4", 25, 97.30)]
    [InlineData("Mg(NO3)2", 25, 52.89)]
    [InlineData("KNO3", 25, 93.58)]
    public void The_printed_table(string formula, double temperatureC, double humidity) =>
        At(formula, temperatureC).RelativeHumidityPercent.Should().BeApproximately(humidity, 0.0151);

    /// <summary>T. Padfield's table of salt humidities: LiCl is 11.3 from 5 to 25 C, K2CO3 43.1 rising to 43.2. A wrong sign fails this.</summary>
    [Fact]
    public void Linear_terms_of_lithium_chloride_and_potassium_carbonate_are_positive()
    {
        foreach (double t in (double[])[5, 10, 15, 20, 25])
            At("LiCl", t).RelativeHumidityPercent.Should().BeApproximately(11.3, 0.05);
        At("K2CO3", 30).RelativeHumidityPercent.Should().BeGreaterThan(At("K2CO3", 0).RelativeHumidityPercent);
    }

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

    private static SaltPoint At(string formula, double temperatureC) => Salt(formula).At(temperatureC)!.Value;

    private static SaltStandard Salt(string formula) => SaltStandards.All.Single(salt => salt.Formula == formula);
}
