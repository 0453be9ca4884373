using Microsoft.Data.Sqlite;
using RootCellar.Readings;

namespace RootCellar.Places;

/// <summary>
/// The air of a place in hours gone by, as it would have been sampled had its readings been heard one by one in their time: by the same
/// medians, silences and calibrations, of the sensors that stood there then. For readings out of a file and for those that came late.
/// </summary>
internal static class PastAir
{
    public static readonly TimeSpan Every = TimeSpan.FromMinutes(5);

    /// <summary>
    /// The longest a value may speak for its sensor: three of the longest intervals that are learned (<see cref="SensorRhythm"/>).
    /// </summary>
    public static readonly TimeSpan Holds = TimeSpan.FromHours(6);

    // Samples that are there are looked up by so much at once.
    private static readonly TimeSpan Part = TimeSpan.FromDays(1);

    // Two sums of the same readings; anything closer is the same air.
    private const double Same = 1e-6;

    /// <summary>
    /// The samples that are to be written, oldest first: five minutes that have none, and those that come out otherwise now.
    /// </summary>
    /// <param name="connection">The record.</param>
    /// <param name="place">The place.</param>
    /// <param name="from">The first moment that something new is known of.</param>
    /// <param name="to">The last sample.</param>
    /// <param name="anewFrom">What is there of earlier than this stays as it is.</param>
    public static IEnumerable<PlaceAir> Of(SqliteConnection connection, Place place, DateTimeOffset from, DateTimeOffset to,
        DateTimeOffset anewFrom)
    {
        var start = from - Holds;
        var stays = SensorStays.All(connection);
        var here = SensorRows.OnceInPlace(connection).Where(s => stays[s.Id].Any(stay => stay.Place == place.Id))
            .Select(s => new Member(s, stays[s.Id], start)).ToDictionary(m => m.Id);
        var begins = new Queue<(int Sensor, Quantity Quantity, DateTimeOffset Since, Calibration? Calibration)>(
            CalibrationRows.All(connection).Where(c => here.ContainsKey(c.Sensor)).OrderBy(c => c.Since));
        var state = new PlaceState(place);
        using var readings = SensorRows.Of(connection, [.. here.Keys], start, to).GetEnumerator();
        var more = readings.MoveNext();
        foreach (var (at, known) in Samples(connection, place.Id, from, to))
        {
            for (; more && readings.Current.Reading.At <= at; more = readings.MoveNext())
                here[readings.Current.Sensor].Hear(readings.Current.Reading, readings.Current.Reading.At - start);
            while (begins.TryPeek(out var begun) && begun.Since <= at)
            {
                begins.Dequeue();
                here[begun.Sensor].Calibrate(begun.Quantity, begun.Calibration);
            }

            foreach (var member in here.Values) member.Stand(state, at, at - start);
            var air = state.Observe(at - start, at);
            if (air.Quality == AirQuality.None) continue;
            if (known is null || (at >= anewFrom && IsMore(air, known))) yield return air;
        }
    }

    /// <summary>The moments to be sampled, with what is there: that may lie beside the five minutes, as when a judgement changed.</summary>
    private static IEnumerable<(DateTimeOffset At, PlaceAir? Known)> Samples(
        SqliteConnection connection, string place, DateTimeOffset from, DateTimeOffset to)
    {
        for (var part = new DateTimeOffset(Piece(from) * Every.Ticks, TimeSpan.Zero); part <= to; part += Part)
        {
            var known = PlaceRows.Air(connection, place, part, part + Part).ToLookup(a => Piece(a.At));
            for (var at = part; at < part + Part && at <= to; at += Every)
            {
                if (!known.Contains(Piece(at))) yield return (at, null);
                foreach (var air in known[Piece(at)].Where(a => a.At <= to)) yield return (air.At, air);
            }
        }
    }

    // Whose raw readings are gone by now, the older sample still knows.
    private static bool IsMore(PlaceAir air, PlaceAir known)
    {
        ReadOnlySpan<double?> now = [air.TemperatureC, air.RelativeHumidityPercent, air.PulpC, air.ColdestPulpC, air.LightLux, air.Co2Ppm];
        ReadOnlySpan<double?> was =
            [known.TemperatureC, known.RelativeHumidityPercent, known.PulpC, known.ColdestPulpC, known.LightLux, known.Co2Ppm];
        var other = false;
        for (var i = 0; i < now.Length; i++)
        {
            if (now[i] is null && was[i] is not null) return false;
            other |= now[i] is { } value && !(Math.Abs(value - (was[i] ?? double.NaN)) < Same);
        }

        return other;
    }

    private static long Piece(DateTimeOffset at) => at.UtcTicks / Every.Ticks;

    /// <summary>A sensor that stood in the place at some time.</summary>
    private sealed class Member(SensorRow row, IEnumerable<SensorStay> stays, DateTimeOffset start)
    {
        private readonly SensorState sensor =
            new(row with { Calibrations = null }, SensorRhythm.Resume(row.IntervalSeconds, TimeSpan.Zero));
        private readonly List<SensorStay> stays = [.. stays];
        private readonly DateTimeOffset firstSeen = row.FirstSeen > start ? row.FirstSeen : start;
        private bool heard;

        public int Id => sensor.Row.Id;

        public void Hear(in Reading reading, TimeSpan mono)
        {
            heard = true;
            sensor.Rhythm.Arrive(mono);
            sensor.Take(reading, mono);
        }

        public void Calibrate(Quantity quantity, Calibration? calibration)
        {
            var rest = (sensor.Row.Calibrations ?? []).Where(c => c.Quantity != quantity);
            sensor.Row = sensor.Row with { Calibrations = calibration is { } now ? [.. rest, now] : [.. rest] };
        }

        /// <summary>
        /// In or out of the place, silent or not, as it was at a moment. What was never heard of counts as missing from when it was first
        /// seen on.
        /// </summary>
        public void Stand(PlaceState place, DateTimeOffset at, TimeSpan mono)
        {
            sensor.Silent = sensor.Rhythm.IsSilent(mono);
            if ((heard || firstSeen <= at) && SensorStays.PlaceAt(stays, at) == place.Place.Id) place.Add(sensor);
            else place.Remove(sensor);
        }
    }
}
