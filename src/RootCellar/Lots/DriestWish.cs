namespace RootCellar.Lots;

/// <summary>
/// What is kept in one place may want the air drier than something else there needs it, such as onions that cure beside potatoes:
/// such a place is not made damp, whoever judges it.
/// </summary>
internal static class DriestWish
{
    /// <summary>The humidity of a place in which nothing wants it dry, %.</summary>
    private const double Any = 100;

    /// <summary>The most humidity that the crop bears which wants it driest, %.</summary>
    /// <param name="mostPercent">The upper end of every crop's band there.</param>
    public static double Percent(IEnumerable<double> mostPercent) => mostPercent.DefaultIfEmpty(Any).Min();

    /// <summary>Whether air of a humidity that is wanted there would be too damp for it.</summary>
    /// <param name="driestPercent">As above.</param>
    /// <param name="wantedPercent">The least humidity that something else there needs.</param>
    public static bool Forbids(double driestPercent, double wantedPercent) => driestPercent < wantedPercent;
}
