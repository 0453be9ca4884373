using Microsoft.Data.Sqlite;
using RootCellar.Lots;
using RootCellar.Places;
using RootCellar.Watch;

namespace RootCellar.Report;

/// <summary>Time beyond one limit, and the furthest it went.</summary>
/// <param name="Worst">In the unit of the figure.</param>
/// <param name="Limit">What was in force then.</param>
internal sealed record Beyond(double Hours, double Worst, double Limit, DateTimeOffset At);

/// <summary>One figure of a place over the week.</summary>
/// <param name="Above">Null where it was never above.</param>
internal sealed record FigureWeek(double Low, double Mean, double High, Beyond? Above, Beyond? Below)
{
    public double HoursOut => (Above?.Hours ?? 0) + (Below?.Hours ?? 0);
}

/// <summary>The worst moment of a place's week: what, how far and when.</summary>
internal sealed record WorstMoment(Measure Measure, bool IsAbove, double Value, double Limit, DateTimeOffset At);

/// <summary>
/// The week's air of a place against the limits in force. The kept air has one row for five minutes; a row speaks for up to half an hour where the
/// next are missing, and what is longer is unmeasured.
/// </summary>
/// <param name="Band">What was in force at the end; null where nothing is judged.</param>
/// <param name="Temperature">C; null where nothing was measured.</param>
/// <param name="Humidity">%.</param>
/// <param name="UnmeasuredHours">Hours in which temperature or humidity was not known.</param>
/// <param name="MeanDeficitPa">Mean vapour pressure deficit; null where not known.</param>
/// <param name="LotsLostKg">Water and breath that the lots here lost in the week.</param>
/// <param name="WaterCostKg">What of it dry air cost, against air in the middle of each crop's band.</param>
/// <param name="BreathCostKg">And warmth.</param>
internal sealed record PlaceWeek(
    Place Place, ClimateBand? Band, FigureWeek? Temperature, FigureWeek? Humidity, double Hours, double UnmeasuredHours, double? MeanDeficitPa, double? HighestCo2Ppm,
    WorstMoment? Worst, double LotsLostKg, double WaterCostKg, double BreathCostKg, IReadOnlyList<string> Lots)
{
    public double CostKg => WaterCostKg + BreathCostKg;

    public static PlaceWeek Of(
        SqliteConnection connection, Place place, IReadOnlyList<(DateTimeOffset From, DateTimeOffset To, Band Band)> bands, DateTimeOffset from, DateTimeOffset to, IReadOnlyList<Piece> pieces)
    {
        long first = Cells.Of(from), end = Cells.Of(to);
        var rows = new Dictionary<long, PlaceAir>();
        foreach (var air in PlaceRows.Air(connection, place.Id, Cells.At(first - PlaceAirRecord.HeldCells), to)) rows[Cells.Of(air.At)] = air;
        var temperature = new Gather(first, end, rows, a => a.TemperatureC, bands, b => (b.Air.TemperatureLowC, b.Air.TemperatureHighC));
        var humidity = new Gather(
            // Roots can hardly have too much short of dew: there nothing is too wet.
            first, end, rows, a => a.RelativeHumidityPercent, bands, b => (b.Air.HumidityLowPercent, b.KeptDry ? b.Air.HumidityHighPercent : double.PositiveInfinity));
        var here = pieces.Where(p => p.Place == place.Id).ToList();
        var inWeek = rows.Where(r => r.Key >= first).Select(r => r.Value).ToList();
        var deficits = inWeek.Select(a => a.VapourPressureDeficitPa).OfType<double>().ToList();
        return new PlaceWeek(
            place, bands.Count == 0 ? null : bands[^1].Band.Air, temperature.Made, humidity.Made, (end - first) * Cells.Hours,
            temperature.Unknown(humidity) * Cells.Hours, deficits.Count == 0 ? null : deficits.Average(), inWeek.Max(a => a.Co2Ppm),
            Furthest(temperature.Made, humidity.Made), here.Sum(p => p.WaterKg + p.BreathKg), here.Sum(p => p.WaterKg - p.IdealWaterKg), here.Sum(p => p.BreathKg - p.IdealBreathKg),
            [.. here.Select(p => p.Lot).Distinct(StringComparer.Ordinal).Order(StringComparer.Ordinal)]);
    }

    /// <summary>What went furthest beyond its limit: 5 C and 15 % are taken to be as bad as each other (assumed).</summary>
    private static WorstMoment? Furthest(FigureWeek? temperature, FigureWeek? humidity)
    {
        (Measure Measure, bool Above, Beyond? Beyond, double Scale)[] all =
        [
            (Measure.Air, true, temperature?.Above, 5), (Measure.Air, false, temperature?.Below, 5), (Measure.Humidity, true, humidity?.Above, 15), (Measure.Humidity, false, humidity?.Below, 15),
        ];
        var worst = all.Where(a => a.Beyond is not null).OrderByDescending(a => Math.Abs(a.Beyond!.Worst - a.Beyond.Limit) / a.Scale).FirstOrDefault();
        return worst.Beyond is { } b ? new WorstMoment(worst.Measure, worst.Above, b.Worst, b.Limit, b.At) : null;
    }

    private sealed class Gather
    {
        private readonly bool[] known;

        public Gather(
            long first, long end, Dictionary<long, PlaceAir> rows, Func<PlaceAir, double?> figure, IReadOnlyList<(DateTimeOffset From, DateTimeOffset To, Band Band)> bands,
            Func<Band, (double Low, double High)> limits)
        {
            known = new bool[Math.Max(0, end - first)];
            double low = double.PositiveInfinity, high = double.NegativeInfinity, sum = 0;
            int count = 0, b = 0;
            (long Count, double Worst, double Limit, long At) above = (0, 0, 0, 0), below = (0, 0, 0, 0);
            long last = long.MinValue / 2;
            double value = 0;
            for (long cell = first - PlaceAirRecord.HeldCells; cell < end; cell++)
            {
                if (rows.TryGetValue(cell, out var air) && figure(air) is { } measured) (last, value) = (cell, measured);
                if (cell < first || cell - last > PlaceAirRecord.HeldCells) continue;
                known[cell - first] = true;
                (low, high, sum, count) = (Math.Min(low, value), Math.Max(high, value), sum + value, count + 1);
                var at = Cells.At(cell);
                while (b < bands.Count && bands[b].To <= at) b++;
                if (b == bands.Count || bands[b].From > at) continue;
                var (least, most) = limits(bands[b].Band);
                if (value > most) above = above.Count == 0 || value - most > above.Worst - above.Limit ? (above.Count + 1, value, most, cell) : (above.Count + 1, above.Worst, above.Limit, above.At);
                if (value < least) below = below.Count == 0 || least - value > below.Limit - below.Worst ? (below.Count + 1, value, least, cell) : (below.Count + 1, below.Worst, below.Limit, below.At);
            }

            Made = count == 0 ? null : new FigureWeek(low, sum / count, high, Of(above), Of(below));
        }

        public FigureWeek? Made { get; }

        public int Unknown(Gather other) => known.Where((k, i) => !k || !other.known[i]).Count();

        private static Beyond? Of((long Count, double Worst, double Limit, long At) side) =>
            side.Count == 0 ? null : new Beyond(side.Count * Cells.Hours, side.Worst, side.Limit, Cells.At(side.At));
    }
}
