using System.CommandLine;
using Microsoft.Data.Sqlite;
using RootCellar.Household;
using RootCellar.Ledger;
using RootCellar.Ledger.Events;
using RootCellar.Science.Crops;
using RootCellar.Storage;

namespace RootCellar.Commands;

/// <summary>The crops a household knows, for commands: the table, what its book describes, and its crops.json as it is now.</summary>
internal static class OwnCrops
{
    public static Option<string> Data()
    {
        var data = CommandLine.Data();
        data.Description = "the data folder: crops of the household's own are read from it";
        return data;
    }

    /// <exception cref="UsageException">The folder that was asked for is not there, or its crops.json cannot be read.</exception>
    public static CropTable Table(ParseResult parsed, Option<string> data) =>
        Table(parsed.GetValue(data)!, parsed.GetResult(data) is { Implicit: false });

    /// <param name="folder">The data folder. One that is not there has none, unless it was asked for.</param>
    /// <param name="asked">Whether the folder was given.</param>
    private static CropTable Table(string folder, bool asked)
    {
        if (!Directory.Exists(folder))
        {
            if (!asked) return CropTable.Default;
            throw new UsageException($"there is no folder {Path.GetFullPath(folder)}. Give the service's data folder: --data DIR.");
        }

        try
        {
            var file = OwnCropFile.Read(folder, TimeProvider.System.GetUtcNow()).Select(e => CropDescribed.Event.Read(e.Body));
            return CropDescribed.Table(InTheBook(folder).Concat(file).OfType<CropDescribed>());
        }
        catch (OwnCropProblemException wrong)
        {
            throw new UsageException(wrong.Message);
        }
    }

    private static IEnumerable<LedgerEvent> InTheBook(string folder)
    {
        string path = Path.Combine(folder, StoreFile.Name);
        if (!File.Exists(path)) return [];
        using var connection =
            new SqliteConnection(new SqliteConnectionStringBuilder { DataSource = path, Mode = SqliteOpenMode.ReadOnly }.ToString());
        try
        {
            connection.Open();
            // Days have no part in what a crop is.
            return [.. LedgerRows.Book(connection, HouseholdCalendar.Utc).Entries.Where(s => s.Counts).OrderBy(s => s.Entry.Id)
                .Select(s => s.Event).OfType<CropDescribed>()];
        }
        catch (SqliteException e)
        {
            throw new StoreProblemException(StoreFile.Explain(e, path), e);
        }
    }
}
