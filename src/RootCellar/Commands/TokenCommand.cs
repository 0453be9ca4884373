using System.CommandLine;
using Microsoft.Data.Sqlite;
using RootCellar.Entry;
using RootCellar.Storage;

namespace RootCellar.Commands;

/// <summary>API tokens, also while the service runs.</summary>
internal static class TokenCommand
{
    public static Command Build()
    {
        var command = new CommandWithExamples("token", "API tokens for scripts and dashboards.", "rootcellar token add kitchen-display");
        var name = new Argument<string>("NAME") { Description = "what the token is for" };
        var data = CommandLine.Data();
        var json = Print.JsonOption();
        var may = new Option<string>("--may")
        {
            Description = "all, or log: read, write into the book, acknowledge alarms",
            HelpName = "all|log",
            DefaultValueFactory = _ => Tokens.MayAll
        };
        may.AcceptOnlyFromAmong(Tokens.MayAll, Tokens.MayLog);

        var add = new CommandWithExamples("add", "Make a token and print it once.", "rootcellar token add kitchen-display",
            "rootcellar token add bench-scale --may log") { name, may, data, json };
        add.SetAction(p => With(p.GetValue(data)!, "token", c =>
        {
            var who = p.GetValue(name)!;
            var secret = Tokens.Add(c, who, TimeProvider.System.GetUtcNow(), p.GetValue(may)!)
                ?? throw new UsageException(
                    $"There is a token named '{who}' already. Take another name, or remove it first: rootcellar token remove {who}");
            var output = p.InvocationConfiguration.Output;
            if (p.GetValue(json)) Print.Json(output, new { name = who, token = secret });
            else output.WriteLine(secret);
            return 0;
        }));

        var list = new CommandWithExamples("list", "Who has a token.", "rootcellar token list") { data, json };
        list.SetAction(p => With(p.GetValue(data)!, "token", c =>
        {
            var all = Tokens.All(c);
            var calendar = CommandLine.Settings(p.GetValue(data)!).Household.Calendar();
            var output = p.InvocationConfiguration.Output;
            if (p.GetValue(json)) Print.Json(output, all);
            else if (all.Count == 0) output.WriteLine("No tokens yet. Make one: rootcellar token add NAME");
            else foreach (var token in all)
                output.WriteLine($"{token.Name}\tsince {calendar.DayOf(token.CreatedAt):yyyy-MM-dd}{(token.May == Tokens.MayLog ? "\tlogs only" : "")}");
            return 0;
        }));

        var remove = new CommandWithExamples("remove", "Take a token back.", "rootcellar token remove kitchen-display") { name, data };
        remove.SetAction(p => With(p.GetValue(data)!, "token", c =>
        {
            var who = p.GetValue(name)!;
            if (Tokens.Remove(c, who)) return 0;
            p.InvocationConfiguration.Error.WriteLine($"There is no token named '{who}'. See them: rootcellar token list");
            return 1;
        }));

        command.Add(add);
        command.Add(list);
        command.Add(remove);
        return command;
    }

    /// <summary>
    /// Works on the record, with the data folder to itself or beside the running service. Beside it is safe, because a token or a helper is
    /// one row in one transaction, SQLite lets one writer in after the other, and the service reads both anew within five seconds. An
    /// import or a restore is waited for, and the schema under a running service is never touched.
    /// </summary>
    internal static int With(string folder, string command, Func<SqliteConnection, int> work)
    {
        Directory.CreateDirectory(folder);
        using var held = DataFolderLock.TryTake(folder, command, TimeProvider.System.GetUtcNow(), out var holder);
        if (held is null && holder is not { IsService: true }) throw new DataFolderInUseException(folder, holder);
        var path = Path.Combine(folder, StoreFile.Name);
        var source = new SqliteConnectionStringBuilder { DataSource = path }.ToString();
        var isNew = !File.Exists(path);
        using var connection = held is null ? StoreFile.OpenBesideService(source, path) : StoreFile.OpenForWriting(source, path);
        // SQLite gives a log to whom the record belongs, and a record made here belongs to whom the folder does.
        if (isNew) RecordCopy.BelongToFolder(path);
        return work(connection);
    }
}
