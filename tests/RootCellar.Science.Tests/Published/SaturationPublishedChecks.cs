using RootCellar.Science.Air;

namespace RootCellar.Science.Tests.Published;

internal static class SaturationPublishedChecks
{
    private const string Topic = "Saturation pressure";

    public static IEnumerable<PublishedCheck> All() => [.. If97(), .. Ice(), .. Ashrae(), .. MurphyAndKoop(), .. Auxiliary()];

    private static IEnumerable<PublishedCheck> If97()
    {
        foreach (var (kelvin, megapascal) in ((double, double)[])[(300, 0.353658941e-2), (500, 2.63889776), (600, 12.3443146)])
        {
            yield return new PublishedCheck(Topic, $"over water at {kelvin} K", "IAPWS R7-97(2012) (IF97), Table 35", "MPa",
                megapascal, Saturation.OverWaterPa(kelvin - 273.15) / 1e6, 2e-9 * megapascal, Remark: "all nine printed digits");
        }

        foreach (var (megapascal, kelvin) in ((double, double)[])[(0.1, 372.755919), (1, 453.035632), (10, 584.149488)])
        {
            yield return new PublishedCheck(Topic, Row($"temperature of saturation at {megapascal} MPa"),
                "IAPWS R7-97(2012) (IF97), Table 36", "K",
                kelvin, Saturation.TemperatureOverWaterC(megapascal * 1e6) + 273.15, 5.1e-7, Remark: "all nine printed digits");
        }
    }

    private static IEnumerable<PublishedCheck> Ice()
    {
        yield return new PublishedCheck(Topic, "over ice at 230 K", "IAPWS R14-08(2011), Table 3", "Pa",
            8.94735, Saturation.OverIcePa(230 - 273.15), 8.94735e-6);
        yield return new PublishedCheck(Topic, "over ice at the triple point, 273.16 K", "IAPWS R14-08(2011)", "Pa",
            611.657, Saturation.OverIcePa(0.01), 6.2e-7);
        yield return new PublishedCheck(Topic, "over water at the triple point, 273.16 K", "IAPWS R14-08(2011)", "Pa",
            611.657, Saturation.OverWaterPa(0.01), 6.2e-4);
    }

    private static IEnumerable<PublishedCheck> Ashrae()
    {
        (double C, double Pa, double Relative)[] rows =
            [(-60, 1.08, 5e-3), (-20, 103.24, 3e-4), (-5, 401.74, 3e-4), (5, 872.6, 3e-4), (25, 3169.7, 3e-4), (50, 12351.3, 3e-4),
                (100, 101418.0, 3e-4)];
        foreach (var (c, pascal, relative) in rows)
        {
            yield return new PublishedCheck(Topic, Row($"over {(c < 0 ? "ice" : "water")} at {c} C"),
                "ASHRAE Handbook Fundamentals (2017) ch. 1 Table 3, as quoted in the tests of psychrolib (MIT)", "Pa",
                pascal, c < 0 ? Saturation.OverIcePa(c) : Saturation.OverWaterPa(c), relative * pascal,
                Remark: c == -60 ? "printed to three digits" : "ASHRAE's own fit claims 300 ppm");
        }
    }

    /// <summary>What the extension of IF97 below 0 C is held against.</summary>
    private static IEnumerable<PublishedCheck> MurphyAndKoop()
    {
        foreach (var (c, relative) in ((double, double)[])[(0, 5e-4), (-1, 5e-4), (-5, 5e-4), (-10, 5e-4), (-20, 5e-4), (-30, 5e-4),
            (-40, 3e-3)])
        {
            double t = c + 273.15;
            double published = Math.Exp(54.842763 - 6763.22 / t - 4.210 * Math.Log(t) + 0.000367 * t
                + Math.Tanh(0.0415 * (t - 218.8)) * (53.878 - 1331.22 / t - 9.44523 * Math.Log(t) + 0.014025 * t));
            yield return new PublishedCheck(Topic, Row($"over supercooled water at {c} C"),
                "D. M. Murphy and T. Koop, Q. J. R. Meteorol. Soc. 131 (2005) 1539, equation 10", "Pa",
                Digits(published, 7), Saturation.OverWaterPa(c), relative * published, Remark: "their equation, typed into the test");
        }
    }

    private static IEnumerable<PublishedCheck> Auxiliary()
    {
        foreach (double c in (double[])[0.01, 4, 10, 15.6, 25, 40])
        {
            double t = c + 273.15;
            double tau = 1 - t / 647.096;
            double sum = -7.85951783 * tau + 1.84408259 * Math.Pow(tau, 1.5) - 11.7866497 * Math.Pow(tau, 3)
                + 22.6807411 * Math.Pow(tau, 3.5) - 15.9618719 * Math.Pow(tau, 4) + 1.80122502 * Math.Pow(tau, 7.5);
            double published = 22.064e6 * Math.Exp(647.096 / t * sum);
            yield return new PublishedCheck(Topic, Row($"over water at {c} C by an equation independent of IF97"),
                "W. Wagner and A. Pruss, J. Phys. Chem. Ref. Data 22 (1993) 783, equation 1 (coefficients from memory)", "Pa",
                Digits(published, 7), Saturation.OverWaterPa(c), 5e-4 * published);
        }
    }

    private static string Row(FormattableString text) => FormattableString.Invariant(text);

    private static double Digits(double value, int digits)
    {
        double unit = Math.Pow(10, Math.Floor(Math.Log10(value)) + 1 - digits);
        return Math.Round(value / unit) * unit;
    }
}
