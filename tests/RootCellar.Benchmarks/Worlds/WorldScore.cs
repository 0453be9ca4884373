namespace RootCellar.Benchmarks.Worlds;

/// <summary>An estimate held against the truth.</summary>
/// <param name="DaysToNext">Until the bin is weighed next; null after the last time.</param>
/// <param name="DaysSince">Since it was last weighed, 1 at the next midnight; null before the first time.</param>
internal sealed record Judged(WorldBin Bin, int Day, Estimate Told, double TruthKg, int? DaysToNext, int? DaysSince)
{
    public bool Held => TruthKg >= Told.LowKg && TruthKg <= Told.HighKg;

    public double ErrorPercent => 100 * (Told.Kg - TruthKg) / TruthKg;

    public double WidthPercent => 100 * (Told.HighKg - Told.LowKg) / TruthKg;

    /// <summary>
    /// Pinball loss of the three quantiles that are given, 5, 50 and 95 %, in percent of the weight: a proper score, least for who gives
    /// the quantiles as he believes them.
    /// </summary>
    public double PinballPercent =>
        100 * (Pinball(0.05, Told.LowKg) + Pinball(0.5, Told.Kg) + Pinball(0.95, Told.HighKg)) / 3 / TruthKg;

    private double Pinball(double share, double quantile) =>
        TruthKg >= quantile ? share * (TruthKg - quantile) : (1 - share) * (quantile - TruthKg);
}

/// <summary>What many of them come to.</summary>
/// <param name="HeldPercent">How many 90 % intervals held the truth.</param>
/// <param name="ErrorPercent">Standard error of that: the bin-days of a lot are in or out together, so lots are what is counted.</param>
/// <param name="Below">The truth was under the interval, of a hundred.</param>
/// <param name="Above">And over it.</param>
/// <param name="MedianError">Median distance of the estimate, % of the weight.</param>
/// <param name="MedianSigned">Median of estimate less truth, % of the weight.</param>
/// <param name="Width">Mean width of the interval, % of the weight.</param>
internal sealed record WorldScore(int Count, double HeldPercent, double ErrorPercent, double Below, double Above,
    double MedianError, double MedianSigned, double Width, double Pinball)
{
    public const double LeastPercent = 85, MostPercent = 96;

    public bool IsWanted => HeldPercent is >= LeastPercent and <= MostPercent;

    public static WorldScore? Of(IEnumerable<Judged> all)
    {
        var judged = all.ToList();
        if (judged.Count == 0) return null;
        double held = (double)judged.Count(j => j.Held) / judged.Count;
        double squares = judged.GroupBy(j => j.Bin.Lot).Sum(l => Math.Pow(l.Count(j => j.Held) - (held * l.Count()), 2));
        return new WorldScore(
            judged.Count, 100 * held, 100 * Math.Sqrt(squares) / judged.Count,
            100.0 * judged.Count(j => j.TruthKg < j.Told.LowKg) / judged.Count,
            100.0 * judged.Count(j => j.TruthKg > j.Told.HighKg) / judged.Count,
            Median(judged.Select(j => Math.Abs(j.ErrorPercent))), Median(judged.Select(j => j.ErrorPercent)),
            judged.Average(j => j.WidthPercent), judged.Average(j => j.PinballPercent));
    }

    /// <summary>Every estimate of a world.</summary>
    public static List<Judged> Judge(WorldSeason season, IReadOnlyDictionary<(string Bin, int Day), Estimate> told)
    {
        var judged = new List<Judged>();
        foreach (var bin in season.Bins)
        {
            for (int day = 0; day < WorldAir.Days; day++)
            {
                if (double.IsNaN(bin.AtMidnight[day])) continue;
                if (!told.TryGetValue((bin.Name, day), out var estimate))
                    throw new InvalidOperationException($"The export has no bin {bin.Name} on day {day}.");
                // Weighed half an hour after a midnight: that midnight is the last moment before it.
                int? next = bin.WeighedDays.Where(d => d >= day).Select(d => (int?)(d - day)).Min();
                int? since = bin.WeighedDays.Where(d => d < day).Select(d => (int?)(day - d)).Min();
                judged.Add(new Judged(bin, day, estimate, bin.AtMidnight[day], next, since));
            }
        }

        return judged;
    }

    private static double Median(IEnumerable<double> values)
    {
        var sorted = values.Order().ToList();
        return (sorted[(sorted.Count - 1) / 2] + sorted[sorted.Count / 2]) / 2;
    }
}
