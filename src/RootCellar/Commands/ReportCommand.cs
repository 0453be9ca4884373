using System.CommandLine;
using Microsoft.Data.Sqlite;
using RootCellar.Household;
using RootCellar.Ledger;
using RootCellar.Report;
using RootCellar.Storage;

namespace RootCellar.Commands;

/// <summary>The weekly report as text, as a file, or as JSON.</summary>
internal static class ReportCommand
{
    public static Command Build()
    {
        var week = new Option<string?>("--week")
        { Description = "a week of ISO 8601; the last whole one where not said", HelpName = "WEEK" };
        var to = new Option<string?>("--out")
        { Description = "write it here instead; HTML with its pictures inside where the name ends in .html", HelpName = "FILE" };
        var data = CommandLine.Data();
        var json = Print.JsonOption();
        var command = new CommandWithExamples(
            "report", "The weekly report, worked out from readings and ledger. Changes nothing; works while the service runs.",
            "rootcellar report --data /var/lib/rootcellar", "rootcellar report --week 2026-W48 --out week.html") { week, data, to, json };
        command.SetAction(p => Run(p.GetValue(week), p.GetValue(data)!, p.GetValue(to), p.GetValue(json), p.InvocationConfiguration));
        return command;
    }

    private static int Run(string? name, string folder, string? to, bool json, InvocationConfiguration console)
    {
        var path = Path.Combine(folder, StoreFile.Name);
        StoreFile.MustBeThere(path);
        var settings = CommandLine.Settings(folder);
        var now = TimeProvider.System.GetUtcNow() - ReportClock.Behind;
        var zone = settings.Household.Zone();
        var last = Week.LastWhole(now, zone);
        var week = name is null ? last : Week.Named(name, zone)
            ?? throw new UsageException($"--week: '{name}' is not a week of ISO 8601. Right: {last.Name}.");
        if (week.From >= now) throw new UsageException($"--week: {week.Name} has not begun. Right: {last.Name}.");
        var templates = new ReportTemplates(Path.Combine(folder, "templates"));
        var maker = new ReportMaker(settings.Household, settings.Watch, settings.Http, templates);
        Language.Of(settings.Household, folder).Speak();
        using var connection =
            new SqliteConnection(new SqliteConnectionStringBuilder { DataSource = path, Mode = SqliteOpenMode.ReadOnly }.ToString());
        try
        {
            connection.Open();
            var book = LedgerRows.Book(connection, settings.Household.Calendar());
            if (json)
            {
                Print.Json(console.Output, ReportShape.Of(maker.Figures(connection, book, week, now), maker.Words));
                return 0;
            }

            var made = maker.File(connection, book, week, now);
            if (to is null) console.Output.Write(made.Text);
            else File.WriteAllText(to, to.EndsWith(".html", StringComparison.OrdinalIgnoreCase) ? made.Document() : made.Text);
        }
        catch (SqliteException e)
        {
            throw new StoreProblemException(StoreFile.Explain(e, path), e);
        }

        foreach (var problem in templates.Problems) console.Error.WriteLine($"A template of yours is not used: {problem}");
        return 0;
    }
}
