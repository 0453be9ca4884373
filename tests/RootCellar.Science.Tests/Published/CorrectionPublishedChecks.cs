using RootCellar.Science.Air;

namespace RootCellar.Science.Tests.Published;

/// <summary>A sensor with a known fault, held against two of Greenspan's salts, then read over the ones it was not held against.</summary>
internal static class CorrectionPublishedChecks
{
    private const double C = 25;

    public static IEnumerable<PublishedCheck> All()
    {
        (string Formula, double Humidity)[] printed =
            [("MgCl2", 32.78), ("Mg(NO3)2", 52.89), ("NaCl", 75.29), ("KCl", 84.34), ("K2SO4", 97.30)];
        (string Low, string High)[] pairs = [("MgCl2", "NaCl"), ("NaCl", "K2SO4"), ("MgCl2", "K2SO4")];
        foreach (var (low, high) in pairs)
        {
            var fit = SensorCorrection.Fit(SensorCorrection.Humidity, [Over(low), Over(high)]);
            foreach (var (formula, humidity) in printed.Where(p => p.Formula != low && p.Formula != high))
            {
                var corrected = fit.Correction!.Apply(Faulty(humidity));
                // Out of reach the correction is held, which is not what a linear fault wants.
                if (!corrected.Extrapolated)
                {
                    yield return new PublishedCheck("Sensor correction", $"over {formula} at {C} C, corrected by {low} and {high}",
                        "L. Greenspan, J. Res. NBS 81A (1977) 89-96, table of humidity fixed points", "% RH", humidity, corrected.Value,
                        0.05,
                        Remark: "the sensor reads 1.06 times the truth less 3 (assumed)");
                }
            }
        }

        ReferencePoint Over(string formula) =>
            SensorCorrection.OverSalt(formula, C, Faulty(printed.Single(p => p.Formula == formula).Humidity)).Point!.Value;
    }

    private static double Faulty(double truth) => 1.06 * truth - 3;
}
