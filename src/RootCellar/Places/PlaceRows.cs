using System.Text.Json;
using Microsoft.Data.Sqlite;
using RootCellar.Storage;

namespace RootCellar.Places;

/// <summary>Places and their sampled air in the record.</summary>
internal static class PlaceRows
{
    public static IReadOnlyList<Place> All(SqliteConnection connection) => connection.Query(
        "SELECT id, name, purpose, volume_m3, crops FROM place ORDER BY purpose, name",
        row => new Place(
            row.GetString(0),
            row.GetString(1),
            Enum.Parse<Purpose>(row.GetString(2)),
            row.DoubleOrNull(3),
            JsonSerializer.Deserialize<string[]>(row.GetString(4))!));

    public static void Save(SqliteConnection connection, Place place) => connection.Execute(
        """
        INSERT INTO place (id, name, purpose, volume_m3, crops) VALUES ($id, $name, $purpose, $volume, $crops)
        ON CONFLICT (id) DO UPDATE SET name = excluded.name, purpose = excluded.purpose, volume_m3 = excluded.volume_m3, crops = excluded.crops
        """,
        ("$id", place.Id),
        ("$name", place.Name),
        ("$purpose", place.Purpose.ToString()),
        ("$volume", place.VolumeM3),
        ("$crops", JsonSerializer.Serialize(place.Crops)));

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
    public static IReadOnlyList<PlaceAir> Air(SqliteConnection connection, string place, DateTimeOffset from, DateTimeOffset to) => connection.Query(
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

    /// <summary>Minimum, mean and maximum of each figure in steps of <paramref name="step"/>, oldest first.</summary>
    public static IReadOnlyList<AirStep> History(SqliteConnection connection, string place, DateTimeOffset from, DateTimeOffset to, TimeSpan step)
    {
        var figures = string.Join(", ", Figures.Select(f => $"min({f}), avg({f}), max({f})"));
        return connection.Query(
            $"""
            SELECT at_ms / $step * $step AS step_ms, {figures}
            FROM air WHERE place = $place AND at_ms >= $from AND at_ms < $to GROUP BY step_ms ORDER BY step_ms
            """,
            row => new AirStep(row.Time(0), Enumerable.Range(0, Figures.Length)
                .Select(i => row.IsDBNull(1 + (3 * i)) ? null : new Spread(row.GetDouble(1 + (3 * i)), row.GetDouble(2 + (3 * i)), row.GetDouble(3 + (3 * i))))
                .ToArray()),
            ("$place", place),
            ("$from", from.ToUnixTimeMilliseconds()),
            ("$to", to.ToUnixTimeMilliseconds()),
            ("$step", (long)step.TotalMilliseconds));
    }

    private static readonly string[] Figures = ["temperature_c", "humidity_pct", "dew_point_c", "deficit_pa", "pulp_c", "light_lx", "co2_ppm"];
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
