using System.CommandLine;
using System.Globalization;
using Microsoft.Data.Sqlite;
using RootCellar.Ledger;
using RootCellar.Lots;
using RootCellar.Storage;

namespace RootCellar.Commands;

/// <summary>Recomputes every lot from readings and ledger and says whether the kept states agree.</summary>
internal static class ReplayCommand
{
    private const int MostShown = 20;

    public static Command Build()
    {
        var data = CommandLine.Data();
        var json = Print.JsonOption();
        var command = new CommandWithExamples(
            "replay", "Work every lot out anew from readings and ledger, and say whether the kept states agree bit for bit. Changes nothing; works while the service runs.",
            "rootcellar replay --data /var/lib/rootcellar") { data, json };
        command.SetAction(p => Run(p.GetValue(data)!, p.GetValue(json), p.InvocationConfiguration.Output));
        return command;
    }

    private static int Run(string folder, bool json, TextWriter output)
    {
        var path = Path.Combine(folder, StoreFile.Name);
        StoreFile.MustBeThere(path);
        using var connection =
            new SqliteConnection(new SqliteConnectionStringBuilder { DataSource = path, Mode = SqliteOpenMode.ReadOnly }.ToString());
        ReplayReport report;
        try
        {
            connection.Open();
            report = Replaying.Run(connection, LedgerRows.Book(connection, CommandLine.Settings(folder).Household.Calendar()));
        }
        catch (SqliteException e)
        {
            throw new StoreProblemException(StoreFile.Explain(e, path), e);
        }

        if (json)
        {
            Print.Json(output, new
            {
                agree = report.Agree,
                lots = report.Lots,
                bins = report.Bins,
                hoursReplayed = Math.Round(report.Pieces * TimeStep.Hours, 1),
                states = report.States,
                statesAwaitingLateAir = report.Late,
                statesOfOtherWays = report.Others,
                notFollowed = report.NotFollowed,
                differences = report.Differences.Select(
                    d => new { d.Lot, d.Bins, d.At, d.Figure, kept = Finite(d.Kept), replayed = Finite(d.Replayed) }),
            });
        }
        else
        {
            Write(report, output);
        }

        return report.Agree ? 0 : 1;
    }

    private static void Write(ReplayReport report, TextWriter output)
    {
        output.WriteLine(string.Create(
            CultureInfo.InvariantCulture,
            $"{report.Lots} lots and {report.Bins} bins worked out anew over {report.Pieces * TimeStep.Hours:n0} hours of air; {report.States} kept states held against them."));
        if (report.Late > 0) output.WriteLine($"{report.Late} kept states wait for air that came late; the service makes them anew.");
        if (report.Others > 0)
            output.WriteLine($"{report.Others} kept states are of ways no bin takes any more, or of another version; they are not used.");
        if (report.NotFollowed.Count > 0)
            output.WriteLine($"Of a crop that is not in the table, or too old to be followed: {string.Join(", ", report.NotFollowed)}.");
        foreach (var d in report.Differences.Take(MostShown))
        {
            output.WriteLine(string.Create(
                CultureInfo.InvariantCulture,
                $"Lot {d.Lot}, bin {string.Join(", ", d.Bins)}, {d.At:yyyy-MM-dd HH:mm} UTC: {d.Figure} was kept as {d.Kept:R} and comes to {d.Replayed:R}."));
        }

        if (report.Differences.Count > MostShown) output.WriteLine($"... and {report.Differences.Count - MostShown} more.");
        output.WriteLine(report.Agree ? "They agree bit for bit."
            : "They do not agree. Readings and ledger are the truth, kept states only a cache; what the pages show may be off from the first hour named. Please report this.");
    }

    private static double? Finite(double value) => double.IsFinite(value) ? value : null;
}
