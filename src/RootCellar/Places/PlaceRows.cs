using System.Text.Json;
using Microsoft.Data.Sqlite;
using RootCellar.Storage;

namespace RootCellar.Places;

/// <summary>Places and their sampled air in the record.</summary>
internal static class PlaceRows
{
    public static IReadOnlyList<Place> All(SqliteConnection connection) => connection.Query(
        "SELECT id, name, purpose, volume_m3, crops, watch_empty, short_name FROM place ORDER BY purpose, name",
        row => new Place(
            row.GetString(0),
            row.GetString(1),
            Enum.Parse<Purpose>(row.GetString(2)),
            row.DoubleOrNull(3),
            JsonSerializer.Deserialize<string[]>(row.GetString(4))!)
        { WatchEmpty = row.GetBoolean(5), ShortName = row.StringOrNull(6) });

    public static void Save(SqliteConnection connection, Place place) => connection.Execute(
        """
        INSERT INTO place (id, name, purpose, volume_m3, crops, watch_empty, short_name)
        VALUES ($id, $name, $purpose, $volume, $crops, $empty, $short)
        ON CONFLICT (id) DO UPDATE SET name = excluded.name, purpose = excluded.purpose, volume_m3 = excluded.volume_m3, crops = excluded.crops,
            watch_empty = excluded.watch_empty, short_name = excluded.short_name
        """,
        ("$id", place.Id),
        ("$name", place.Name),
        ("$purpose", place.Purpose.ToString()),
        ("$volume", place.VolumeM3),
        ("$crops", JsonSerializer.Serialize(place.Crops)),
        ("$empty", place.WatchEmpty),
        ("$short", place.ShortName));

    /// <summary>The place alone: its air stays, for the lots that stood there.</summary>
    public static void Remove(SqliteConnection connection, string place) =>
        connection.Execute("DELETE FROM place WHERE id = $id", ("$id", place));

    public static void SaveAir(SqliteConnection connection, PlaceAir air) => connection.Execute(
        """
        INSERT OR REPLACE INTO air (place, at_ms, temperature_c, humidity_pct, dew_point_c, deficit_pa, pulp_c, coldest_pulp_c, light_lx, co2_ppm, quality)
        VALUES ($place, $at, $t, $rh, $dew, $vpd, $pulp, $cold, $light, $co2, $quality)
        """,
        ("$place", air.Place),
        ("$at", air.At.ToUnixTimeMilliseconds()),
        ("$t", air.TemperatureC),
        ("$rh", air.RelativeHumidityPercent),
        ("$dew", air.DewPointC),
        ("$vpd", air.VapourPressureDeficitPa),
        ("$pulp", air.PulpC),
        ("$cold", air.ColdestPulpC),
        ("$light", air.LightLux),
        ("$co2", air.Co2Ppm),
        ("$quality", (int)air.Quality));

    /// <summary>The sampled air of a place, oldest first, [from, to).</summary>
    public static IReadOnlyList<PlaceAir> Air(SqliteConnection connection, string place, DateTimeOffset from, DateTimeOffset to) =>
        connection.Query(
        """
        SELECT place, at_ms, temperature_c, humidity_pct, dew_point_c, deficit_pa, pulp_c, coldest_pulp_c, light_lx, co2_ppm, quality
        FROM air WHERE place = $place AND at_ms >= $from AND at_ms < $to ORDER BY at_ms
        """,
        row => new PlaceAir(
            row.GetString(0),
            row.Time(1),
            row.DoubleOrNull(2),
            row.DoubleOrNull(3),
            row.DoubleOrNull(4),
            row.DoubleOrNull(5),
            row.DoubleOrNull(6),
            row.DoubleOrNull(7),
            row.DoubleOrNull(8),
            row.DoubleOrNull(9),
            (AirQuality)row.GetInt32(10)),
        ("$place", place),
        ("$from", from.ToUnixTimeMilliseconds()),
        ("$to", to.ToUnixTimeMilliseconds()));

    /// <summary>One figure of the sampled air by its column, oldest first, [from, to), where it was measured.</summary>
    public static IReadOnlyList<(long AtMs, double Value)> Figure(
        SqliteConnection connection, string place, string column, DateTimeOffset from, DateTimeOffset to) =>
        connection.Query(
            $"SELECT at_ms, {Figures[Array.IndexOf(Figures, column)]} AS value FROM air WHERE place = $place AND at_ms >= $from AND at_ms < $to AND value IS NOT NULL ORDER BY at_ms",
            row => (row.GetInt64(0), row.GetDouble(1)),
            ("$place", place),
            ("$from", from.ToUnixTimeMilliseconds()),
            ("$to", to.ToUnixTimeMilliseconds()));

    /// <summary>Minimum, mean and maximum of each figure in steps of <paramref name="step"/>, oldest first.</summary>
    /// <param name="connection">The record.</param>
    /// <param name="place">The place.</param>
    /// <param name="from">The first moment.</param>
    /// <param name="to">The end, which is no part of it.</param>
    /// <param name="step">Whole milliseconds; steps are whole steps of the clock.</param>
    /// <param name="only">One figure by its column; null for all that were measured.</param>
    public static IReadOnlyList<AirStep> History(
        SqliteConnection connection, string place, DateTimeOffset from, DateTimeOffset to, TimeSpan step, string? only = null)
    {
        (string, object?)[] time = [("$place", place), ("$from", from.ToUnixTimeMilliseconds()), ("$to", to.ToUnixTimeMilliseconds())];
        var columns = only is null ? Measured(connection, time) : [only];
        if (columns.Count == 0 || End("ASC") is not { } first || End("DESC") is not { } last) return [];
        // Step by step along the rows as they lie: grouped by an expression they would all be sorted first, which costs more than the sums.
        using var command = connection.Command(
            $"SELECT count(*), {string.Join(", ", columns.Select(f => $"min({f}), avg({f}), max({f})"))} FROM air WHERE place = $place AND at_ms >= $from AND at_ms < $to", time);
        long width = (long)step.TotalMilliseconds, end = to.ToUnixTimeMilliseconds();
        var steps = new List<AirStep>();
        for (long at = first / width * width; at <= last; at += width)
        {
            command.Parameters[1].Value = Math.Max(at, first);
            command.Parameters[2].Value = Math.Min(at + width, end);
            using var row = command.ExecuteReader();
            if (!row.Read() || row.GetInt64(0) == 0) continue;
            var figures = new Spread?[Figures.Length];
            for (int i = 0, c = 1; i < columns.Count; i++, c += 3)
                figures[Array.IndexOf(Figures, columns[i])] = row.IsDBNull(c)
                    ? null : new Spread(row.GetDouble(c), row.GetDouble(c + 1), row.GetDouble(c + 2));
            steps.Add(new AirStep(DateTimeOffset.FromUnixTimeMilliseconds(at), figures));
        }

        return steps;

        // Each by itself, so that only one row is read for it.
        long? End(string order) => connection.Scalar(
            $"SELECT at_ms FROM air WHERE place = $place AND at_ms >= $from AND at_ms < $to ORDER BY at_ms {order} LIMIT 1", time) as long?;
    }

    /// <summary>Most places have no probe, no light and no carbon dioxide: what was never measured need not be added up.</summary>
    private static List<string> Measured(SqliteConnection connection, ReadOnlySpan<(string, object?)> time) =>
        connection.Query(
            $"SELECT {string.Join(", ", Optional.Select(f => $"count({f})"))} FROM air WHERE place = $place AND at_ms >= $from AND at_ms < $to",
            row => Figures.Except(Optional.Where((_, i) => row.GetInt64(i) == 0)).ToList(),
            time)[0];

    private static readonly string[] Optional = ["pulp_c", "light_lx", "co2_ppm"];

    private static readonly string[] Figures =
        ["temperature_c", "humidity_pct", "dew_point_c", "deficit_pa", "pulp_c", "light_lx", "co2_ppm"];
}

/// <summary>Minimum, mean and maximum of a figure over a step.</summary>
internal sealed record Spread(double Min, double Mean, double Max);

/// <summary>One step of a place's history; null where the figure was not measured.</summary>
internal sealed class AirStep(DateTimeOffset at, Spread?[] figures)
{
    public DateTimeOffset At { get; } = at;

    public Spread? TemperatureC => figures[0];

    public Spread? RelativeHumidityPercent => figures[1];

    public Spread? DewPointC => figures[2];

    public Spread? VapourPressureDeficitPa => figures[3];

    public Spread? PulpC => figures[4];

    public Spread? LightLux => figures[5];

    public Spread? Co2Ppm => figures[6];
}
