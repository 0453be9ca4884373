using System.CommandLine;
using System.Globalization;
using Microsoft.Data.Sqlite;
using RootCellar.Household;
using RootCellar.Mirror;
using RootCellar.Storage;

namespace RootCellar.Commands;

/// <summary>The mirror to another server, from outside the service.</summary>
internal static class MirrorCommand
{
    private const string Off = "the mirror is off: Mirror:Influx:Url is not set. See docs/influx.md.";

    public static Command Build()
    {
        var data = CommandLine.Data();
        var json = Print.JsonOption();
        var from = new Option<string?>("--from") { Description = "from this time on", HelpName = "T" };
        var to = new Option<string?>("--to") { Description = "until before this time", HelpName = "T" };

        var backfill = new CommandWithExamples(
            "backfill", "Send what the record holds to a server that has none of it. May be repeated: the same points fall on themselves. Works while the service runs.",
            "rootcellar mirror backfill --from 2026-09-01 --data /var/lib/rootcellar") { from, to, data };
        backfill.SetAction((p, ct) => BackfillAsync(p.GetValue(from), p.GetValue(to), p.GetValue(data)!, p.InvocationConfiguration, ct));

        var status = new CommandWithExamples("status", "How far the mirror is.",
            "rootcellar mirror status --json --data /var/lib/rootcellar") { data, json };
        status.SetAction(p => Status(p.GetValue(data)!, p.GetValue(json), p.InvocationConfiguration));

        return new CommandWithExamples("mirror", "The mirror to an InfluxDB v2 API.", "rootcellar mirror status") { backfill, status };
    }

    private static async Task<int> BackfillAsync(
        string? from, string? to, string folder, InvocationConfiguration io, CancellationToken cancellationToken)
    {
        var calendar = CommandLine.Settings(folder).Household.Calendar();
        if (!calendar.TryTime(from, DateTimeOffset.UnixEpoch, out var start))
            throw new UsageException($"--from: '{from}' is not a time. Right: 2026-10-01 or 2026-10-01T16:30:00-05:00.");
        if (!calendar.TryTime(to, DateTimeOffset.MaxValue, out var end))
            throw new UsageException($"--to: '{to}' is not a time. Right: 2026-10-01 or 2026-10-01T16:30:00-05:00.");
        var options = Options(folder);
        if (!options.Influx.On) throw new UsageException(Off);
        using var connection = Open(folder);
        using var door = new InfluxDoor(options.Influx, new MirrorPace());
        var work = new Backfill(connection, options, door, calendar, TimeProvider.System, io.Error);
        string? stopped;
        try
        {
            stopped = await work.RunAsync(start, end, cancellationToken);
        }
        catch (SqliteException e)
        {
            throw new StoreProblemException(StoreFile.Explain(e, Path.Combine(folder, StoreFile.Name)), e);
        }

        if (stopped is not null)
        {
            await io.Error.WriteLineAsync(
                $"Stopped after {work.Sent} points. {options.Influx.Url}: {stopped} Give the same command again when that is mended; what is there already is not doubled.");
            return 1;
        }

        await io.Output.WriteLineAsync(
            $"{work.Sent} points sent.{(work.Malformed == 0 ? "" : $" {work.Malformed} were called malformed and are not there.")}");
        return work.Malformed == 0 ? 0 : 1;
    }

    private static int Status(string folder, bool json, InvocationConfiguration io)
    {
        var options = Options(folder);
        using var connection = Open(folder);
        var now = TimeProvider.System.GetUtcNow();
        MirrorStanding standing;
        try
        {
            var counts = MirrorRows.Counts(connection);
            var kept = MirrorService.Read(Meta.Get(connection, MirrorRows.StateKey)) ?? MirrorStanding.Off;
            standing = !options.Influx.On ? MirrorStanding.Off : kept with
            {
                State = kept.State == MirrorWord.Off ? MirrorWord.Starting : kept.State,
                // Before its first start there is nothing that would be sent.
                BehindRows = counts.Since is null ? 0 : MirrorRows.Behind(connection, now),
                Sent = counts.Sent,
                Dropped = counts.Dropped,
                Aside = counts.Aside,
                Since = counts.Since,
            };
        }
        catch (SqliteException e)
        {
            throw new StoreProblemException(StoreFile.Explain(e, Path.Combine(folder, StoreFile.Name)), e);
        }

        if (json)
        {
            Print.Json(io.Output, new
            {
                state = Slug.Of(standing.State),
                url = options.Influx.Url,
                org = options.Influx.Org,
                bucket = options.Influx.Bucket,
                behindRows = standing.BehindRows,
                lagSeconds = Math.Round(standing.LagSeconds(now)),
                standing.Since,
                standing.LastSuccessAt,
                standing.Problem,
                standing.LastError,
                standing.LastErrorAt,
                sent = standing.Sent,
                dropped = standing.Dropped,
                setAside = standing.Aside,
            });
        }
        else if (!standing.On)
        {
            io.Output.WriteLine(char.ToUpperInvariant(Off[0]) + Off[1..]);
        }
        else
        {
            io.Output.WriteLine(string.Create(CultureInfo.InvariantCulture,
                $"{options.Influx.Url}, bucket {options.Influx.Bucket}: {standing.BehindRows} points wait, {standing.Sent} sent, {standing.Dropped} dropped, {standing.Aside} set aside."));
            if (standing.LastSuccessAt is { } success) io.Output.WriteLine($"It last took points at {success:yyyy-MM-dd HH:mm:ss} UTC.");
            if (standing.Problem is { } problem) io.Output.WriteLine($"Now: {problem}");
        }

        return standing.Problem is null ? 0 : 1;
    }

    private static MirrorOptions Options(string folder)
    {
        var problems = new List<string>();
        var settings = SettingsFile.Bind(SettingsFile.Load(folder, problems: problems), problems);
        return problems.Count == 0 ? settings.Mirror : throw new UsageException($"{problems[0]} See all: rootcellar check.");
    }

    private static SqliteConnection Open(string folder)
    {
        var path = Path.Combine(folder, StoreFile.Name);
        StoreFile.MustBeThere(path);
        var connection = new SqliteConnection(
            new SqliteConnectionStringBuilder { DataSource = path, Mode = SqliteOpenMode.ReadOnly }.ToString());
        try
        {
            connection.Open();
            return connection;
        }
        catch (SqliteException e)
        {
            connection.Dispose();
            throw new StoreProblemException(StoreFile.Explain(e, path), e);
        }
    }
}
