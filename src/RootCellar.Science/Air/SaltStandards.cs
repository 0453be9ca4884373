namespace RootCellar.Science.Air;

/// <summary>One point of a salt standard.</summary>
/// <param name="RelativeHumidityPercent">Humidity over the damp salt, percent.</param>
/// <param name="UncertaintyPercent">Plus or minus, percent humidity; null where no figure is known.</param>
public readonly record struct SaltPoint(double RelativeHumidityPercent, double? UncertaintyPercent);

/// <summary>A saturated salt that holds the air above it at a known relative humidity.</summary>
public sealed class SaltStandard
{
    private readonly double[] _coefficients;
    private readonly double[]? _uncertaintyEvery5C;

    internal SaltStandard(string name, string formula, double highestC, string? note, double[] coefficients, double[]? uncertaintyEvery5C)
    {
        Name = name;
        Formula = formula;
        HighestC = highestC;
        Note = note;
        _coefficients = coefficients;
        _uncertaintyEvery5C = uncertaintyEvery5C;
    }

    /// <summary>The salt's name.</summary>
    public string Name { get; }

    /// <summary>Its formula.</summary>
    public string Formula { get; }

    /// <summary>Lowest temperature the polynomial is taken for, C.</summary>
    public double LowestC { get; }

    /// <summary>Highest temperature the polynomial is taken for here, C.</summary>
    public double HighestC { get; }

    /// <summary>What to mind when using it; null where nothing.</summary>
    public string? Note { get; }

    /// <summary>Humidity at a temperature; null outside the salt's range.</summary>
    public SaltPoint? At(double temperatureC)
    {
        if (!(temperatureC >= LowestC && temperatureC <= HighestC))
            return null;
        double humidity = 0;
        for (int i = _coefficients.Length - 1; i >= 0; i--)
            humidity = humidity * temperatureC + _coefficients[i];
        return new SaltPoint(humidity, UncertaintyAt(temperatureC));
    }

    private double? UncertaintyAt(double temperatureC)
    {
        if (_uncertaintyEvery5C is null || temperatureC > 30)
            return null;
        double step = temperatureC / 5;
        int below = Math.Min((int)step, _uncertaintyEvery5C.Length - 2);
        double share = step - below;
        return _uncertaintyEvery5C[below] * (1 - share) + _uncertaintyEvery5C[below + 1] * share;
    }
}

/// <summary>
/// Humidity fixed points for checking a humidity sensor in a closed jar over a damp heap of salt.
/// Plain polynomials: no Math functions.
/// </summary>
/// <remarks>
/// Polynomials: L. Greenspan, "Humidity fixed points of binary saturated aqueous solutions", J. Res. NBS 81A(1):89-96
/// (1977), RH = A0 + A1 t + A2 t2 + A3 t3; digits from two transcriptions that agree, not from the printed page. The linear
/// term of LiCl and K2CO3 is positive: copies with a minus are about, and give 10.98 % for LiCl at 20 C against the 11.31 %
/// of the paper's own table. Plus or minus: the paper's estimates at 0, 5 ... 30 C, from memory. Ranges held to what both
/// the paper (from memory) and a cellar need. Badly made salts are off by more than 5 % (Carotenuto and Dell'Isola 1996).
/// </remarks>
public static class SaltStandards
{
    /// <summary>What every point rests on.</summary>
    public const string Source = "Greenspan 1977, J. Res. NBS 81A(1):89-96; the plus-or-minus from memory of its table";

    /// <summary>The salts, driest first.</summary>
    public static IReadOnlyList<SaltStandard> All { get; } =
    [
        new("lithium chloride", "LiCl", 50, "changes hydrate below about 18 C (from memory): not for a cold cellar",
            [11.2323, 0.00824245, -2.14890e-4], [0.54, 0.47, 0.41, 0.35, 0.31, 0.27, 0.24]),
        new("magnesium chloride", "MgCl2", 50, null,
            [33.6686, -0.00797397, -1.08988e-3], [0.33, 0.28, 0.24, 0.21, 0.18, 0.16, 0.14]),
        new("potassium carbonate", "K2CO3", 30, null,
            [43.1315, 0.00147523], [0.66, 0.50, 0.39, 0.33, 0.33, 0.39, 0.50]),
        new("magnesium nitrate", "Mg(NO3)2", 50, null,
            [60.3514, -0.298153], null),
        new("sodium chloride", "NaCl", 50, "table salt without additives",
            [75.5164, 0.0398321, -2.65459e-3, 2.848e-5], [0.34, 0.27, 0.22, 0.18, 0.14, 0.12, 0.11]),
        new("potassium chloride", "KCl", 50, null,
            [88.6190, -0.193340, 8.99706e-4], [0.53, 0.45, 0.39, 0.33, 0.29, 0.26, 0.25]),
        new("potassium nitrate", "KNO3", 50, null,
            [96.3361, 0.0112371, -4.84514e-3], null),
        new("potassium sulphate", "K2SO4", 50, "only at a constant temperature: a drift of 0.1 C wets it",
            [98.7792, -0.0590502], [1.1, 0.91, 0.76, 0.63, 0.53, 0.45, 0.40]),
    ];
}
