using Microsoft.Data.Sqlite;
using RootCellar.Household;
using RootCellar.Ledger;
using RootCellar.Places;
using RootCellar.Readings;
using RootCellar.Storage;
using RootCellar.Watch;

namespace RootCellar.Report;

/// <summary>Everything in the record as CSV, row by row: what the command <c>export</c> and the API give out.</summary>
internal static class RecordCsv
{
    public static readonly IReadOnlyList<string> Kinds = ["readings", "air", "summaries", "alarms", "ledger", "estimates"];

    /// <param name="what">One of <see cref="Kinds"/>.</param>
    /// <param name="failed">Told of each lot whose estimates could not be worked out; the others are exported all the same.</param>
    public static void Export(
        string what, SqliteConnection connection, HouseholdCalendar calendar, TextWriter output, DateTimeOffset from, DateTimeOffset to,
        CsvFor use, Action<LotView, Exception>? failed = null)
    {
        switch (what)
        {
            case "readings": ReadingCsv.Export(connection, output, from, to, use); break;
            case "air": AirCsv.Export(connection, output, from, to, use); break;
            case "summaries": SummaryCsv.Export(connection, output, from, to, use); break;
            case "alarms": AlarmCsv.Export(connection, output, from, to, use); break;
            case "ledger": LedgerCsv.Export(connection, output, from, to, use); break;
            case "estimates": EstimateCsv.Export(connection, LedgerRows.Book(connection, calendar), output, from, to, use, failed); break;
            default: throw new ArgumentOutOfRangeException(nameof(what), what, "no such kind");
        }
    }
}
