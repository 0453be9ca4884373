using System.CommandLine;
using Microsoft.Data.Sqlite;
using RootCellar.Ledger;
using RootCellar.Readings;
using RootCellar.Report;
using RootCellar.Storage;

namespace RootCellar.Commands;

/// <summary>CSV on stdout, also while the service runs.</summary>
internal static class ExportCommand
{
    public static Option<string> What(string of = "readings or ledger") => new("--what") { Description = of, Required = true, HelpName = "WHAT" };

    public static Command Build()
    {
        var what = What("readings, ledger or estimates");
        var from = new Option<string?>("--from") { Description = "from this time on", HelpName = "T" };
        var to = new Option<string?>("--to") { Description = "until before this time", HelpName = "T" };
        var use = new Option<string>("--for") { Description = "spreadsheet: no cell is a formula; import: every cell exactly as it is kept", HelpName = "spreadsheet|import", DefaultValueFactory = _ => "spreadsheet" };
        use.AcceptOnlyFromAmong("spreadsheet", "import");
        var data = CommandLine.Data();
        var command = new CommandWithExamples("export", "Write readings, the ledger, or how every bin stood day by day as CSV to stdout, also while the service runs.",
            "rootcellar export --what ledger > ledger.csv",
            "rootcellar export --what ledger --for import > ledger.csv",
            "rootcellar export --what readings --from 2026-10-01 --to 2026-11-01 > october.csv",
            "rootcellar export --what estimates --from 2026-10-01 > bins.csv") { what, from, to, use, data };
        command.SetAction(p => Run(p.GetValue(what)!, p.GetValue(from), p.GetValue(to), p.GetValue(use) == "import" ? CsvFor.Import : CsvFor.Spreadsheet, p.GetValue(data)!, p.InvocationConfiguration.Output));
        return command;
    }

    private static int Run(string what, string? from, string? to, CsvFor use, string folder, TextWriter output)
    {
        var calendar = CommandLine.Settings(folder).Household.Calendar();
        if (!calendar.TryTime(from, DateTimeOffset.UnixEpoch, out var start)) throw new UsageException($"--from: '{from}' is not a time. Right: 2026-10-01 or 2026-10-01T16:30:00-05:00.");
        if (!calendar.TryTime(to, DateTimeOffset.MaxValue, out var end)) throw new UsageException($"--to: '{to}' is not a time. Right: 2026-10-01 or 2026-10-01T16:30:00-05:00.");
        if (what is not ("ledger" or "readings" or "estimates")) throw new UsageException($"--what: '{what}' is not one of readings, ledger, estimates.");
        var path = Path.Combine(folder, StoreFile.Name);
        StoreFile.MustBeThere(path);
        using var connection = new SqliteConnection(new SqliteConnectionStringBuilder { DataSource = path, Mode = SqliteOpenMode.ReadOnly }.ToString());
        try
        {
            connection.Open();
            if (what == "ledger") LedgerCsv.Export(connection, output, start, end, use);
            else if (what == "readings") ReadingCsv.Export(connection, output, start, end, use);
            else EstimateCsv.Export(connection, LedgerRows.Book(connection, calendar), output, start, end, use);
        }
        catch (SqliteException e)
        {
            // A record that this program has never opened has no ledger yet.
            throw new StoreProblemException(StoreFile.Explain(e, path), e);
        }

        output.Flush();
        return 0;
    }
}
