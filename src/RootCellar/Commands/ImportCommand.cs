using System.CommandLine;
using Microsoft.Data.Sqlite;
using RootCellar.Ledger;
using RootCellar.Places;
using RootCellar.Readings;
using RootCellar.Storage;

namespace RootCellar.Commands;

/// <summary>The CSV of <c>export</c> back in: all of a file or nothing.</summary>
internal static class ImportCommand
{
    // Clocks of machines differ, by a day where a zone was taken for another.
    private static readonly TimeSpan OneDay = TimeSpan.FromDays(1);

    public static Command Build()
    {
        var what = ExportCommand.What();
        var file = new Argument<string>("FILE") { Description = "the CSV that export wrote; - is stdin" };
        var data = CommandLine.Data();
        var looked = new Option<bool>("--checked")
        { Description = "of a ledger: dates and names it would ask about have been looked at and are so" };
        var json = Print.JsonOption();
        var command = new CommandWithExamples("import",
            "Take readings or the ledger in from CSV. All of the file or nothing; what is there already is not taken twice. Stop the service first.",
            "rootcellar import --what ledger ledger.csv --data /var/lib/rootcellar") { what, file, data, looked, json };
        command.SetAction(p =>
            Run(p.GetValue(what)!, p.GetValue(file)!, p.GetValue(data)!, p.GetValue(looked), p.GetValue(json),
                p.InvocationConfiguration.Output));
        return command;
    }

    private static int Run(string what, string file, string folder, bool looked, bool json, TextWriter output)
    {
        if (what is not ("ledger" or "readings")) throw new UsageException($"--what: '{what}' is not one of readings, ledger.");
        if (file != "-" && !File.Exists(file)) throw new UsageException($"there is no file {file}.");
        Directory.CreateDirectory(folder);
        using var held = DataFolderLock.Take(folder, "import", TimeProvider.System.GetUtcNow());
        var path = Path.Combine(folder, StoreFile.Name);
        using var input = CsvFile.Open(file == "-" ? Console.OpenStandardInput() : File.OpenRead(file));
        using var connection = StoreFile.OpenForWriting(new SqliteConnectionStringBuilder { DataSource = path }.ToString(), path);
        connection.Execute("PRAGMA synchronous=FULL");
        using var transaction = connection.BeginTransaction(deferred: false);
        long added;
        var air = 0L;
        var unplaced = new List<string>();
        try
        {
            if (what == "ledger")
            {
                added = LedgerCsv.Import(connection, input, TimeProvider.System.GetUtcNow(),
                    CommandLine.Settings(folder).Household.Calendar(), looked);
            }
            else
            {
                var taken = ReadingCsv.Import(connection, input, TimeProvider.System.GetUtcNow() + OneDay);
                added = taken.Added;
                air = ImportedAir.Add(connection, taken);
                unplaced = [.. SensorRows.All(connection).Where(s => s.Place is null && taken.Spans.ContainsKey(s.Id)).Select(s => s.Key)];
            }

            transaction.Commit();
        }
        catch (CsvProblemException e)
        {
            throw new UsageException($"{(file == "-" ? "stdin" : file)}: {e.Message} Nothing was taken.");
        }
        catch (SqliteException e)
        {
            throw new StoreProblemException(StoreFile.Explain(e, path), e);
        }

        foreach (var companion in (string[])["", "-wal", "-shm"]) RecordCopy.BelongToFolder(path + companion);
        if (json && what == "readings") Print.Json(output, new { what, added, air, unplaced });
        else if (json) Print.Json(output, new { what, added });
        else output.WriteLine(
            $"{added} {(what == "ledger" ? added == 1 ? "entry" : "entries" : added == 1 ? "reading" : "readings")} taken.");
        if (json || what == "ledger") return 0;
        output.WriteLine($"{air} five minutes of air of places made from them.");
        if (unplaced.Count > 0)
            output.WriteLine($"No place yet, and so no air: {string.Join(", ", unplaced)}. Give them a place on the Set-up or Sensors page and import the file again.");
        return 0;
    }
}
