using RootCellar.Science.Keeping;

namespace RootCellar.Science.Tests.Keeping;

/// <summary>A published loss beside what is foretold of it.</summary>
/// <param name="Low">Five lots in a hundred lose less, percent.</param>
/// <param name="High">Five lots in a hundred lose more, percent.</param>
internal record Foretold(Seen Seen, double Low, double Middle, double High)
{
    /// <summary>ln(ours/published); of a limit, only what lies above it.</summary>
    public double Error => Seen.AtMost ? Math.Max(0, Math.Log(Middle / Seen.LossPercent)) : Math.Log(Middle / Seen.LossPercent);

    /// <summary>Whether the interval holds it; of a limit, whether any of the interval does.</summary>
    public bool Inside => Low <= Seen.LossPercent && (Seen.AtMost || Seen.LossPercent <= High);
}

/// <summary>What the law says of a trial that was fitted without the trial's source.</summary>
internal sealed record LeftOutFigure(StorageTrial Trial, Seen Seen, double Low, double Middle, double High) : Foretold(Seen, Low, Middle, High);

/// <summary>How good forecasts are.</summary>
/// <param name="Count">How many there are, limits too.</param>
/// <param name="MedianRatio">Ours over published, the median.</param>
/// <param name="Inside">How many are inside the 90 % interval.</param>
/// <param name="Pinball">Mean pinball loss of ln(loss) at 5, 50 and 95 %: a proper score, less is better.</param>
internal sealed record ForetoldScore(int Count, double MedianRatio, int Inside, double Pinball)
{
    public double ShareInside => (double)Inside / Count;

    private const double Z95 = 1.6448536269514722;

    public static ForetoldScore Of(IReadOnlyCollection<Foretold> figures)
    {
        Foretold[] numbers = [.. figures.Where(f => !f.Seen.AtMost)];
        double[] ratios = [.. numbers.Select(f => f.Middle / f.Seen.LossPercent).Order()];
        double median = Math.Sqrt(ratios[(ratios.Length - 1) / 2] * ratios[ratios.Length / 2]);
        double pinball = numbers.Average(f =>
        {
            double seen = Math.Log(f.Seen.LossPercent);
            return (Loss(0.05, seen - Math.Log(f.Low)) + Loss(0.5, seen - Math.Log(f.Middle)) + Loss(0.95, seen - Math.Log(f.High))) / 3;
        });
        return new ForetoldScore(figures.Count, median, figures.Count(f => f.Inside), pinball);
    }

    /// <summary>What a lognormal forecast of a 5 to 95 % factor scores on the mean if it is right: 0.202 standard deviations.</summary>
    public static double PinballOfWidth(double factor90)
    {
        double Density(double z) => Math.Exp(-z * z / 2) / Math.Sqrt(2 * Math.PI);
        return Math.Log(factor90) / Z95 * (Density(0) + 2 * Density(Z95)) / 3;
    }

    private static double Loss(double quantile, double above) => above > 0 ? quantile * above : (quantile - 1) * above;
}
