
namespace RootCellar.Lots;

/// <summary>Time on one side of the limits, and the furthest it went.</summary>
internal readonly record struct OutSide(long Count, double Worst, double Limit, long At);

/// <summary>
/// One figure of a place against the limits in force, counted on the five-minute record: the one count of time out of band, whatever is
/// drawn. A row speaks for up to half an hour where the next are missing; what is longer is not known, and not counted.
/// </summary>
internal sealed class OutOfBand
{
    private readonly bool[] known;

    /// <param name="first">The first piece of five minutes.</param>
    /// <param name="end">The end, which is no part of it.</param>
    /// <param name="rows">What was measured, by piece; from <see cref="PlaceAirRecord.HeldCells"/> before the first.</param>
    /// <param name="limits">In the order of time.</param>
    public OutOfBand(
        long first, long end, IReadOnlyDictionary<long, double> rows,
        IReadOnlyList<(DateTimeOffset From, DateTimeOffset To, double Low, double High)> limits)
    {
        known = new bool[Math.Max(0, end - first)];
        int b = 0;
        OutSide above = default, below = default;
        long last = long.MinValue / 2;
        double value = 0, sum = 0;
        for (long cell = first - PlaceAirRecord.HeldCells; cell < end; cell++)
        {
            if (rows.TryGetValue(cell, out var measured)) (last, value) = (cell, measured);
            if (cell < first || cell - last > PlaceAirRecord.HeldCells) continue;
            known[cell - first] = true;
            (Least, Most, sum, Count) = (Math.Min(Least, value), Math.Max(Most, value), sum + value, Count + 1);
            var at = TimeStep.At(cell);
            while (b < limits.Count && limits[b].To <= at) b++;
            if (b == limits.Count || limits[b].From > at) continue;
            var (_, _, low, high) = limits[b];
            if (value > high) above = Further(above, value, high, cell, value - high > above.Worst - above.Limit);
            if (value < low) below = Further(below, value, low, cell, low - value > below.Limit - below.Worst);
        }

        (Above, Below, Mean) = (above, below, Count == 0 ? double.NaN : sum / Count);
    }

    public double Least { get; private set; } = double.PositiveInfinity;

    public double Most { get; private set; } = double.NegativeInfinity;

    public double Mean { get; }

    /// <summary>Pieces in which the figure was known.</summary>
    public int Count { get; private set; }

    public OutSide Above { get; }

    public OutSide Below { get; }

    public double Hours => (Above.Count + Below.Count) * TimeStep.Hours;

    /// <summary>Pieces in which one of the two was not known.</summary>
    public int Unknown(OutOfBand other) => known.Where((k, i) => !k || !other.known[i]).Count();

    private static OutSide Further(OutSide side, double value, double limit, long cell, bool further) =>
        side.Count == 0 || further ? new OutSide(side.Count + 1, value, limit, cell) : side with { Count = side.Count + 1 };
}
