using System.CommandLine;
using Microsoft.Data.Sqlite;
using RootCellar.Household;
using RootCellar.Ledger;
using RootCellar.Report;
using RootCellar.Storage;

namespace RootCellar.Commands;

/// <summary>CSV on stdout, also while the service runs.</summary>
internal static class ExportCommand
{
    public static Option<string> What(string of = "readings or ledger") => new("--what")
    { Description = of, Required = true, HelpName = "WHAT" };

    public static Command Build()
    {
        var what = What("readings, air, summaries, alarms, ledger or estimates");
        var from = new Option<string?>("--from") { Description = "from this time on", HelpName = "T" };
        var to = new Option<string?>("--to") { Description = "until before this time", HelpName = "T" };
        var use = new Option<string>("--for")
        {
            Description = "spreadsheet: no cell is a formula; import: every cell exactly as it is kept",
            HelpName = "spreadsheet|import",
            DefaultValueFactory = _ => "spreadsheet"
        };
        use.AcceptOnlyFromAmong("spreadsheet", "import");
        var data = CommandLine.Data();
        var command = new CommandWithExamples("export",
            "Write readings, the air of the places, summaries of old readings, every alarm, the ledger, or how every bin stood day by day as CSV to stdout, also while the service runs.",
            "rootcellar export --what ledger > ledger.csv",
            "rootcellar export --what ledger --for import > ledger.csv",
            "rootcellar export --what readings --from 2026-10-01 --to 2026-11-01 > october.csv",
            "rootcellar export --what air --from 2026-10-01 --to 2026-11-01 > october-air.csv",
            "rootcellar export --what summaries --to 2026-01-01 > last-years.csv",
            "rootcellar export --what estimates --from 2026-10-01 > bins.csv") { what, from, to, use, data };
        command.SetAction(p =>
            Run(p.GetValue(what)!, p.GetValue(from), p.GetValue(to), p.GetValue(use) == "import" ? CsvFor.Import : CsvFor.Spreadsheet,
                p.GetValue(data)!, p.InvocationConfiguration));
        return command;
    }

    private static int Run(string what, string? from, string? to, CsvFor use, string folder, InvocationConfiguration console)
    {
        var (output, exit) = (console.Output, 0);
        var calendar = CommandLine.Settings(folder).Household.Calendar();
        if (!calendar.TryTime(from, DateTimeOffset.UnixEpoch, out var start))
            throw new UsageException($"--from: '{from}' is not a time. Right: 2026-10-01 or 2026-10-01T16:30:00-05:00.");
        if (!calendar.TryTime(to, DateTimeOffset.MaxValue, out var end))
            throw new UsageException($"--to: '{to}' is not a time. Right: 2026-10-01 or 2026-10-01T16:30:00-05:00.");
        if (!RecordCsv.Kinds.Contains(what, StringComparer.Ordinal))
            throw new UsageException($"--what: '{what}' is not one of {string.Join(", ", RecordCsv.Kinds)}.");
        var path = Path.Combine(folder, StoreFile.Name);
        StoreFile.MustBeThere(path);
        using var connection =
            new SqliteConnection(new SqliteConnectionStringBuilder { DataSource = path, Mode = SqliteOpenMode.ReadOnly }.ToString());
        try
        {
            connection.Open();
            RecordCsv.Export(what, connection, calendar, output, start, end, use, Missing);
        }
        catch (SqliteException e)
        {
            // A record that this program has never opened has no ledger yet.
            throw new StoreProblemException(StoreFile.Explain(e, path), e);
        }

        output.Flush();
        return exit;

        void Missing(LotView lot, Exception problem)
        {
            exit = 1;
            console.Error.WriteLine(
                $"Lot {NameRules.Seen(lot.Id)} cannot be worked out and is not in the file; the others are. Please report this: {problem.Message}");
        }
    }
}
