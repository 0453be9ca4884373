using Microsoft.Data.Sqlite;
using RootCellar.Storage;

namespace RootCellar.Readings;

/// <summary>
/// What is left of readings older than <c>Keep:RawDays</c>: lowest, mean and highest of each sensor and quantity over each step of
/// <c>Keep:SummaryMinutes</c>, and of how many believed readings. As they came and in SI; out only.
/// </summary>
internal static class SummaryCsv
{
    private static readonly string[] Columns = ["sensor", "quantity", "at", "low", "mean", "high", "readings", "sensor_name"];

    /// <param name="from">Steps that begin from this time on.</param>
    /// <param name="to">Steps that begin before this time.</param>
    public static long Export(SqliteConnection connection, TextWriter output, DateTimeOffset from, DateTimeOffset to,
        CsvFor use = CsvFor.Import)
    {
        using var csv = CsvFile.Write(output, Columns, use);
        using var command = connection.Command(
            """
            SELECT s.key, u.quantity, u.at_ms, u.low, u.mean, u.high, u.count, s.name
            FROM sensor s JOIN rollup u ON u.sensor = s.id
            WHERE u.at_ms >= $from AND u.at_ms < $to
            ORDER BY s.key, u.quantity, u.at_ms
            """,
            ("$from", from.ToUnixTimeMilliseconds()),
            ("$to", to.ToUnixTimeMilliseconds()));
        using var row = command.ExecuteReader();
        var count = 0L;
        for (; row.Read(); count++)
        {
            csv.WriteField(row.GetString(0));
            csv.WriteField(ReadingCsv.NameOf((Quantity)row.GetInt32(1)));
            csv.WriteField(CsvFile.Time(row.Time(2)));
            for (var figure = 3; figure <= 5; figure++) csv.WriteField(CsvFile.Number(row.GetDouble(figure)));
            csv.WriteField(row.GetInt64(6));
            csv.WriteField(row.StringOrNull(7));
            csv.NextRecord();
        }

        return count;
    }
}
