namespace RootCellar.Science;

/// <summary>The international foot.</summary>
public static class Foot
{
    /// <summary>Metres in a foot, exact by definition (NIST Handbook 44, Appendix C).</summary>
    public const double Metres = 0.3048;
}

/// <summary>The international inch.</summary>
public static class Inch
{
    /// <summary>Millimetres in an inch, exact by definition (NIST Handbook 44, Appendix C).</summary>
    public const double Millimetres = 25.4;
}
