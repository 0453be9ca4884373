using RootCellar.Science.Air;

namespace RootCellar.Science.Tests.Published;

internal static class SaltPublishedChecks
{
    private const string Topic = "Salt standards";
    private const string Greenspan = "L. Greenspan, J. Res. NBS 81A (1977) 89-96, table of humidity fixed points";

    public static IEnumerable<PublishedCheck> All()
    {
        (string Formula, double C, double Humidity)[] rows =
        [
            ("MgCl2", 25, 32.78), ("NaCl", 25, 75.29), ("KCl", 25, 84.34), ("LiCl", 20, 11.31),
            ("K2CO3", 20, 43.16), ("K2SO4", 25, 97.30), ("Mg(NO3)2", 25, 52.89), ("KNO3", 25, 93.58),
        ];
        foreach (var (formula, c, humidity) in rows)
        {
            yield return new PublishedCheck(Topic, $"{formula} at {c} C", Greenspan, "% RH", humidity,
                At(formula, c).RelativeHumidityPercent, 0.0151,
                Fitted: true, Remark: "the polynomial is the paper's own fit; it may differ from the printed row by 0.01");
        }

        foreach (double c in (double[])[5, 10, 15, 20, 25])
        {
            yield return new PublishedCheck(Topic, $"LiCl at {c} C in another's table",
                "T. Padfield, table of salt humidities (padfield.org, Conservation physics)", "% RH",
                11.3, At("LiCl", c).RelativeHumidityPercent, 0.05, Remark: "a wrong sign of the linear term, found in copies, fails this");
        }
    }

    private static SaltPoint At(string formula, double temperatureC) =>
        SaltStandards.All.Single(salt => salt.Formula == formula).At(temperatureC)!.Value;
}
