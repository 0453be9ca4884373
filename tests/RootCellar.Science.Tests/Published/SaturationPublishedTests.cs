using RootCellar.Science.Air;

namespace RootCellar.Science.Tests.Published;

public sealed class SaturationPublishedTests
{
    /// <summary>IAPWS R7-97(2012) (IF97), Table 35: saturation pressure computed from equation 30.</summary>
    [Theory]
    [InlineData(300, 0.353658941e-2)]
    [InlineData(500, 2.63889776)]
    [InlineData(600, 12.3443146)]
    public void Water_matches_IF97_table_35_to_all_nine_digits(double kelvin, double megapascal) =>
        Off(Saturation.OverWaterPa(kelvin - 273.15), megapascal * 1e6).Should().BeLessThan(2e-9);

    /// <summary>IAPWS R7-97(2012) (IF97), Table 36: saturation temperature computed from equation 31.</summary>
    [Theory]
    [InlineData(0.1, 372.755919)]
    [InlineData(1, 453.035632)]
    [InlineData(10, 584.149488)]
    public void Saturation_temperature_matches_IF97_table_36(double megapascal, double kelvin) =>
        (Saturation.TemperatureOverWaterC(megapascal * 1e6) + 273.15).Should().BeApproximately(kelvin, 5.1e-7);

    /// <summary>IAPWS R14-08(2011), Table 3: sublimation pressure at 230 K.</summary>
    [Fact]
    public void Ice_matches_R14_08_at_230_K() =>
        Off(Saturation.OverIcePa(230 - 273.15), 8.94735e-6 * 1e6).Should().BeLessThan(1e-6);

    /// <summary>Triple point: 611.657 Pa at 273.16 K (IAPWS R14-08; IF97 gives the same).</summary>
    [Fact]
    public void Water_and_ice_meet_at_the_triple_point()
    {
        Off(Saturation.OverIcePa(0.01), 611.657).Should().BeLessThan(1e-9);
        Off(Saturation.OverWaterPa(0.01), 611.657).Should().BeLessThan(1e-6);
    }

    /// <summary>
    /// ASHRAE Handbook Fundamentals (2017) ch. 1 Table 3, Pa, over ice below 0 C (as quoted in the tests of psychrolib).
    /// ASHRAE's fit claims 300 ppm; -60 C is printed to three digits.
    /// </summary>
    [Theory]
    [InlineData(-60, 1.08, 5e-3)]
    [InlineData(-20, 103.24, 3e-4)]
    [InlineData(-5, 401.74, 3e-4)]
    [InlineData(5, 872.6, 3e-4)]
    [InlineData(25, 3169.7, 3e-4)]
    [InlineData(50, 12351.3, 3e-4)]
    [InlineData(100, 101418.0, 3e-4)]
    public void Saturation_pressure_matches_ASHRAE_table_3(double temperatureC, double pascal, double relative)
    {
        double ours = temperatureC < 0 ? Saturation.OverIcePa(temperatureC) : Saturation.OverWaterPa(temperatureC);
        Off(ours, pascal).Should().BeLessThan(relative);
    }

    /// <summary>
    /// D. M. Murphy and T. Koop, "Review of the vapour pressures of ice and supercooled water", Q. J. R. Meteorol. Soc. 131
    /// (2005) 1539, equation 10, which is typed in below: what the extension below 0 C is held against.
    /// </summary>
    [Theory]
    [InlineData(0, 5e-4)]
    [InlineData(-1, 5e-4)]
    [InlineData(-5, 5e-4)]
    [InlineData(-10, 5e-4)]
    [InlineData(-20, 5e-4)]
    [InlineData(-30, 5e-4)]
    [InlineData(-40, 3e-3)]
    public void Supercooled_water_stays_near_Murphy_and_Koop(double temperatureC, double relative)
    {
        double t = temperatureC + 273.15;
        double murphyKoop = Math.Exp(54.842763 - 6763.22 / t - 4.210 * Math.Log(t) + 0.000367 * t
            + Math.Tanh(0.0415 * (t - 218.8)) * (53.878 - 1331.22 / t - 9.44523 * Math.Log(t) + 0.014025 * t));
        Off(Saturation.OverWaterPa(temperatureC), murphyKoop).Should().BeLessThan(relative);
    }

    /// <summary>
    /// W. Wagner, A. Saul, A. Pruss (1994) and the IAPWS-95 auxiliary equation of Wagner and Pruss (1993), J. Phys. Chem. Ref. Data 22:783,
    /// equation 1 (coefficients from memory): an independent equation for the same curve, 0 to 40 C within 0.05 %.
    /// </summary>
    [Theory]
    [InlineData(0.01)]
    [InlineData(4)]
    [InlineData(10)]
    [InlineData(15.6)]
    [InlineData(25)]
    [InlineData(40)]
    public void Water_agrees_with_the_IAPWS_auxiliary_equation(double temperatureC)
    {
        double t = temperatureC + 273.15;
        double tau = 1 - t / 647.096;
        double sum = -7.85951783 * tau + 1.84408259 * Math.Pow(tau, 1.5) - 11.7866497 * Math.Pow(tau, 3)
            + 22.6807411 * Math.Pow(tau, 3.5) - 15.9618719 * Math.Pow(tau, 4) + 1.80122502 * Math.Pow(tau, 7.5);
        Off(Saturation.OverWaterPa(temperatureC), 22.064e6 * Math.Exp(647.096 / t * sum)).Should().BeLessThan(5e-4);
    }

    private static double Off(double ours, double published) => Math.Abs(ours / published - 1);
}
