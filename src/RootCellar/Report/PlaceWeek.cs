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
/// The week's air of a place against the limits in force. The kept air has one row for five minutes; a row speaks for up to half an hour
/// where the next are missing, and what is longer is unmeasured.
/// </summary>
/// <param name="InForce">What was in force at the end; null where nothing is judged.</param>
/// <param name="Temperature">C; null where nothing was measured.</param>
/// <param name="Humidity">%.</param>
/// <param name="UnmeasuredHours">Hours in which temperature or humidity was not known.</param>
/// <param name="MeanDeficitPa">Mean vapour pressure deficit; null where not known.</param>
/// <param name="LotsLostKg">Water and breath that the lots here lost in the week.</param>
/// <param name="WaterCostKg">What of it dry air cost, against air in the middle of each crop's band.</param>
/// <param name="BreathCostKg">And warmth.</param>
internal sealed record PlaceWeek(
    Place Place, Band? InForce, FigureWeek? Temperature, FigureWeek? Humidity, double Hours, double UnmeasuredHours,
    double? MeanDeficitPa, double? HighestCo2Ppm,
    WorstMoment? Worst, double LotsLostKg, double WaterCostKg, double BreathCostKg, IReadOnlyList<string> Lots)
{
    public ClimateBand? Band => InForce?.Air;

    public double CostKg => WaterCostKg + BreathCostKg;

    public static PlaceWeek Of(
        SqliteConnection connection, Place place, IReadOnlyList<(DateTimeOffset From, DateTimeOffset To, Band Band)> bands,
        DateTimeOffset from, DateTimeOffset to, IReadOnlyList<Piece> pieces)
    {
        long first = TimeStep.Of(from), end = TimeStep.Of(to);
        var rows = PlaceRows.Air(connection, place.Id, TimeStep.At(first - PlaceAirRecord.HeldCells), to);
        OutOfBand Count(Func<PlaceAir, double?> figure, Func<Band, (double Low, double High)> limits)
        {
            var measured = new Dictionary<long, double>();
            foreach (var air in rows)
            {
                if (figure(air) is { } value) measured[TimeStep.Of(air.At)] = value;
            }

            return new OutOfBand(
                first, end, measured, [.. bands.Select(b => limits(b.Band) is var (low, high) ? (b.From, b.To, low, high) : default)]);
        }

        var counted = (Temperature: Count(a => a.TemperatureC, LimitsOf.Temperature),
            Humidity: Count(a => a.RelativeHumidityPercent, LimitsOf.Humidity));
        var (temperature, humidity) = (Made(counted.Temperature), Made(counted.Humidity));
        var here = pieces.Where(p => p.Place == place.Id).ToList();
        var inWeek = rows.Where(r => TimeStep.Of(r.At) >= first).GroupBy(r => TimeStep.Of(r.At)).Select(g => g.Last()).ToList();
        var deficits = inWeek.Select(a => a.VapourPressureDeficitPa).OfType<double>().ToList();
        return new PlaceWeek(
            place, bands.Count == 0 ? null : bands[^1].Band, temperature, humidity, (end - first) * TimeStep.Hours,
            counted.Temperature.Unknown(counted.Humidity) * TimeStep.Hours, deficits.Count == 0 ? null : deficits.Average(),
            inWeek.Max(a => a.Co2Ppm),
            Furthest(temperature, humidity), here.Sum(p => p.WaterKg + p.BreathKg), here.Sum(p => p.WaterKg - p.IdealWaterKg),
            here.Sum(p => p.BreathKg - p.IdealBreathKg),
            [.. here.Select(p => p.Lot).Distinct(StringComparer.Ordinal).Order(StringComparer.Ordinal)]);
    }

    /// <summary>What went furthest beyond its limit: 5 C and 15 % are taken to be as bad as each other (assumed).</summary>
    private static WorstMoment? Furthest(FigureWeek? temperature, FigureWeek? humidity)
    {
        (Measure Measure, bool Above, Beyond? Beyond, double Scale)[] all =
        [
            (Measure.Air, true, temperature?.Above, 5), (Measure.Air, false, temperature?.Below, 5),
            (Measure.Humidity, true, humidity?.Above, 15), (Measure.Humidity, false, humidity?.Below, 15),
        ];
        var worst = all.Where(a => a.Beyond is not null).OrderByDescending(a => Math.Abs(a.Beyond!.Worst - a.Beyond.Limit) / a.Scale)
            .FirstOrDefault();
        return worst.Beyond is { } b ? new WorstMoment(worst.Measure, worst.Above, b.Worst, b.Limit, b.At) : null;
    }

    private static FigureWeek? Made(OutOfBand figure) =>
        figure.Count == 0 ? null : new FigureWeek(figure.Least, figure.Mean, figure.Most, Side(figure.Above), Side(figure.Below));

    private static Beyond? Side(OutSide side) => side.Count == 0
        ? null : new Beyond(side.Count * TimeStep.Hours, side.Worst, side.Limit, TimeStep.At(side.At));
}
