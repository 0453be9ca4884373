namespace RootCellar.Science.Keeping;

/// <summary>
/// By how much a scale reads too high on one day, at every node of the grid of <see cref="ScaleBelief"/>: what the first bin of a lot
/// tells of
/// it the next one is met with. That it goes hand in hand with what is not known of each bin is left out (approximate).
/// </summary>
/// <param name="Day">When the first was weighed, in days since the lot was dug.</param>
/// <param name="Kg">Its middle.</param>
/// <param name="Variance">And its variance, kg squared.</param>
internal sealed record ZeroOfDay(double Day, double[] Kg, double[] Variance)
{
    /// <summary>For so long a zero stands where it stood, days (assumed: an afternoon's weighing).</summary>
    public const double Days = 0.5;

    /// <param name="weighing">The first weighing of the day.</param>
    /// <param name="filledKg">How far the zero may have stood off when its lot was filled, kg; 0 where it was weighed since. Bins of a
    /// lot are
    /// filled on one day: what they lost until they are first weighed is off by both.</param>
    public static ZeroOfDay Unknown(Weighing weighing, double filledKg)
    {
        double[] variance = new double[ScaleBelief.Nodes];
        Array.Fill(variance, (weighing.ZeroUncertaintyKg * weighing.ZeroUncertaintyKg) + (filledKg * filledKg));
        return new ZeroOfDay(weighing.Day, new double[ScaleBelief.Nodes], variance);
    }
}
