using RootCellar.Science.Air;

namespace RootCellar.Science.Cellar;

/// <summary>
/// The kept air of one room and of outdoors in steps of five minutes, oldest first, NaN where nobody measured. Outdoor air is carried
/// across gaps by a straight line; a gap longer than <see cref="LongestGapHours"/> ends the record: what lies before it is left out.
/// </summary>
public sealed class RoomRecord
{
    /// <summary>One step, h.</summary>
    public const double StepHours = 1.0 / 12;

    /// <summary>Longest gap of the outdoor air that is bridged, h (assumed: longer, and the night's low may lie in it).</summary>
    public const double LongestGapHours = 6;

    /// <param name="airC">Air of the room, C.</param>
    /// <param name="airPercent">Its humidity, percent.</param>
    /// <param name="outC">Air outdoors, C.</param>
    /// <param name="outPercent">Its humidity, percent.</param>
    /// <exception cref="ArgumentException">The four differ in length.</exception>
    public RoomRecord(
        IReadOnlyList<double> airC, IReadOnlyList<double> airPercent, IReadOnlyList<double> outC, IReadOnlyList<double> outPercent)
    {
        if (airC.Count != airPercent.Count || airC.Count != outC.Count || airC.Count != outPercent.Count)
            throw new ArgumentException("The four figures must be of the same steps.", nameof(airC));
        // Of a sensor of temperature alone outdoors the heat is learned all the same.
        double[] outside = [.. outC];
        double[] vapour = [.. outC.Select((t, i) => Vapour(t, outPercent[i]))];
        int begin = Bridged(outside);
        int damp = vapour.All(double.IsNaN) ? begin : Math.Max(begin, Bridged(vapour));
        AirC = [.. airC.Skip(begin)];
        AirPa = [.. airC.Select((t, i) => Vapour(t, airPercent[i])).Skip(begin)];
        OutC = outside[begin..];
        OutPa = [.. vapour.Select((pa, i) => i < damp ? double.NaN : pa).Skip(begin)];
    }

    internal double[] AirC { get; }

    internal double[] AirPa { get; }

    internal double[] OutC { get; }

    internal double[] OutPa { get; }

    /// <summary>Hours in which both the room and outdoors were measured.</summary>
    public double Hours => AirC.Where((t, i) => double.IsFinite(t) && double.IsFinite(OutC[i])).Count() * StepHours;

    private static double Vapour(double c, double percent) =>
        c is >= -40 and <= 60 && percent is >= 0 and <= 110 ? MoistAir.VapourPressurePa(c, percent) : double.NaN;

    /// <summary>Fills short gaps; from where on there is none left.</summary>
    private static int Bridged(double[] values)
    {
        int begin = values.Length, last = -1;
        for (int i = 0; i < values.Length; i++)
        {
            if (double.IsNaN(values[i]))
                continue;
            if (last < 0 || (i - last) * StepHours > LongestGapHours)
                begin = i;
            for (int gap = last + 1; last >= begin && gap < i; gap++)
                values[gap] = values[last] + ((values[i] - values[last]) * (gap - last) / (i - last));
            last = i;
        }

        return begin;
    }
}
