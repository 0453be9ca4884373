namespace RootCellar.Science;

/// <summary>The avoirdupois pound.</summary>
public static class Pound
{
    /// <summary>Kilograms in a pound, exact (NIST Handbook 44, Appendix C).</summary>
    public const double Kilograms = 0.45359237;
}
