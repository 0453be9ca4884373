using Microsoft.Data.Sqlite;
using RootCellar.Storage;

namespace RootCellar.Places;

/// <summary>
/// The air of every place as it was sampled: every five minutes, and whenever a judgement changed. In SI; out only, for it is made of
/// readings.
/// </summary>
internal static class AirCsv
{
    private static readonly string[] Columns =
    [
        "at", "place", "temperature_c", "humidity_pct", "dew_point_c", "vapour_pressure_deficit_pa", "pulp_c", "coldest_pulp_c", "light_lx",
        "co2_ppm", "quality",
    ];

    /// <param name="from">From this time on.</param>
    /// <param name="to">Until before this time.</param>
    public static long Export(SqliteConnection connection, TextWriter output, DateTimeOffset from, DateTimeOffset to,
        CsvFor use = CsvFor.Import)
    {
        using var csv = CsvFile.Write(output, Columns, use);
        // Row by row: years of air are more than a Pi has memory for.
        using var command = connection.Command(
            """
            SELECT at_ms, place, temperature_c, humidity_pct, dew_point_c, deficit_pa, pulp_c, coldest_pulp_c, light_lx, co2_ppm, quality
            FROM air WHERE at_ms >= $from AND at_ms < $to ORDER BY place, at_ms
            """,
            ("$from", from.ToUnixTimeMilliseconds()),
            ("$to", to.ToUnixTimeMilliseconds()));
        using var row = command.ExecuteReader();
        var count = 0L;
        for (; row.Read(); count++)
        {
            csv.WriteField(CsvFile.Time(row.Time(0)));
            csv.WriteField(row.GetString(1));
            for (var figure = 2; figure <= 9; figure++)
                csv.WriteField(CsvFile.Number(row.DoubleOrNull(figure)));
            csv.WriteField(((AirQuality)row.GetInt32(10)).ToString());
            csv.NextRecord();
        }

        return count;
    }
}
