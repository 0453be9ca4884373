using RootCellar.Science.Air;

namespace RootCellar.Science.Cellar;

/// <summary>
/// Finds when door or vent was opened, from the air alone: it leaves what the shut room would have had, towards outdoors, faster than
/// a shut room can, and comes back. Each opening is a step whose share and time constant are fitted.
/// </summary>
internal static class Openings
{
    // Outdoors must differ by so much for an opening to show, C (assumed).
    private const double LeastApartC = 3;

    // The least way within two steps that no shut room goes, C (assumed), and so many times its noise.
    private const double LeastJumpC = 0.6;
    private const double TimesNoise = 4;

    // An opening is followed for so long at the most, and needs so many readings.
    private const int LongestSteps = 36;
    private const int FewestReadings = 3;

    // So long the vapour is watched coming back, and so far off it must have gone, Pa (assumed: twice what a sensor's noise makes).
    private const int ReturnSteps = 24;
    private const double LeastVapourPa = 25;

    // The figures of one opening are good to this factor (assumed: wind and how far the door stands open).
    private const double OneFactor = 2.5;

    /// <summary>Steps from the last before an opening to the last before the air turns back.</summary>
    public readonly record struct Opening(int Begin, int End, double Share, double Minutes);

    public static List<Opening> Find(RoomRecord record, double[] shut, double noise)
    {
        List<Opening> found = [];
        double[] air = record.AirC;
        for (int i = 2; i < air.Length - FewestReadings; i++)
        {
            double apart = record.OutC[i] - air[i - 2];
            if (!double.IsFinite(apart))
                continue;
            double way = Math.Sign(apart);
            double jump = way * (air[i] - air[i - 2]);
            // Both steps must go that way; what is not a number goes none.
            bool goes = jump >= Math.Max(LeastJumpC, TimesNoise * noise) && jump > way * (air[i - 1] - air[i - 2]);
            if (Math.Abs(apart) < LeastApartC || !goes)
                continue;
            int begin = way * (air[i - 1] - air[i - 2]) > jump / 4 ? i - 2 : i - 1;
            int end = End(air, begin, way);
            if (end - begin >= FewestReadings && Step(record, shut, begin, end) is { } step)
                found.Add(new Opening(begin, end, step.Share, step.Minutes));
            i = end + 2;
        }

        return found;
    }

    public static OpeningResponse Of(List<Opening> found)
    {
        if (found.Count == 0)
            return OpeningResponse.Assumed(RoomDoubt.NeverOpened);
        double factor = Portable.Exp(Portable.Log(OneFactor) / Math.Sqrt(found.Count));
        double share = Median(found.Select(f => f.Share)), minutes = Median(found.Select(f => f.Minutes));
        return new OpeningResponse(
            new Interval(share / factor, share, Math.Min(0.98, share * factor)),
            new Interval(minutes / factor, minutes, minutes * factor),
            found.Count,
            null);
    }

    /// <summary>
    /// The long run of the room left shut: readings are of a room whose door is opened, and its walls and produce have had what came in by
    /// it. In units of what ties the air to walls and produce, outdoors has w / (1 - w) while it is shut, and the more the further the air
    /// goes when it is opened; over the record its mean is what the long run was learned with. Openings that do not show (outdoors too
    /// near)
    /// bring little either.
    /// </summary>
    public static HeatResponse Shut(HeatResponse used, List<Opening> found, double hours)
    {
        if (used.Doubt is not null || found.Count == 0)
            return used;
        double shut = Tie(used.AtOnce.Value), opened = 0;
        foreach (var opening in found)
        {
            double way = Math.Min(0.95, used.AtOnce.Value + ((1 - used.AtOnce.Value) * opening.Share));
            opened += (opening.End - opening.Begin) * RoomRecord.StepHours / hours * Math.Max(0, Tie(way) - shut);
        }

        double end = used.InTheLongRun.Value, mean = shut + opened, inward = mean * (1 - end) / end;
        double factor = shut / (shut + inward) / end;
        return used with
        {
            InTheLongRun = new Interval(
                Math.Max(used.AtOnce.Low, used.InTheLongRun.Low * factor),
                Math.Max(used.AtOnce.Value, end * factor),
                Math.Max(used.AtOnce.Value, used.InTheLongRun.High * factor)),
        };

        static double Tie(double share) => share / (1 - share);
    }

    /// <summary>The last step before the air turns back.</summary>
    private static int End(double[] air, int begin, double way)
    {
        double furthest = 0;
        int end = begin;
        for (int i = begin + 1; i < air.Length && i - begin <= LongestSteps && double.IsFinite(air[i]); i++)
        {
            double gone = way * (air[i] - air[begin]);
            if (gone < 0.75 * furthest)
                break;
            if (gone >= furthest)
                (furthest, end) = (gone, i);
            else if (gone > 0.9 * furthest)
                end = i;
        }

        return end;
    }

    /// <summary>Share and time constant of one opening: the way gone over the way there was, against 1 - exp(-t/tau).</summary>
    private static (double Share, double Minutes)? Step(RoomRecord record, double[] shut, int begin, int end)
    {
        (double Share, double Minutes, double Squares)? best = null;
        double off = record.AirC[begin] - shut[begin];
        for (double minutes = 1.5; minutes <= 90; minutes *= 1.25)
        {
            double up = 0, down = 0, squares = 0;
            for (int pass = 0; pass < 2; pass++)
            {
                for (int i = begin; i <= end; i++)
                {
                    double closed = shut[i] + off;
                    double there = (record.OutC[i] - closed) * (1 - Portable.Exp(-(i - begin) * 60 * RoomRecord.StepHours / minutes));
                    double gone = record.AirC[i] - closed;
                    if (pass == 0)
                        (up, down) = (up + (gone * there), down + (there * there));
                    else
                        squares += (gone - (up / down * there)) * (gone - (up / down * there));
                }
            }

            if (down > 0 && up > 0 && !(squares >= best?.Squares))
                best = (up / down, minutes, squares);
        }

        return best is { Share: > 0.02 and < 1.1 } one ? (Math.Min(one.Share, 0.98), one.Minutes) : null;
    }

    /// <summary>
    /// How fast the vapour comes back once the door is shut, 1/h: each opening is a tracer put into the air, and the excess over the level
    /// before it falls by exp(-r t) (tracer decay, ASTM E741, from memory). Null where fewer than two openings show it.
    /// </summary>
    public static Interval? VapourReturn(RoomRecord record, List<Opening> found)
    {
        List<double> rates = [];
        for (int o = 0; o < found.Count; o++)
        {
            int to = Math.Min(o + 1 < found.Count ? found[o + 1].Begin : record.AirPa.Length, found[o].End + 1 + ReturnSteps);
            if (Decay(record.AirPa, found[o], to) is { } rate)
                rates.Add(Portable.Log(rate));
        }

        if (rates.Count < 2)
            return null;
        double middle = Median(rates), spread = 1.4826 * Median(rates.Select(r => Math.Abs(r - middle)));
        // The median of n is known to about 1.25 standard deviations over the root of n.
        double factor = Portable.Exp(1.645 * 1.25 * Math.Max(spread, 0.2) / Math.Sqrt(rates.Count));
        double perHour = Portable.Exp(middle);
        return new Interval(perHour / factor, perHour, perHour * factor);
    }

    private static double? Decay(double[] vapour, Opening opening, int to)
    {
        double[] before = [.. vapour.Skip(Math.Max(0, opening.Begin - 2)).Take(3).Where(double.IsFinite)];
        int from = opening.End + 1;
        if (before.Length == 0 || to - from < ReturnSteps / 2)
            return null;
        double level = before.Average();
        double first = vapour.Skip(from).Take(3).Where(double.IsFinite).DefaultIfEmpty(level).Average() - level;
        if (Math.Abs(first) < LeastVapourPa)
            return null;
        (double Rate, double Squares)? best = null;
        for (double rate = 0.05; rate < 12; rate *= 1.15)
        {
            double up = 0, down = 0, all = 0;
            for (int i = from; i < to; i++)
            {
                if (double.IsNaN(vapour[i]))
                    continue;
                double left = Portable.Exp(-rate * (i - from) * RoomRecord.StepHours), over = vapour[i] - level;
                (up, down, all) = (up + (over * left), down + (left * left), all + (over * over));
            }

            double squares = all - (up * up / down);
            if (down > 0 && !(squares >= best?.Squares))
                best = (rate, squares);
        }

        return best is { Rate: > 0.051 and < 10 } found ? found.Rate : null;
    }

    private static double Median(IEnumerable<double> values)
    {
        double[] sorted = [.. values.Order()];
        return (sorted[(sorted.Length - 1) / 2] + sorted[sorted.Length / 2]) / 2;
    }
}
