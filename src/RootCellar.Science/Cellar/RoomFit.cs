using RootCellar.Science.Air;

namespace RootCellar.Science.Cellar;

/// <summary>
/// Learns how one room answers to outdoors: a grey box with a fast air and one slow mass for heat, one box for vapour. Both are linear in
/// all but one time constant, which is searched for; the rest is least squares. No chance, no clock.
/// </summary>
public static class RoomFit
{
    /// <summary>Fewest hours of room and outdoors together (assumed: two whole days and nights).</summary>
    public const double FewestHours = 48;

    // 90 % of a normal distribution.
    private const double Z90 = 1.645;

    // Outdoor air must have moved so much (standard deviation) to be told from noise: C and Pa (assumed).
    private const double LeastSpreadC = 1;
    private const double LeastSpreadPa = 40;

    // A share or rate known to no better than this factor is not called learned (assumed).
    private const double WorstFactor = 3;

    // Boards and walls that take up vapour slow it down as more air would: the air changes are 1 to 3 times what it looks (assumed; wood
    // and soil hold more vapour than the air about them).
    private static readonly Interval BoardsTake = new(1, 1.5, 3);

    // A wall is many masses one behind the other, and one stands for all: the long run is good to this factor at best (assumed).
    private const double OneMassFactor = 1.5;

    // Steps that lie further off than so many robust standard deviations are another thing than a shut room: a door, a lamp, a load.
    private const double OffBy = 3.5;

    /// <summary>The response of the room of a record; what its readings do not tell is assumed and said to be.</summary>
    public static RoomResponse Of(RoomRecord record)
    {
        ArgumentNullException.ThrowIfNull(record);
        if (record.Hours == 0)
            return RoomResponse.Assumed(RoomDoubt.NoOutdoorAir);
        if (record.Hours < FewestHours)
            return RoomResponse.Assumed(RoomDoubt.TooFewHours, record.Hours);
        double[] ones = [.. record.OutC.Select(_ => 1.0)];
        var heat = Search(
            record.AirC, record.OutC, LeastSpreadC, 3, Math.Min(240, record.OutC.Length * RoomRecord.StepHours / 2),
            hours => [record.OutC, Lagged(record.OutC, hours), ones, Fading(record.OutC.Length, hours)]);
        if (heat is null)
            return RoomResponse.Assumed(RoomDoubt.DoesNotTell, record.Hours);
        var openings = Openings.Find(record, heat.Shut, heat.Noise);
        return new RoomResponse(
            record.Hours, Openings.Shut(HeatOf(heat), openings, record.Hours), Leak(record, openings), Openings.Of(openings));
    }

    private static AirLeak Leak(RoomRecord record, List<Openings.Opening> openings)
    {
        if (!record.AirPa.Any(double.IsFinite) || !record.OutPa.Any(double.IsFinite))
            return AirLeak.Assumed(RoomDoubt.NoHumidity);
        if (Openings.VapourReturn(record, openings) is not { } rate)
            return AirLeak.Assumed(openings.Count == 0 ? RoomDoubt.NeverOpened : RoomDoubt.DoesNotTell);
        double[] wet = [.. record.AirC.Select((t, i) => double.IsFinite(t) ? Saturation.OverWaterPa(Math.Clamp(t, -40, 60)) : double.NaN)];
        Hold(wet);
        // Only the shut room tells its share of outdoors.
        double[] shut = [.. record.AirPa];
        foreach (var opening in openings)
        {
            int back = Math.Min(shut.Length, opening.End + (int)(2 / rate.Value / RoomRecord.StepHours));
            Array.Fill(shut, double.NaN, opening.Begin, back - opening.Begin);
        }

        double hours = 1 / rate.Value;
        var vapour = Search(
            shut, record.OutPa, LeastSpreadPa, hours, hours,
            h => [Lagged(record.OutPa, h), [.. record.OutC.Select(_ => 1.0)], Lagged(wet, h)]);
        return vapour is null ? AirLeak.Assumed(RoomDoubt.DoesNotTell) : LeakOf(vapour, rate);
    }

    private static HeatResponse HeatOf(Model m)
    {
        double w = m.Weights[0], sure = Z90 * Math.Sqrt(m.Covariance[0, 0]);
        double end = w + m.Weights[1];
        double endSure = Z90 * Math.Sqrt(Math.Max(0, m.Covariance[0, 0] + m.Covariance[1, 1] + (2 * m.Covariance[0, 1])));
        if (!(w > 0 && end > 0.01 && end < 1.2 && sure < Math.Max(0.02, w) && endSure < end && m.Factor < WorstFactor * WorstFactor))
            return HeatResponse.Assumed(RoomDoubt.DoesNotTell);
        double least = Math.Max(0.002, w - sure);
        double lowEnd = Math.Max(0.2 * end, end - endSure) / OneMassFactor, highEnd = (end + endSure) * OneMassFactor;
        return new HeatResponse(
            new Interval(least, w, Math.Min(1, w + sure)),
            new Interval(Math.Max(least, lowEnd), Math.Clamp(end, w, 1), Math.Clamp(highEnd, w, 1)),
            new Interval(m.Hours / m.Factor, m.Hours, m.Hours * m.Factor),
            null);
    }

    // v follows its sources with a rate of r; of those, outdoors has the share g: so g r air changes an hour.
    private static AirLeak LeakOf(Model m, Interval rate)
    {
        double share = m.Weights[0], sure = Z90 * Math.Sqrt(m.Covariance[0, 0]);
        if (!(share > 0.01 && share < 1.2 && sure < share * (WorstFactor - 1)))
            return AirLeak.Assumed(RoomDoubt.DoesNotTell);
        double ofShare = Portable.Log(1 + (sure / share)), ofRate = Portable.Log(rate.High / rate.Value);
        double factor = Portable.Exp(Math.Sqrt((ofShare * ofShare) + (ofRate * ofRate)));
        double n = Math.Min(share, 1) * rate.Value;
        return new AirLeak(
            new Interval(n / factor, n * BoardsTake.Value, n * factor * BoardsTake.High),
            new Interval(rate.Low, rate.Value * BoardsTake.Value, rate.High * BoardsTake.High),
            null);
    }

    /// <param name="Factor">Of the time constant, either way, nine times in ten.</param>
    /// <param name="Covariance">Of the weights and, last, of the logarithm of the time constant.</param>
    /// <param name="Shut">What the shut room would have read.</param>
    /// <param name="Noise">Robust standard deviation of the readings about it.</param>
    private sealed record Model(double Hours, double Factor, double[] Weights, double[,] Covariance, double[] Shut, double Noise);

    private static Model? Search(
        double[] y, double[] outside, double leastSpread, double fromHours, double toHours, Func<double, double[][]> columns)
    {
        bool[] used = [.. y.Select((v, i) => double.IsFinite(v) && double.IsFinite(outside[i]))];
        if (used.Count(u => u) * RoomRecord.StepHours < FewestHours || Spread(outside, used) < leastSpread)
            return null;
        // What is not used must not spoil the sums of the columns.
        double[] filled = [.. y.Select(v => double.IsFinite(v) ? v : 0)];
        double hours = 0, noise = 0;
        for (int pass = 0; pass < 3; pass++)
        {
            hours = Best(fromHours, toHours, h => LeastSquares.Squares(Left(h)));
            double[] left = [.. Left(hours).Where(double.IsFinite).Select(Math.Abs).Order()];
            noise = Math.Max(1.4826 * left[left.Length / 2], 1e-6);
            double[] all = LeastSquares.Residuals(columns(hours), Weights(hours), filled, [.. used.Select(_ => true)]);
            if (pass < 2)
                used = [.. all.Select((r, i) => double.IsFinite(y[i]) && double.IsFinite(outside[i]) && Math.Abs(r) <= OffBy * noise)];
        }

        double[][] now = columns(hours);
        double[] weights = Weights(hours), residuals = Left(hours);
        // The time constant is a weight like the others as far as doubt goes: its column is what the model changes by.
        const double Nudge = 0.02;
        double[][] longer = columns(hours * (1 + Nudge));
        double[] slope =
            [.. filled.Select((_, i) => weights.Select((w, c) => w * (longer[c][i] - now[c][i])).Sum() / Portable.Log(1 + Nudge))];
        var covariance = LeastSquares.Covariance([.. now, slope], residuals, used);
        double factor = Portable.Exp(Math.Min(50, Z90 * Math.Sqrt(Math.Max(0, covariance[weights.Length, weights.Length]))));
        double[] shut = [.. filled.Select((_, i) => weights.Select((w, c) => w * now[c][i]).Sum())];
        return new Model(hours, factor, weights, covariance, shut, noise);

        double[] Weights(double h) => LeastSquares.Solve(columns(h), filled, used);
        double[] Left(double h) => LeastSquares.Residuals(columns(h), Weights(h), filled, used);
    }

    /// <summary>The least of a function of a time constant: a coarse row of them, then the golden section about the best.</summary>
    private static double Best(double from, double to, Func<double, double> cost)
    {
        const int Row = 16;
        double step = Portable.Log(to / from) / Row;
        int best = Enumerable.Range(0, Row + 1).MinBy(i => cost(from * Portable.Exp(i * step)));
        double low = Portable.Log(from) + (Math.Max(0, best - 1) * step), high = Portable.Log(from) + (Math.Min(Row, best + 1) * step);
        for (int i = 0; i < 9; i++)
        {
            double a = high - (0.618 * (high - low)), b = low + (0.618 * (high - low));
            if (cost(Portable.Exp(a)) < cost(Portable.Exp(b)))
                high = b;
            else
                low = a;
        }

        return Portable.Exp((low + high) / 2);
    }

    /// <summary>What follows the input with a time constant, from its first value on.</summary>
    private static double[] Lagged(double[] input, double hours)
    {
        double keep = Portable.Exp(-RoomRecord.StepHours / hours);
        var lagged = new double[input.Length];
        double at = double.NaN;
        for (int i = 0; i < input.Length; i++)
        {
            if (double.IsFinite(input[i]))
                at = double.IsNaN(at) ? input[i] : (keep * at) + ((1 - keep) * input[i]);
            lagged[i] = double.IsNaN(at) ? 0 : at;
        }

        return lagged;
    }

    // Whatever the mass was before the record begins fades like this.
    private static double[] Fading(int count, double hours) =>
        [.. Enumerable.Range(0, count).Select(i => Portable.Exp(-i * RoomRecord.StepHours / hours))];

    private static void Hold(double[] values)
    {
        for (int i = 1; i < values.Length; i++)
        {
            if (double.IsNaN(values[i]))
                values[i] = values[i - 1];
        }
    }

    private static double Spread(double[] values, bool[] used)
    {
        double[] there = [.. values.Where((_, i) => used[i])];
        double mean = there.Average();
        return Math.Sqrt(there.Sum(v => (v - mean) * (v - mean)) / there.Length);
    }
}
