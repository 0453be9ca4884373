using RootCellar.Pages;
using RootCellar.Science.Air;

namespace RootCellar.Household;

/// <summary>
/// Weights in words no surer than they are: rounded to a step no finer than half their interval and than the scale they were read off.
/// </summary>
internal static class Roughly
{
    /// <summary>"about 340 lb"; what only the book knows has no about.</summary>
    /// <param name="show">The household's words.</param>
    /// <param name="kg">The weight.</param>
    /// <param name="scaleStepKg">Step of the scale it was read off.</param>
    public static string About(this Show show, Interval kg, double scaleStepKg = 0) =>
        kg.High - kg.Low <= 0 ? show.Exact(kg.Value) : Strings.AboutWeight.With(Text(show, kg.Value, kg, Whole, scaleStepKg));

    /// <summary>As <see cref="About"/>, the figure alone: for a table whose heading bears the unit.</summary>
    public static string Bare(this Show show, Interval kg) => Number(
        kg.High - kg.Low <= 0 ? Math.Round(show.WeightOf(kg.Value)) : Whole(show.WeightOf(kg.Value) / Step(show, kg, 0)) * Step(show, kg, 0));

    /// <summary>"at least 310 lb", rounded down; null where the low end says no more than <see cref="About"/> does.</summary>
    public static string? AtLeast(this Show show, Interval kg) => kg.High - kg.Low <= 0
        ? null : Strings.AtLeastWeight.With(Text(show, Math.Max(0, kg.Low), kg, Math.Floor));

    /// <summary>"310 to 360 lb"; null where there is no interval.</summary>
    public static string? Between(this Show show, Interval kg, double scaleStepKg = 0)
    {
        if (kg.High - kg.Low <= 0) return null;
        var step = Step(show, kg, scaleStepKg);
        double low = Math.Floor((show.WeightOf(Math.Max(0, kg.Low)) / step) + 0.02) * step;
        return Strings.BetweenTwo.With(Number(low), Text(show, kg.High, kg, Math.Ceiling, scaleStepKg));
    }

    /// <summary>How much is missing, rounded up, as "25 lb".</summary>
    public static string Missing(this Show show, double missingKg, Interval kg) => Text(show, missingKg, kg, Math.Ceiling);

    /// <summary>A weight of the book, to a tenth, from a hundred on in whole pounds or kg.</summary>
    public static string Exact(this Show show, double kg) =>
        Number(Math.Round(show.WeightOf(kg), show.WeightOf(Math.Abs(kg)) < 99.95 ? 1 : 0)) + "\u00A0" + show.WeightUnit;

    /// <summary>A weight to a tenth, however large: what is to add up in sight.</summary>
    public static string Tenth(this Show show, double kg) => Number(Math.Round(show.WeightOf(kg), 1)) + "\u00A0" + show.WeightUnit;

    /// <summary>A weight to two figures or so: an expectation nobody can hold to more.</summary>
    public static string Rough(this Show show, double kg)
    {
        var value = show.WeightOf(kg);
        var step = value < 1 ? 0.1 : value < 5 ? 0.5 : value < 50 ? 1 : value < 200 ? 5 : 10;
        return Number(Math.Round(value / step) * step) + "\u00A0" + show.WeightUnit;
    }

    private static string Text(Show show, double kg, Interval of, Func<double, double> round, double scaleStepKg = 0)
    {
        var step = Step(show, of, scaleStepKg);
        // What is a whole number of steps but for the book's whole grams stays that.
        var steps = show.WeightOf(kg) / step;
        var whole = Math.Abs(steps - Math.Round(steps)) < 0.02 ? Whole(steps) : round(steps);
        return Number(whole * step) + "\u00A0" + show.WeightUnit;
    }

    private static double Whole(double steps) => Math.Round(steps, MidpointRounding.AwayFromZero);

    private static double Step(Show show, Interval kg, double scaleStepKg) => show.WeightStep((kg.High - kg.Low) / 2, scaleStepKg);

    private static string Number(double value) => Units.Number(value, "#,0.#");

    /// <summary>Both in one: "about 340 lb (320 to 350 lb)".</summary>
    public static string AboutBetween(this Show show, in Interval kg, double scaleStepKg = 0) => show.Between(kg, scaleStepKg) is { } between
        ? Strings.AheadWeightBetween.With(show.About(kg, scaleStepKg), between) : show.About(kg, scaleStepKg);
}
