using RootCellar.Science;

namespace RootCellar.Ledger;

/// <summary>How fine the scale is that a weigh-in was read off.</summary>
internal static class ScaleStep
{
    /// <summary>Where neither the entry nor its figure says more, kg (assumed: a household's digital scale).</summary>
    public const double AssumedKg = 0.1;

    /// <summary>
    /// The step as given; else read off the figure: whole and half pounds or kilograms are taken for a hanging scale good to a half
    /// (assumed: it shows nothing else, and a finer scale does so one time in five); no finer than <see cref="AssumedKg"/>.
    /// </summary>
    public static double Of(double? givenKg, in Amount amount)
    {
        if (givenKg is { } given) return given;
        double unitKg = amount.Unit switch { null or "kg" => 1, "lb" => Pound.Kilograms, _ => 0 };
        return unitKg > 0 && IsWhole(2 * amount.Units) ? unitKg / 2 : AssumedKg;
    }

    private static bool IsWhole(double value) => Math.Abs(value - Math.Round(value)) < 1e-6;
}
