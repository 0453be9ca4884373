using Microsoft.Data.Sqlite;
using RootCellar.Readings;
using RootCellar.Storage;

namespace RootCellar.Places;

/// <summary>
/// The air of places out of readings that came from a file, as it would have been sampled had they come one by one: by the same medians,
/// silences and calibrations. Where the record has air of a five minutes already, that stays. A sensor counts for the place it is in now.
/// </summary>
internal static class ImportedAir
{
    private static readonly TimeSpan Every = TimeSpan.FromMinutes(5);

    /// <summary>Readings from before the file that may still speak when it begins.</summary>
    private static readonly TimeSpan Before = TimeSpan.FromHours(2);

    /// <summary>Fills in what <paramref name="readings"/> say; belongs to whatever transaction the connection is in.</summary>
    /// <returns>How many samples of air were added.</returns>
    public static long Add(SqliteConnection connection, ReadingsTaken readings)
    {
        var sensors = SensorRows.All(connection);
        var calibrations = CalibrationRows.All(connection);
        var added = 0L;
        foreach (var place in PlaceRows.All(connection))
        {
            var here = sensors.Where(s => s.Place == place.Id).ToList();
            var spans = here.Where(s => readings.Spans.ContainsKey(s.Id)).Select(s => readings.Spans[s.Id]).ToList();
            if (spans.Count > 0) added += Add(connection, place, here, calibrations, spans.Min(s => s.From), spans.Max(s => s.To));
        }

        return added;
    }

    private static long Add(
        SqliteConnection connection, Place place, List<SensorRow> here, IReadOnlyList<(int Sensor, Quantity Quantity, DateTimeOffset Since, Calibration? Calibration)> calibrations, DateTimeOffset from, DateTimeOffset to)
    {
        var known = connection.Query(
            "SELECT at_ms FROM air WHERE place = $place AND at_ms >= $from AND at_ms < $to",
            row => Piece(row.Time(0)),
            ("$place", place.Id),
            ("$from", from.ToUnixTimeMilliseconds()),
            ("$to", (to + Every).ToUnixTimeMilliseconds())).ToHashSet();
        var start = from - Before;
        var state = new PlaceState(place);
        var rows = here.ToDictionary(s => s.Id, s => s with { Calibrations = null });
        var heard = new Dictionary<int, SensorState>();
        var begins = new Queue<(int Sensor, Quantity Quantity, DateTimeOffset Since, Calibration? Calibration)>(calibrations.Where(c => rows.ContainsKey(c.Sensor)).OrderBy(c => c.Since));
        var added = 0L;
        var sample = DateTimeOffset.FromUnixTimeMilliseconds(Piece(from + Every - TimeSpan.FromMilliseconds(1)) * (long)Every.TotalMilliseconds);
        foreach (var (id, reading) in SensorRows.Of(connection, [.. rows.Keys], start, to))
        {
            for (; sample < reading.At; sample += Every) Sample();
            var mono = reading.At - start;
            if (!heard.TryGetValue(id, out var sensor))
            {
                heard.Add(id, sensor = new SensorState(rows[id], SensorRhythm.Fresh(mono)));
                state.Add(sensor);
            }

            sensor.Rhythm.Arrive(mono);
            sensor.Take(reading, mono);
        }

        for (; sample <= to; sample += Every) Sample();
        return added;

        void Sample()
        {
            while (begins.TryPeek(out var begun) && begun.Since <= sample)
            {
                begins.Dequeue();
                var rest = (rows[begun.Sensor].Calibrations ?? []).Where(c => c.Quantity != begun.Quantity);
                rows[begun.Sensor] = rows[begun.Sensor] with { Calibrations = begun.Calibration is { } now ? [.. rest, now] : [.. rest] };
                if (heard.TryGetValue(begun.Sensor, out var calibrated)) calibrated.Row = rows[begun.Sensor];
            }

            foreach (var sensor in heard.Values) sensor.Silent = sensor.Rhythm.IsSilent(sample - start);
            var air = state.Observe(sample - start, sample);
            if (air.Quality == AirQuality.None || known.Contains(Piece(sample))) return;
            PlaceRows.SaveAir(connection, air);
            added++;
        }
    }

    private static long Piece(DateTimeOffset at) => (long)Math.Floor(at.ToUnixTimeMilliseconds() / Every.TotalMilliseconds);
}
